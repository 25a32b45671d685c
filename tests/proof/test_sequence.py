"""A sheet worked in an order that doesn't work is refused.

Common practice: a card that is cut free may move, so that nothing more can be cut in it. The
reference is a walk through the program of its own: shapely says what lies on which card.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import ToolKind
from plotout.model import Card, Placed, Sheet
from plotout.proof import verify
from plotout.route import order
from plotout.tool import compile_sheet

from .conftest import interpreter, machine_for

TURNS = [0.0, 17.3, 90.0, 211.7]


def small_card(nth: int, acute: bool = True) -> Card:
    """Return a card with an acute corner, four slits, a cut-out with a slit in it, and a hole."""
    corners = np.array([[0, 0], [62, 0], [40, 44], [0, 44.0]])
    if acute:
        corners = np.array([[0, 0], [75, 0], [9, 44], [0, 44.0]])
    ring = np.vstack([corners, corners[:1]])
    inward = shapely.Polygon(ring).centroid
    name = f"card-{nth}"

    def stroke(points, work, mark, size=0.0):
        return Stroke(np.array(points, float), work, mark, name, size)

    slits = []
    for a, b in pairwise(ring):
        at = a + 0.37 * (b - a)
        way = np.array([inward.x, inward.y]) - at
        slits.append(stroke([at, at + 5.0 * way / np.hypot(*way)], Work.CUT, Mark.NOTCH))
    window = np.array([[8, 12], [18, 12], [18, 22], [8, 22], [8, 12.0]])
    strokes = [
        stroke(ring, Work.CUT, Mark.OUTLINE),
        stroke(window, Work.CUT, Mark.CUTOUT),
        stroke([[12, 13], [12, 17]], Work.CUT, Mark.INTERNAL),
        stroke([[9, 33]], Work.PUNCH, Mark.HOLE, 6.0),
        stroke([[22, 8], [40, 8]], Work.DRAW, Mark.GRAIN),
        *slits,
    ]
    return Card(name, name, name, nth, 48, ring, tuple(strokes), (9.0, 33.0))


def sheet_of(turn: float, count: int = 12) -> Sheet:
    placed = [
        Placed(small_card(nth), turn, (90.0 + 105.0 * (nth // 3), 90.0 + 105.0 * (nth % 3)))
        for nth in range(count)
    ]
    return Sheet("sheet", 1, 500.0, 400.0, tuple(placed))


def compiled(sheet: Sheet, strokes=None, **changes):
    here = machine_for("gcode", **changes)
    strokes = order(sheet.strokes, machine=here).strokes if strokes is None else strokes
    return compile_sheet(sheet, strokes, here)


def told(sheet: Sheet, program) -> str:
    from plotout import plugins

    data = plugins.driver("gcode").emit(program, sheet)
    return "\n".join(verify(program, sheet, data, interpreter("gcode")))


@pytest.mark.parametrize("turn", TURNS)
def test_slits_and_holes_come_before_their_outline_however_the_card_is_turned(turn):
    sheet = sheet_of(turn)
    program = compiled(sheet)
    freed: dict[str, int] = {}
    for nth, run in enumerate(program.runs):
        if run.stroke.mark is Mark.OUTLINE:
            freed[run.stroke.card] = nth
    assert len(freed) == len(sheet.placed)
    for placed in sheet.placed:
        area = shapely.Polygon(placed.outline).buffer(-1.5)
        for nth, run in enumerate(program.runs):
            here = shapely.Point(run.points[0])
            if len(run.points) > 1:
                here = shapely.LineString(run.points)
            if nth > freed[placed.card.id] and run.stroke.mark is not Mark.OUTLINE:
                assert not area.intersects(here)
    assert told(sheet, program) == ""


def moved_to_end(strokes, which):
    picked = [stroke for stroke in strokes if which(stroke)][:1]
    return [*(stroke for stroke in strokes if stroke is not picked[0]), *picked]


@pytest.mark.parametrize(
    ("mark", "words"),
    [
        (Mark.NOTCH, "is cut free"),
        (Mark.HOLE, "is cut free"),
        (Mark.INTERNAL, "already cut out"),
        (Mark.CUTOUT, "is cut free"),
        (Mark.GRAIN, "after a cut in the same card"),
    ],
)
def test_what_comes_too_late_is_refused(mark, words):
    sheet = sheet_of(17.3)
    strokes = moved_to_end(order(sheet.strokes).strokes, lambda stroke: stroke.mark is mark)
    assert words in told(sheet, compiled(sheet, strokes))


def test_a_label_that_lies_does_not_hide_a_slit_that_comes_too_late():
    sheet = sheet_of(17.3)
    strokes = moved_to_end(order(sheet.strokes).strokes, lambda each: each.mark is Mark.NOTCH)
    strokes[-1] = replace(strokes[-1], card="")
    assert "cuts into card" in told(sheet, compiled(sheet, strokes))


def test_an_outline_that_was_forgotten_is_told():
    sheet = sheet_of(0.0, 3)
    strokes = order(sheet.strokes).strokes
    at = next(nth for nth, each in enumerate(strokes) if each.mark is Mark.OUTLINE)
    half = replace(strokes[at], points=strokes[at].points[:3])
    words = told(sheet, compiled(sheet, [*strokes[:at], half, *strokes[at + 1 :]]))
    assert "is not cut free" in words


def test_a_cut_into_another_card_is_told():
    sheet = sheet_of(0.0, 2)
    near = replace(sheet.placed[1], shift=(110.0, 95.0))
    sheet = replace(sheet, placed=(sheet.placed[0], near))
    assert "cuts into card" in told(sheet, compiled(sheet))


def test_tabs_that_are_not_there_are_told():
    sheet = sheet_of(0.0, 2)
    here = machine_for("gcode")
    tools = tuple(
        replace(tool, kind=ToolKind.ROUTER, tabs=3, tab_width=4.0)
        if Work.CUT in tool.does
        else tool
        for tool in here.tools
    )
    strokes = order(sheet.strokes, machine=here).strokes
    good = compiled(sheet, strokes, tools=tools)
    assert told(sheet, good) == ""
    without = tuple(replace(tool, tabs=0) for tool in tools)
    bad = compiled(sheet, strokes, tools=without)
    bad = replace(bad, runs=tuple(replace(run, tool=_like(run.tool, tools)) for run in bad.runs))
    assert "none of its 3 tabs" in told(sheet, bad)


def _like(tool, tools):
    return next(each for each in tools if each.name == tool.name)


def test_edges_that_two_cards_share_free_the_one_that_is_cut_last():
    """Two cards side by side at a gap of 0: the shared edge is cut once."""
    box = np.array([[0, 0], [50, 0], [50, 40], [0, 40], [0, 0.0]])

    def card(name):
        slit = Stroke(np.array([[0, 20], [6, 20.0]]), Work.CUT, Mark.NOTCH, name)
        other = Stroke(np.array([[50, 12], [44, 12.0]]), Work.CUT, Mark.NOTCH, name)
        ring = Stroke(box, Work.CUT, Mark.OUTLINE, name)
        return Card(name, name, name, 1, 2, box, (ring, slit, other))

    sheet = Sheet(
        "sheet", 1, 300.0, 220.0,
        (Placed(card("a"), 0.0, (60.0, 60.0)), Placed(card("b"), 0.0, (110.0, 60.0))),
    )  # fmt: skip
    assert told(sheet, compiled(sheet)) == ""
    program = compiled(sheet)
    late = [run for run in program.runs if run.stroke.mark is Mark.NOTCH]
    assert "is cut free" in told(
        sheet, replace(program, runs=(*(r for r in program.runs if r not in late), *late))
    )


def test_a_knife_that_lifts_at_every_corner_is_judged_by_whole_contours():
    sheet, here = sheet_of(17.3, 3), machine_for("gcode", options={"rotary": "A"})
    knife = [
        replace(tool, kind=ToolKind.TANGENTIAL_KNIFE) if Work.CUT in tool.does else tool
        for tool in here.tools
    ]
    here = replace(here, tools=tuple(knife))
    strokes = order(sheet.strokes, machine=here).strokes
    assert told(sheet, compile_sheet(sheet, strokes, here)) == ""
    late = moved_to_end(strokes, lambda stroke: stroke.mark is Mark.INTERNAL)
    assert "already cut out" in told(sheet, compile_sheet(sheet, late, here))


@pytest.mark.parametrize(("apart", "inner_first"), [(1.0, True), (8.0, True), (8.0, False)])
def test_a_cut_out_within_another_comes_before_it_however_near(apart, inner_first):
    """By hand: 1 mm within, the outer's way lies 0.5 mm inside the line drawn for the inner."""

    def window(by):
        return np.array([[8, 8], [30, 8], [30, 22], [8, 22], [8, 8.0]]) + by * np.array(
            [[1, 1], [-1, 1], [-1, -1], [1, -1], [1, 1.0]]
        )

    whole = small_card(0)
    frame, *_ = whole.strokes
    cuts = [replace(frame, points=window(by), mark=Mark.CUTOUT) for by in (apart, 0.0)]
    card = replace(whole, strokes=(frame, *cuts))
    sheet = Sheet("sheet", 1, 500.0, 400.0, (Placed(card, 0.0, (90.0, 90.0)),))
    here = machine_for("gcode")
    here = replace(
        here, tools=tuple(replace(t, kind=ToolKind.ROUTER, kerf=3.0) for t in here.tools)
    )
    frame, *cuts = sheet.strokes
    strokes = [*(cuts if inner_first else cuts[::-1]), frame]
    said = told(sheet, compile_sheet(sheet, strokes, here))
    assert ("already cut out" in said) is not inner_first
    assert not (inner_first and said)
