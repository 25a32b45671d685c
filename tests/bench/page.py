"""The proof page of many cards: its bytes, when it is ready, and its longest step in Chromium.

The sample's sheets on a laser, over and over, each with cards of its own. A step is what the
browser's own watch over long tasks (W3C Long Tasks) counts: those under 50 ms it does not tell.

Run: python tests/bench/page.py [cards | --smoke]
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

from plotout import job
from plotout.proof import page as proof_page

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"
WATCH = """
    window.steps = [];
    new PerformanceObserver((list) => {
        for (const each of list.getEntries()) window.steps.push(each.duration);
    }).observe({ type: "longtask", buffered: true });
    const ready = setInterval(() => {
        if (document.body && document.body.dataset.ready !== undefined) {
            window.readyAt = performance.now(); clearInterval(ready);
        }
    }, 5);
"""
STEPS = {  # what a reader does, as script
    "another sheet": "const w = document.getElementById('which'); w.value = String(w.length - 1);"
    "w.dispatchEvent(new Event('change'))",
    "all sheets": "document.getElementById('every').click()",
    "find a card": "const f = document.getElementById('find'); f.value = 'sleeve';"
    "f.dispatchEvent(new Event('input'))",
    "show the order": "document.getElementById('every').click();"
    "[...document.querySelectorAll('#works input')].pop().click()",
    "back by a stroke": "document.getElementById('back').click()",
}


def copies(made: job.Made, count: int) -> tuple[list[Any], list[proof_page.Leaf]]:
    """Return `count` cards or a few more, and their sheets."""
    cards, leaves = [], []
    while len(cards) < count:
        nth = len(leaves)
        ids = {card.id: f"{card.id}-{nth}" for card in made.cards}
        cards += [replace(card, id=ids[card.id], number=len(cards) + 1) for card in made.cards]
        for result in made.results:
            placed = tuple(
                replace(each, card=replace(each.card, id=ids[each.card.id]))
                for each in result.sheet.placed
            )
            runs = tuple(
                replace(run, stroke=replace(run.stroke, card=ids.get(run.stroke.card, "")))
                for run in result.program.runs
            )
            sheet = replace(result.sheet, placed=placed, number=len(leaves) + 1)
            leaves.append(
                proof_page.Leaf(sheet, replace(result.program, runs=runs), f"{len(leaves)}.ngc")
            )
    return cards, leaves


def main() -> None:
    asked = sys.argv[1] if len(sys.argv) > 1 else "300"
    count = 15 if asked == "--smoke" else int(asked)
    machine = job.load_machine("laser")
    made = job.plan(job.Request(SAMPLE, machine, seconds=0.0))
    cards, leaves = copies(made, count)
    start = time.process_time()
    text = proof_page.page(made.pattern_set, machine, cards, leaves)
    took = time.process_time() - start
    print(
        f"{len(cards)} cards, {len(leaves)} sheets: {len(text) / 1e6:.2f} MB, {took:.1f} s of CPU"
    )
    if not (shutil.which("chromium") and shutil.which("chromedriver")):
        print("Chromium is not installed: nothing was looked at.")
        return
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "page.html"
        file.write_text(text, "utf-8")
        options = webdriver.ChromeOptions()
        options.binary_location = shutil.which("chromium") or ""
        for flag in ("--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder}/p"):
            options.add_argument(flag)
        driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
        try:
            driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": WATCH})
            driver.get(file.as_uri())
            while driver.execute_script("return window.readyAt") is None:
                time.sleep(0.05)
            ready = driver.execute_script("return window.readyAt")
            print(f"ready after {ready:.0f} ms; steps over 50 ms: {_steps(driver)}")
            for what, script in STEPS.items():
                driver.execute_script(script)
                time.sleep(1.0)
                print(f"{what}: steps over 50 ms: {_steps(driver)}")
        finally:
            driver.quit()


def _steps(driver: Any) -> str:
    found = driver.execute_script("return window.steps.splice(0)")
    return ", ".join(f"{each:.0f} ms" for each in found) or "none"


if __name__ == "__main__":
    main()
