"""Cuts that run together since a tool takes a width away are told.

Reference: a raster of 0.05 mm of the card, from which every place within half a kerf of a line is
taken; scipy counts what is connected in what was taken and in what is left.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import label

from plotout.geometry.strokes import Mark, NotchKind, Stroke, Work
from plotout.machine import Tool, ToolKind
from plotout.tool import merging
from plotout.tool.merging import run_together

PIXEL = 0.05
WIDE, TALL = 60.0, 20.0


def cutter(kerf: float) -> Tool:
    return Tool("cutter", 1, ToolKind.ROUTER, (Work.CUT,), 20.0, kerf=kerf)


def told_of(strokes: Sequence[Stroke], tool: Tool) -> list[str]:
    pairs = [(each, tool) for each in strokes]
    return list(run_together(pairs, [each.points for each in strokes]))


def notch(x: float, kind: NotchKind, depth: float = 5.0, half: float = 2.0) -> list[Stroke]:
    """A slit or T in the card's upper edge."""
    lines = [[[x, TALL - depth], [x, TALL]]]
    if kind is NotchKind.T:
        lines.append([[x - half, TALL - depth], [x + half, TALL - depth]])
    return [Stroke(np.array(line), Work.CUT, Mark.NOTCH, "front", notch=kind) for line in lines]


def outline() -> Stroke:
    ring = np.array([[0, 0], [WIDE, 0], [WIDE, TALL], [0, TALL], [0, 0.0]])
    return Stroke(ring, Work.CUT, Mark.OUTLINE, "front")


def begun_at_a_cut(ring: Stroke) -> Stroke:
    """The same outline, begun at x 20 in its upper edge."""
    corners = ring.points[:-1].tolist()
    return ring.along(np.array([[20.0, TALL], *corners[3:], *corners[:3], [20.0, TALL]]))


def simulated(strokes: list[Stroke], kerf: float) -> tuple[int, int]:
    """Return how many connected cuts there are, and how many pieces larger than 1 mm2 are left."""
    x = (np.arange(round(WIDE / PIXEL)) + 0.5) * PIXEL
    y = (np.arange(round(TALL / PIXEL)) + 0.5) * PIXEL
    places = shapely.points(*np.meshgrid(x, y))
    lines = shapely.union_all([shapely.LineString(each.points) for each in strokes])
    taken = shapely.distance(places, lines) <= kerf / 2.0
    left, count = label(~taken)
    sizes = np.bincount(left.ravel())[1 : count + 1] * PIXEL**2
    return label(taken, np.ones((3, 3)))[1], int((sizes > 1.0).sum())


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from([NotchKind.SLIT, NotchKind.T]),
    st.sampled_from([NotchKind.SLIT, NotchKind.T]),
    st.floats(1.0, 12.0),
    st.sampled_from([0.2, 1.5, 3.0]),
)
@pytest.mark.thorough
def test_as_a_raster_of_the_card_says(one, other, gap, kerf):
    strokes = [*notch(20.0, one), *notch(20.0 + gap, other)]
    apart = gap - 2.0 * (one is NotchKind.T) - 2.0 * (other is NotchKind.T)
    if abs(apart - kerf) < 0.2 or -0.2 < apart < 0.2:
        return  # nearer than the raster tells
    tool = cutter(kerf)
    told = told_of([*strokes, outline()], tool)
    cuts, pieces = simulated(strokes, kerf)
    drawn, whole = simulated(strokes, 0.11)
    assert any("run together" in text for text in told) == (cuts < drawn)
    assert any("falls out" in text for text in told) == (pieces > whole)


def test_a_blade_takes_nothing_away():
    strokes = [*notch(20.0, NotchKind.T), *notch(25.0, NotchKind.T), outline()]
    assert told_of(strokes, cutter(0.0)) == []


def test_a_slit_beside_a_hole_is_told_and_one_further_off_is_not():
    def told(at: float) -> list[str]:
        hole = Stroke(np.array([[at, TALL - 10.0]]), Work.PUNCH, Mark.HOLE, "front", 8.0)
        strokes = [*notch(20.0, NotchKind.SLIT, 12.0), hole, outline()]
        return told_of(strokes, cutter(3.0))

    assert told(26.0) == []
    (text,) = told(25.4)  # the hole's rim is 1.4 mm from the slit's middle
    assert text.startswith("card 'front': the notch at x 20.0 mm, y 14.0 mm and the hanging hole")
    assert "3 mm are cut away" in text


@pytest.mark.parametrize("kerf", [0.15, 3.0])
def test_what_crosses_as_drawn_is_not_told(kerf):
    cross = [[[10, 5], [30, 5]], [[20, 2], [20, 9]]]
    strokes = [Stroke(np.array(line, float), Work.CUT, Mark.INTERNAL, "front") for line in cross]
    assert told_of([*strokes, outline()], cutter(kerf)) == []


@pytest.mark.parametrize(
    ("line", "falls"),
    [
        ([[20, 5], [30, 5], [30, 12], [20, 12], [20, 6.5]], True),  # it nearly ends where it began
        ([[20, 5], [30, 5], [30, 12], [20, 12], [20, 9]], False),
        ([[20, 20], [20, 14], [26, 14], [26, 19]], True),  # it nearly comes back to the edge
        ([[20, 20], [20, 14], [26, 14], [26, 17]], False),
    ],
)
def test_a_single_cut_may_let_a_piece_fall_out(line, falls):
    stroke = Stroke(np.array(line, float), Work.CUT, Mark.INTERNAL, "front")
    for ring in (outline(), begun_at_a_cut(outline())):
        told = told_of((stroke, ring), cutter(3.0))
        assert any("falls out" in text for text in told) == falls
    assert (simulated([stroke], 3.0)[1] > simulated([stroke], 0.11)[1]) == falls


def test_cuts_apart_divide_no_card_wherever_its_outline_begins(monkeypatch):
    """Then the card is not divided to see what falls out: most routes begin outlines at slits."""
    monkeypatch.setattr(merging, "_left", None)
    slits = [*notch(20.0, NotchKind.SLIT), *notch(40.0, NotchKind.SLIT)]
    for ring in (outline(), begun_at_a_cut(outline())):
        assert told_of([*slits, ring], cutter(1.5)) == []
