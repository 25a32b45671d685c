"""The proof page of many cards: its bytes, when it is ready, and its longest step in Chromium.

The sample's sheets on a laser, over and over, each with cards of its own: as many sheets, then all
of it on one large sheet. A step is what the browser's own watch over long tasks (W3C Long Tasks)
counts: it does not report those under 50 ms. At the end stand the longest in processor
time, and all of them until the page was ready, by the browser's own trace: another job on the
machine doesn't lengthen those.

    python tests/bench/page.py [--cards 300] [--smoke]
"""

from __future__ import annotations

import json
import math
import shutil
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from asking import asked

from plotout import job
from plotout.proof import page as proof_page

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"
GAP = 10.0  # mm between the sheets that become one
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
    "back to one": "document.getElementById('every').click()",
    "find a card": "const f = document.getElementById('find'); f.value = 'sleeve';"
    "f.dispatchEvent(new Event('input'))",
    "show the order": "[...document.querySelectorAll('#works input')].pop().click()",
    "hide a mark": "document.querySelector('#marks input').click()",
    "nearer, ten times": "let n = 10; const z = setInterval(() => {"
    "document.getElementById('nearer').click(); if (!--n) clearInterval(z); }, 40)",
    "the whole sheet": "document.getElementById('whole').click()",
    "point at ten places": "let n = 10; const v = document.getElementById('view');"
    "const b = v.getBoundingClientRect(); const z = setInterval(() => {"
    "v.dispatchEvent(new PointerEvent('pointermove', {"
    "clientX: b.left + b.width * n / 11, clientY: b.top + b.height * n / 11 })); "
    "if (!--n) clearInterval(z); }, 40)",
    "into the middle of the job": "const c = document.getElementById('clock'); c.value = c.max / 2;"
    "c.dispatchEvent(new Event('input'))",
    "play a second": "document.getElementById('play').click();"
    "setTimeout(() => document.getElementById('play').click(), 900)",
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


def on_one(leaves: list[proof_page.Leaf]) -> list[proof_page.Leaf]:
    """Return the sheets side by side on a single one, in rows."""
    wide = max(leaf.sheet.width for leaf in leaves) + GAP
    tall = max(leaf.sheet.height for leaf in leaves) + GAP
    in_row = math.ceil(math.sqrt(len(leaves) * tall / wide))
    placed, runs = [], []
    for index, leaf in enumerate(leaves):
        shift = np.array([index % in_row * wide, index // in_row * tall])
        matrix = np.column_stack([np.eye(2), shift])
        placed += [
            replace(one, shift=(one.shift[0] + shift[0], one.shift[1] + shift[1]))
            for one in leaf.sheet.placed
        ]
        runs += [
            replace(run, points=run.points + shift, stroke=run.stroke.moved(matrix))
            for run in leaf.program.runs
        ]
    size = {"width": in_row * wide, "height": math.ceil(len(leaves) / in_row) * tall}
    first = leaves[0]
    sheet = replace(first.sheet, placed=tuple(placed), outline=None, **size)
    program = replace(first.program, runs=tuple(runs), **size)
    return [proof_page.Leaf(sheet, program, "one.ngc")]


def main() -> None:
    count = asked(__doc__, "cards", usual=300, smoke=15)
    machine = job.load_machine("laser")
    made = job.plan(job.Request(SAMPLE, machine, seconds=0.0))
    cards, leaves = copies(made, count)
    for laid in (leaves, on_one(leaves)):
        start = time.process_time()
        text = proof_page.page(made.pattern_set, machine, cards, laid)
        took = time.process_time() - start
        runs = sum(len(leaf.program.runs) for leaf in laid)
        print(
            f"{len(cards)} cards, sheets: {len(laid)}, runs: {runs}: {len(text) / 1e6:.2f} MB, "
            f"{took:.1f} s of CPU"
        )
        look(text)


def look(text: str) -> None:
    """Open a page in Chromium, do what a reader does, and print the longest steps."""
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
        options.set_capability("goog:loggingPrefs", {"performance": "ALL"})
        traced = {"traceCategories": "toplevel,devtools.timeline"}
        options.add_experimental_option("perfLoggingPrefs", traced)
        driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
        try:
            driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": WATCH})
            driver.execute_cdp_cmd("Performance.enable", {"timeDomain": "threadTicks"})
            driver.get(file.as_uri())
            while driver.execute_script("return window.readyAt") is None:
                time.sleep(0.05)
            ready = driver.execute_script("return window.readyAt")
            used = 1e3 * _metric(driver, "TaskDuration")
            time.sleep(1.0)
            print(f"  ready after {ready:.0f} ms, {used:.0f} ms of CPU; {_steps(driver)}")
            for what, script in STEPS.items():
                driver.execute_script(script)
                time.sleep(1.0)
                print(f"  {what}: {_steps(driver)}")
            time.sleep(2.0)  # until the trace is whole
            print(f"  longest steps by processor time, ms: {_by_processor_time(driver)}")
        finally:
            driver.quit()


def _metric(driver: Any, name: str) -> float:
    metrics = driver.execute_cdp_cmd("Performance.getMetrics", {})["metrics"]
    return float(next(each["value"] for each in metrics if each["name"] == name))


def _steps(driver: Any) -> str:
    found = driver.execute_script("return window.steps.splice(0)")
    return "steps over 50 ms: " + (", ".join(f"{step:.0f} ms" for step in found) or "none")


def _by_processor_time(driver: Any) -> list[int]:
    """Return the processor time of the page's longest steps, ms; other pages' are left out."""
    logged = [json.loads(entry["message"])["message"] for entry in driver.get_log("performance")]
    events = [entry["params"] for entry in logged if entry["method"] == "Tracing.dataCollected"]
    own = {
        (event["pid"], event["tid"])
        for event in events
        if event["name"] == "EvaluateScript" and "page.html" in str(event["args"])
    }
    steps = [
        event.get("tdur", 0)
        for event in events
        if (event["pid"], event["tid"]) in own and event["name"].endswith(":RunTask")
    ]
    return [round(step / 1e3) for step in sorted(steps)[-5:]]


if __name__ == "__main__":
    main()
