"""The proof page in a real Chromium: load, find, play, measure, hide, keys, print."""

from __future__ import annotations

import json
import re

import pytest

from .conftest import HEIGHT, machine_for, program_for
from .in_browser import NASTY, by_id, needs_browser, reload

pytestmark = [pytest.mark.browser]


def test_text_is_never_markup(html):
    assert NASTY not in html
    data = re.search(r'<script type="application/json" id="data">(.*?)</script>', html)
    assert data is not None
    assert NASTY in json.loads(data[1])["set"]["name"]


def test_it_needs_nothing_from_elsewhere(html):
    links = set(re.findall(r"https?://[^\"' <]+", html))
    assert links <= {"http://www.w3.org/2000/svg"}  # a namespace, which is not fetched
    assert "default-src 'none'" in html


def told(browser) -> str:
    return by_id(browser, "message").text


def view_box(browser) -> list[float]:
    said = "return document.getElementById('sheet-0').getAttribute('viewBox')"
    return [float(value) for value in browser.execute_script(said).split()]


def press(browser, *keys):
    by_id(browser, "view").send_keys(*keys)


@needs_browser
def test_loads_and_shows_text_as_text(browser):
    reload(browser)
    assert NASTY in by_id(browser, "title").text
    assert browser.title != "hit"
    assert NASTY in by_id(browser, "cards").text
    assert len(browser.find_elements("css selector", "#which option")) == 2
    assert browser.find_elements("css selector", "svg.sheet:not([hidden]) path")


@needs_browser
def test_a_size_in_arabic_does_not_turn_the_date_beside_it(browser):
    """Between FIRST STRONG ISOLATE and POP DIRECTIONAL ISOLATE (UAX #9)."""
    reload(browser)
    about = browser.execute_script("return document.getElementById('about').textContent")
    assert about.startswith("T-1, \u2068size \u2068وسط\u2069\u2069, 2026-04-11, ")


@needs_browser
def test_finds_a_card(browser):
    reload(browser)
    before = view_box(browser)
    by_id(browser, "find").send_keys("fron")
    assert by_id(browser, "found").text == "Cards: 1 of 2"
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
    begun = "const play = document.getElementById('play'); play.click(); return play.textContent;"
    assert browser.execute_script(begun) == "Hold"  # at once: on a busy computer it may end soon
    from selenium.webdriver.support.ui import WebDriverWait

    fewer = lambda b: len(b.find_elements("css selector", "svg:not([hidden]) .todo")) < waiting  # noqa: E731
    WebDriverWait(browser, 10).until(fewer)


@needs_browser
def test_goes_stroke_by_stroke_from_the_keyboard(browser):
    reload(browser)
    press(browser, "[")
    assert "outline" in told(browser)
    assert "stroke 11 of 11" in told(browser)  # two runs: the tool stays down between them
    press(browser, "[")
    assert "stroke 10 of 11" in told(browser)
    assert browser.find_elements("css selector", "path.under")
    press(browser, "]")
    assert "stroke 11 of 11" in told(browser)
    press(browser, "[")
    assert "stroke 10 of 11" in told(browser)


@needs_browser
def test_finds_a_stroke_by_the_number_that_resume_says(browser):
    reload(browser)
    before = view_box(browser)
    field = by_id(browser, "stroke")
    field.send_keys("9\n")
    assert "stroke 9 of 11" in told(browser)
    assert "hanging hole" in told(browser)  # the ninth in conftest.strokes, after five letters ...
    assert view_box(browser) != before
    for wrong, words in (("12", "sheet: 11; there is no stroke 12"), ("0", "no stroke 0"),
                         ("2:1", "no stroke 2:1"), ("x", "Write the number")):  # fmt: skip
        field.clear()
        field.send_keys(wrong + "\n")
        assert words in told(browser)


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
    assert "both ends at a corner or end, on the card" in told(browser)
    click_at(browser, 120, 180)
    assert "a place beside all lines" in told(browser)


@needs_browser
def test_names_piece_edge_allowance_and_length(browser):
    reload(browser)
    click_at(browser, 280, 90)
    from selenium.webdriver.support.ui import WebDriverWait

    WebDriverWait(browser, 5).until(lambda b: "edge side" in told(b))
    words = told(browser)
    assert "Front: outline" in words
    assert "edge side, 100.0 mm on the stitching line; allowance 10 mm" in words


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
    edges = browser.find_element("css selector", ".edges path").get_attribute("d")
    assert edges.count("M") >= 4
    assert browser.find_elements("css selector", ".numbers text")


