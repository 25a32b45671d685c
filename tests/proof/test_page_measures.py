"""The page measures the card, whose size the drawing says, and the tool's path only when asked.

Reference: the card is drawn here, 134.5 by 60 mm; the path of a trailing blade whose tip lies
0.45 mm behind its pivot leads by that, and a kerf's middle lies half of it outside (both from the
geometry alone).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from plotout import job
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.model import Card, Placed, Sheet
from plotout.pattern.model import PatternSet
from plotout.proof.page import Leaf, page
from plotout.tool import compile_sheet

from .in_browser import by_id, needs_browser, reload, shown

pytestmark = [pytest.mark.browser, needs_browser]

WIDE, TALL = 134.5, 60.0


@pytest.fixture(scope="module")
def lasered(tmp_path_factory):
    """A page of one card, turned by 30 degrees, for a laser with a kerf of 0.9 mm."""
    ring = np.array([[0, 0], [WIDE, 0], [WIDE, TALL], [0, TALL], [0, 0.0]])
    strokes = (
        Stroke(ring, Work.CUT, Mark.OUTLINE, "a"),
        Stroke(np.array([[30, 30.0]]), Work.PUNCH, Mark.HOLE, "a", 8.0),
    )
    card = Card("a", "a", "A", 1, 1, ring, strokes, (30.0, 30.0))
    sheet = Sheet("sheet", 1, 300.0, 250.0, (Placed(card, 30.0, (80.0, 40.0)),))
    machine = job.load_machine("laser")
    tools = tuple(
        replace(tool, kerf=0.9 if Work.CUT in tool.does else 0.0) for tool in machine.tools
    )
    machine = replace(machine, tools=tools)
    program = compile_sheet(sheet, sheet.strokes, machine)
    empty = PatternSet("Set", "S", "M", "", ())
    html = page(empty, machine, (card,), [Leaf(sheet, program, "a.ngc")])
    yield from shown(html, tmp_path_factory.mktemp("laser"))


@pytest.fixture
def measuring(lasered):
    reload(lasered)
    by_id(lasered, "measure").click()
    return lasered


def at(browser, x, y):
    """Take the place x, y of the card, mm, as a user's pointer would; the page's own functions."""
    turn = np.radians(30.0)
    there = [80 + x * np.cos(turn) - y * np.sin(turn), 40 + x * np.sin(turn) + y * np.cos(turn)]
    frame = browser.execute_script(
        "const b=document.getElementById('view').getBoundingClientRect();"
        "const v=document.getElementById('sheet-0').viewBox.baseVal;"
        "return [b.width,b.height,v.x,v.y,v.width,v.height]"
    )
    width, height, left, top, wide, tall = frame
    mm = max(wide / width, tall / height)
    from selenium.webdriver import ActionChains

    ActionChains(browser).move_to_element_with_offset(
        by_id(browser, "view"),
        round((there[0] - left - wide / 2) / mm),
        round((250.0 - there[1] - top - tall / 2) / mm),
    ).click().perform()


def measured(browser, *places) -> float:
    for place in places:
        at(browser, *place)
    return float(by_id(browser, "message").text.split(" mm")[0])


def choose(browser, what):
    from selenium.webdriver.support.ui import Select

    Select(by_id(browser, "of")).select_by_value(what)


def test_the_card_is_measured_not_the_path_of_the_tool(measuring):
    assert "on the card" in by_id(measuring, "message").text
    assert measured(measuring, (0, 0), (WIDE, 0)) == pytest.approx(WIDE, abs=0.011)
    assert "both ends at a corner or end, on the card." in by_id(measuring, "message").text
    assert measured(measuring, (0, 0), (WIDE, TALL)) == pytest.approx(
        np.hypot(WIDE, TALL), abs=0.011
    )
    assert measured(measuring, (0, 0), (30, 30)) == pytest.approx(np.hypot(30, 30), abs=0.011)
    assert (
        "from a corner or end to a hole's middle, on the card" in by_id(measuring, "message").text
    )
    choose(measuring, "path")
    assert "on the tool's path" in by_id(measuring, "message").text
    assert measured(measuring, (0, 0), (WIDE, 0)) == pytest.approx(WIDE + 0.9, abs=0.03)
    assert "on the tool's path, which is not the card's edge" in by_id(measuring, "message").text


def test_a_place_on_a_line_is_not_called_a_corner(measuring):
    at(measuring, 50, 0)
    assert by_id(measuring, "message").text == "Taken: a line. Now the second place."
    at(measuring, 50, TALL)
    assert "both ends at a line, on the card" in by_id(measuring, "message").text


def test_card_and_path_are_layers_that_can_be_hidden(measuring):
    lines = "g[data-kind='{}']:not(.off) path"
    paths = measuring.find_elements("css selector", lines.format("card"))
    assert "".join(path.get_attribute("d") for path in paths).count("M") == 2
    labels = measuring.find_elements("css selector", "#works label")
    assert [each.text.strip() for each in labels][:1] == ["card"]
    labels[0].find_element("css selector", "input").click()
    assert not measuring.find_elements("css selector", lines.format("card"))
    assert measuring.find_elements("css selector", lines.format("cut"))
    at(measuring, 0, 0)
    assert "a place beside all lines" in by_id(measuring, "message").text
