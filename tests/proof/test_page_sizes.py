"""All sizes of a piece on the proof page: one of them, all, or one after another."""

import json
import re

import pytest
from click.testing import CliRunner

from plotout.cli.page_command import page

from .in_browser import by_id, needs_browser, shown, unpacked

SET = """[set]
name = "Apron"
style = "AP-1"
[sizes]
base = "M"
range = ["S", "M", "L/XL"]
[[piece]]
name = "Bib"
rectangle = [120, 180]
cut = [{ cloth = "self" }]
[[piece.grade]]
corner = ["bottom", "right"]
x = 10
[[piece.grade]]
corner = ["right", "top"]
x = 10
"""


@pytest.fixture(scope="module")
def html(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sizes")
    (folder / "set.toml").write_text(SET)
    words = [str(folder / "set.toml"), "--machine", "laser", "--seconds", "0", "--nest",
             "--out", str(folder / "page.html")]  # fmt: skip
    done = CliRunner().invoke(page, words)
    assert done.exit_code == 0, done.output
    assert re.search(r"\d cards? on 1 sheet and 1 nest, ", done.output)
    return (folder / "page.html").read_text()


def test_a_nest_knows_which_lines_are_of_which_size(html):
    data = json.loads(re.search(r'id="data">(.*?)</script>', html, re.DOTALL)[1])
    cards, nest = data["sheets"]
    assert cards["sizes"] == []
    assert nest["name"] == "Bib, all sizes"
    assert nest["file"] == ""  # none was written
    assert nest["sizes"] == ["S", "M", "L/XL"]
    drawn = unpacked(html)[1]
    of = drawn["of"]
    assert len(of) == len(drawn["runs"]["works"])
    assert set(of) == {-1, 0, 1, 2}


def show(browser, sheet):
    browser.execute_script(
        "const list = document.getElementById('which'); list.value = arguments[0];"
        "list.dispatchEvent(new Event('change'))", str(sheet)
    )  # fmt: skip


@needs_browser
def test_one_size_all_or_one_after_another(html, tmp_path):
    pages = shown(html, tmp_path)
    browser = next(pages)
    seen = "return [...document.querySelectorAll('#sheet-1 path[data-of]')].filter(" \
        "(path) => path.getClientRects().length).map((path) => +path.dataset.of)"  # fmt: skip
    assert not by_id(browser, "sizes").is_displayed()  # of the cards there is one size
    show(browser, 1)
    assert by_id(browser, "sizes").is_displayed()
    from selenium.webdriver.support.ui import WebDriverWait

    everything = {-1, 0, 1, 2}
    WebDriverWait(browser, 20).until(lambda b: set(b.execute_script(seen)) == everything)
    for size in (0, 1, 2):
        by_id(browser, "size-on").click()
        assert set(browser.execute_script(seen)) == {-1, size}
    assert "L/XL" in by_id(browser, "message").text
    by_id(browser, "size-on").click()
    assert set(browser.execute_script(seen)) == everything
    assert not by_id(browser, "player").is_displayed()  # nothing draws it
    assert "in none of the files" in by_id(browser, "times").text
    assert browser.execute_script(
        "return document.querySelectorAll('#sheet-1 g[data-kind=travel] path').length"
    ) == 0  # fmt: skip
    by_id(browser, "every").click()
    nest = browser.find_elements("css selector", "#contact button")[1]
    assert nest.text == "Bib, all sizes"
    drawn = nest.find_element("css selector", "path.cut").get_attribute("d")
    assert len(drawn) > 100  # the thumbnail shows its lines
    show(browser, 0)
    assert by_id(browser, "player").is_displayed()
    assert next(pages, None) is None