@needs_browser
def test_prints_all_sheets_with_numbers_scale_and_cautions(browser):
    """What is printed, read by pypdf."""
    import base64
    import io

    from pypdf import PdfReader

    reload(browser)
    printed = PdfReader(io.BytesIO(base64.b64decode(browser.print_page())))
    text = " ".join(page.extract_text() for page in printed.pages)
    assert len(printed.pages) <= 3
    for words in ("Front", "Sheet 1, one.plt", "Sheet 1, two.plt", "100 mm", "a warning", "Blades"):
        assert words in text
    assert not browser.find_elements("css selector", ".printed")


@needs_browser
def test_a_found_card_can_be_let_go_by_button_and_by_escape(browser):
    reload(browser)
    before = view_box(browser)
    browser.find_element("css selector", "#cards button").click()
    assert browser.find_elements("css selector", ".cardbox")
    by_id(browser, "let-go").click()
    assert not browser.find_elements("css selector", ".cardbox")
    assert view_box(browser) == before
    browser.find_element("css selector", "#cards button").click()
    press(browser, "\ue00c")  # WebDriver's code for Escape
    assert not browser.find_elements("css selector", ".cardbox")
    assert not by_id(browser, "held").is_displayed()


@needs_browser
def test_zoom_is_in_proportion_to_the_wheels_movement(browser):
    """Three small steps of a trackpad are one of a wheel, three times as large."""
    reload(browser)
    wheel = """
        const view = document.getElementById('view'), { left, top } = view.getBoundingClientRect();
        for (const deltaY of arguments[0]) view.dispatchEvent(new WheelEvent(
            'wheel', { deltaY, clientX: left + 290, clientY: top + 330, cancelable: true }));"""
    browser.execute_script(wheel, [-40, -40, -40])
    small = view_box(browser)
    by_id(browser, "whole").click()
    browser.execute_script(wheel, [-120])
    assert view_box(browser) == pytest.approx(small)
    by_id(browser, "whole").click()
    browser.execute_script(wheel, [-4])
    whole = view_box(browser)[2]
    assert small[2] < whole < 1.04 * HEIGHT * 1.5


@needs_browser
def test_what_is_out_of_sight_is_drawn_when_it_comes_into_view(browser):
    """Beside the view, or less than a pixel; a print has it all the same."""
    from selenium.webdriver.support.ui import WebDriverWait

    reload(browser)
    count = "return [...document.querySelectorAll('#sheet-0 g[data-kind] path')].filter({}).length"
    seen = count.format("(path) => path.getClientRects().length")
    drawn = count.format("() => true")
    whole = browser.execute_script(seen)
    WebDriverWait(browser, 5).until(lambda b: b.execute_script(seen) > 5)
    press(browser, *"-" * 8)  # four times the sheet, where it stops
    browser.set_window_size(220, 400)
    WebDriverWait(browser, 5).until(lambda b: b.execute_script(seen) < whole)
    browser.set_window_size(1200, 900)
    browser.execute_script("dispatchEvent(new Event('beforeprint'))")
    everything = browser.execute_script(drawn)
    browser.execute_script("dispatchEvent(new Event('afterprint'))")
    press(browser, "0", *"+" * 40)
    WebDriverWait(browser, 5).until(lambda b: b.execute_script(seen) < whole)
    press(browser, "0")
    WebDriverWait(browser, 5).until(lambda b: b.execute_script(seen) == whole)
    assert whole == everything == browser.execute_script(drawn)


@needs_browser
def test_all_sheets_are_shown_together_and_one_is_chosen(browser):
    reload(browser)
    by_id(browser, "every").click()
    buttons = browser.find_elements("css selector", "#contact button")
    assert len(buttons) == 2
    assert "Cards: 2" in buttons[0].text
    assert " min " in buttons[0].text
    assert [each.text for each in buttons[0].find_elements("css selector", "text")] == ["1", "2"]
    assert not by_id(browser, "view").is_displayed()
    buttons[1].click()
    assert by_id(browser, "view").is_displayed()
    assert by_id(browser, "which").get_attribute("value") == "1"


@needs_browser
def test_times_of_the_sheet_and_of_all(browser):
    reload(browser)
    seconds = program_for(machine_for("hpgl")).seconds
    words = by_id(browser, "times").text
    for each in (seconds, 2 * seconds):
        near = [divmod(round(each) + by, 60) for by in (-1, 0, 1)]
        assert any(f"{minutes} min {rest:02d} s" in words for minutes, rest in near)
