"""The proof page in a real Chromium: load, find, play, measure, hide, keys, print.

Accessibility: names, contrast (WCAG 2.1 AA, 1.4.3 and 1.4.11, by its own formula of relative
luminance), keyboard. axe-core is run too where the variable AXE_CORE names its script.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from pathlib import Path

import numpy as np
import pytest

from plotout.flow import Card, Placed, Sheet
from plotout.pattern.model import Cut, Edge, PatternSet, Piece
from plotout.proof.page import Leaf, page

from .conftest import HEIGHT, WIDTH, machine_for, program_for, strokes

NASTY = "<script>document.title='hit'</script>"
needs_browser = pytest.mark.skipif(
    not (shutil.which("chromium") and shutil.which("chromedriver")),
    reason="Chromium or chromedriver is not installed",
)
pytestmark = [pytest.mark.browser]


@pytest.fixture(scope="module")
def html() -> str:
    corners = [[190, 40], [270, 40], [270, 140], [190, 140]]
    edges = tuple(
        Edge(name, np.array([corners[n], corners[(n + 1) % 4]], float), (10.0, 10.0))
        for n, name in enumerate(["hem", "side", "neck", "fold"])
    )
    piece = Piece("Front", edges, (Cut("self"),))
    pattern_set = PatternSet(f"Smock {NASTY}", "T-1", "M", "2026-04-11", (piece,))
    drawn = tuple(strokes())
    front = Card(
        "front", "Front", "Front", 1, 2, drawn[-1].points, drawn, (230.0, 130.0), ("cut 1",)
    )
    odd = Card("odd", NASTY, NASTY, 2, 2, drawn[-2].points, (drawn[-2],), None, (), 90.0, ("none",))
    placed = (Placed(front, 0.0, (0.0, 0.0)), Placed(odd, 0.0, (0.0, 0.0)))
    sheet = Sheet("sheet", 1, WIDTH, HEIGHT, placed, stock="card")
    machine = machine_for("hpgl")
    leaves = [Leaf(sheet, program_for(machine), f"{name}.plt") for name in ("one", "two")]
    return page(pattern_set, machine, (front, odd), leaves, ("a warning",))


def test_text_is_never_markup(html):
    assert NASTY not in html
    data = re.search(r'<script type="application/json" id="data">(.*?)</script>', html)
    assert data is not None
    assert NASTY in json.loads(data[1])["set"]["name"]


def test_it_needs_nothing_from_elsewhere(html):
    links = set(re.findall(r"https?://[^\"' <]+", html))
    assert links <= {"http://www.w3.org/2000/svg"}  # a namespace, which is not fetched
    assert "default-src 'none'" in html


@pytest.fixture(scope="module")
def browser(html, tmp_path_factory):
    webdriver = pytest.importorskip("selenium.webdriver")
    from selenium.webdriver.chrome.service import Service

    folder = tmp_path_factory.mktemp("page")
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
    yield driver
    driver.quit()


def by_id(browser, name):
    return browser.find_element("id", name)


def told(browser) -> str:
    return by_id(browser, "told").text


def view_box(browser) -> list[float]:
    said = "return document.getElementById('sheet-0').getAttribute('viewBox')"
    return [float(value) for value in browser.execute_script(said).split()]


def press(browser, *keys):
    by_id(browser, "view").send_keys(*keys)


def reload(browser):
    browser.refresh()


@needs_browser
def test_loads_and_shows_text_as_text(browser):
    assert NASTY in by_id(browser, "title").text
    assert browser.title != "hit"
    assert NASTY in by_id(browser, "cards").text
    assert len(browser.find_elements("css selector", "#which option")) == 2
    assert browser.find_elements("css selector", "svg.sheet:not([hidden]) path")


@needs_browser
def test_finds_a_card(browser):
    reload(browser)
    before = view_box(browser)
    by_id(browser, "find").send_keys("fron")
    assert by_id(browser, "found").text == "1 of 2 cards"
    assert len(browser.find_elements("css selector", "#cards li")) == 1
    assert view_box(browser) != before
    assert browser.find_elements("css selector", ".cardbox")


@needs_browser
def test_plays_and_says_what_is_left(browser):
    reload(browser)
    browser.execute_script(
        "const clock = document.getElementById('clock'); clock.value = clock.max / 2;"
        "clock.dispatchEvent(new Event('input'))"
    )
    half = round(
        program_for(machine_for("hpgl")).seconds / 2
    )  # the estimate of the sheet that is shown
    assert by_id(browser, "left").text in (f"0 min {s} s left" for s in (half - 1, half, half + 1))
    waiting = len(browser.find_elements("css selector", "svg:not([hidden]) .todo"))
    assert waiting > 0
    assert browser.find_elements("css selector", ".tool circle")
    by_id(browser, "play").click()
    assert by_id(browser, "play").text == "Hold"
    from selenium.webdriver.support.ui import WebDriverWait

    fewer = lambda b: len(b.find_elements("css selector", "svg:not([hidden]) .todo")) < waiting  # noqa: E731
    WebDriverWait(browser, 10).until(fewer)


@needs_browser
def test_goes_stroke_by_stroke_from_the_keyboard(browser):
    reload(browser)
    press(browser, "[")
    assert "outline" in told(browser)
    assert "stroke 12 of 12" in told(browser)
    press(browser, "[")
    assert "stroke 11 of 12" in told(browser)
    assert browser.find_elements("css selector", "path.under")


@needs_browser
def test_zooms_and_moves_from_the_keyboard(browser):
    reload(browser)
    whole = view_box(browser)
    press(browser, "+")
    near = view_box(browser)
    assert near[2] == pytest.approx(whole[2] / 1.25)
    press(browser, "\ue014")  # right
    assert view_box(browser)[0] > near[0]
    press(browser, "0")
    assert view_box(browser) == pytest.approx(whole)


def click_at(browser, x, y):
    """Click at sheet millimetres, y up."""
    frame = browser.execute_script(
        "const b=document.getElementById('view').getBoundingClientRect();"
        "const v=document.getElementById('sheet-0').viewBox.baseVal;"
        "return [b.width,b.height,v.x,v.y,v.width,v.height]"
    )
    width, height, left, top, wide, tall = frame
    mm = max(wide / width, tall / height)
    from selenium.webdriver import ActionChains

    across = (x - left - wide / 2) / mm
    down = (HEIGHT - y - top - tall / 2) / mm
    ActionChains(browser).move_to_element_with_offset(
        by_id(browser, "view"), round(across), round(down)
    ).click().perform()


@needs_browser
def test_measures_in_mm_and_inches(browser):
    reload(browser)
    by_id(browser, "measure").click()
    click_at(browser, 180, 30)
    click_at(browser, 280, 30)
    assert told(browser).startswith("100.00 mm, 3.94 in")  # corners are snapped to


@needs_browser
def test_names_piece_edge_allowance_and_length(browser):
    reload(browser)
    click_at(browser, 280, 90)
    from selenium.webdriver.support.ui import WebDriverWait

    WebDriverWait(browser, 5).until(lambda b: "edge side" in told(b))
    words = told(browser)
    assert "Front: outline" in words
    assert "edge side, 100 mm on the stitching line, allowance 10 mm" in words


@needs_browser
def test_hides_work_and_marks(browser):
    reload(browser)
    shown = lambda kind: browser.find_elements(  # noqa: E731
        "css selector", f"svg:not([hidden]) g[data-kind='{kind}']:not(.off) path:not(.off)"
    )
    count = len(shown("draw"))
    assert shown("travel")
    for label in browser.find_elements("css selector", "fieldset label"):
        if label.text.strip() in ("travel", "lettering", "stitching line", "order"):
            label.find_element("css selector", "input").click()
    assert not shown("travel")
    assert 0 < len(shown("draw")) < count
    assert len(browser.find_elements("css selector", ".edges path")) >= 4
    assert browser.find_elements("css selector", ".numbers text")


@needs_browser
def test_prints_on_one_page(browser):
    import base64
    import io

    from pypdf import PdfReader

    reload(browser)
    printed = PdfReader(io.BytesIO(base64.b64decode(browser.print_page())))
    assert len(printed.pages) == 1
    assert "Front" in printed.pages[0].extract_text()


@needs_browser
def test_every_control_has_a_name(browser):
    reload(browser)
    nameless = browser.execute_script("""
        return [...document.querySelectorAll('button,select,input,[tabindex]')].filter((each) =>
            !(each.labels && each.labels.length) && !each.getAttribute('aria-label')
            && !each.getAttribute('aria-labelledby') && !each.textContent.trim()
        ).map((each) => each.outerHTML)""")
    assert nameless == []
    assert browser.find_element("tag name", "html").get_attribute("lang") == "en"


LUMINANCE = """
    const rgb = (c) => c.match(/[\\d.]+/g).slice(0, 3).map((v) => {
        v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
    const light = (c) => { const [r, g, b] = rgb(c); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
    const behind = (e) => {
        for (; e; e = e.parentElement) {
            const colour = getComputedStyle(e).backgroundColor;
            if (!/, 0\\)$/.test(colour)) return colour;
        }
        return 'rgb(255,255,255)'; };
    const ratio = (a, b) => {
        const [x, y] = [light(a), light(b)].sort((p, q) => q - p);
        return (x + 0.05) / (y + 0.05); };
    const out = [];
    for (const e of document.querySelectorAll('h1,h2,p,label,button,select,li,th,td,legend,output'))
        if (e.textContent.trim())
            out.push([e.outerHTML.slice(0, 60), ratio(getComputedStyle(e).color, behind(e)), 4.5]);
    const view = document.getElementById('view');
    for (const e of document.querySelectorAll('svg.sheet g[data-kind]'))
        out.push([e.dataset.kind, ratio(getComputedStyle(e).stroke, behind(view)), 3]);
    return out.filter(([, is, least]) => is < least);
"""


@needs_browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_contrast_in_light_and_dark(browser, scheme):
    wanted = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": wanted})
    reload(browser)
    paper = browser.execute_script("return getComputedStyle(document.body).backgroundColor")
    assert (int(re.findall(r"\d+", paper)[0]) < 128) == (scheme == "dark")
    assert browser.execute_script(LUMINANCE) == []
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


@needs_browser
def test_without_motion_it_plays_in_steps(browser):
    calm = [{"name": "prefers-reduced-motion", "value": "reduce"}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": calm})
    reload(browser)
    by_id(browser, "play").click()
    frames = browser.execute_script("return matchMedia('(prefers-reduced-motion: reduce)').matches")
    assert frames
    from selenium.webdriver.support.ui import WebDriverWait

    first = by_id(browser, "left").text
    WebDriverWait(browser, 8).until(lambda b: by_id(b, "left").text != first)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


@needs_browser
def test_narrow_as_a_phone_nothing_sticks_out(browser):
    size = {"width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    reload(browser)
    wide = browser.execute_script("return document.documentElement.scrollWidth")
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert wide <= 390


@needs_browser
def test_axe_finds_nothing(browser):
    script = os.environ.get("AXE_CORE", "")
    if not script:
        pytest.skip("AXE_CORE names no axe-core script; contrast and names are checked by hand")
    reload(browser)
    browser.execute_cdp_cmd("Runtime.evaluate", {"expression": Path(script).read_text("utf-8")})
    found = browser.execute_async_script(
        "const done=arguments[0]; axe.run({runOnly:['wcag2a','wcag2aa','wcag21a','wcag21aa']})"
        ".then((r)=>done(r.violations.map((v)=>[v.id,v.nodes.map((n)=>n.html)])))"
    )
    assert found == []


@needs_browser
def test_the_console_stays_silent(browser):
    assert [entry for entry in browser.get_log("browser") if entry["level"] != "DEBUG"] == []
