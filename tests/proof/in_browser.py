"""The proof page of two sheets, with names that try to be markup, and a Chromium that shows it."""

from __future__ import annotations

import json
import re
import shutil
import zlib
from base64 import b64decode
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from plotout.model import Card, Placed, Sheet
from plotout.pattern.model import Cut, Edge, PatternSet, Piece
from plotout.proof.page import Leaf, page

from .conftest import HEIGHT, WIDTH, machine_for, program_for, strokes

NASTY = "<script>document.title='hit'</script>"
needs_browser = pytest.mark.skipif(
    not (shutil.which("chromium") and shutil.which("chromedriver")),
    reason="Chromium or chromedriver is not installed",
)


def html_page() -> str:
    """Return the page."""
    corners = [[190, 40], [270, 40], [270, 140], [190, 140]]
    edges = tuple(
        Edge(name, np.array([corners[n], corners[(n + 1) % 4]], float), (10.0, 10.0))
        for n, name in enumerate(["hem", "side", "neck", "fold"])
    )
    piece = Piece("Front", edges, (Cut("self"),))
    pattern_set = PatternSet(f"Smock {NASTY}", "T-1", "وسط", "2026-04-11", (piece,))
    drawn = tuple(strokes())
    front = Card(
        "front", "Front", "Front", 1, 2, drawn[-1].points, drawn, (230.0, 130.0), ("cut 1",)
    )
    odd = Card("odd", NASTY, NASTY, 2, 2, drawn[-2].points, (drawn[-2],), None, (), ("none",))
    placed = (Placed(front, 0.0, (0.0, 0.0)), Placed(odd, 0.0, (0.0, 0.0)))
    sheet = Sheet("sheet", 1, WIDTH, HEIGHT, placed, stock="card")
    machine = machine_for("hpgl")
    leaves = [Leaf(sheet, program_for(machine), f"{name}.plt") for name in ("one", "two")]
    return page(pattern_set, machine, (front, odd), leaves, ("a warning",))


def shown(html: str, folder: Path) -> Iterator[Any]:
    """Yield a Chromium that shows the page; its console must have stayed silent."""
    webdriver = pytest.importorskip("selenium.webdriver")
    from selenium.webdriver.chrome.service import Service

    (folder / "page.html").write_text(html, "utf-8")
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in (
        "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        f"--user-data-dir={folder / 'profile'}", "--window-size=1400,1000",
    ):  # fmt: skip
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    driver.get((folder / "page.html").as_uri())
    wait(driver)
    try:
        yield driver
        assert [entry for entry in driver.get_log("browser") if entry["level"] != "DEBUG"] == []
    finally:
        driver.quit()


def by_id(browser, name):
    return browser.find_element("id", name)


def reload(browser):
    browser.refresh()
    wait(browser)


def wait(browser):
    """Wait until the page has unpacked its drawings."""
    from selenium.webdriver.support.ui import WebDriverWait

    ready = "return document.body.dataset.ready !== undefined"
    WebDriverWait(browser, 30, 0.05).until(lambda one: one.execute_script(ready))


def unpacked(html: str) -> list[dict[str, Any]]:
    """Return what a page keeps of its sheets, by Python's own base64, zlib and json."""
    kept = re.findall(r'<script type="text/plain" class="packed">(.*?)</script>', html)
    return [json.loads(zlib.decompress(b64decode(text))) for text in kept]
