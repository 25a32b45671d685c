"""Slits, keyholes and Vs at the fold: a half says and cuts what the whole does.

The reference is the whole piece, both halves drawn: its cutting line, its notches, and what is said
of it must be the half's and their mirror images. Where allowances fill a gap is worked out by hand.
"""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from garments import arc, edge
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.affinity import scale
from shapely.geometry import LineString, Point, Polygon

from plotout.finish.prepare import bare_card, ready
from plotout.finish.unfold import OTHER
from plotout.geometry.polyline import length
from plotout.geometry.strokes import NotchKind
from plotout.pattern.model import Cut, Notch, Piece
from plotout.pattern.settings import Defaults, NotchStyle

FILLED = "meet and fill the gap"


def half(*neck, allowance=10.0, own=None, notches=()):
    """Half a piece of 300 x 300 mm on its fold, x = 0, with edges from its top, (80, 300), to it.

    neck: their points. allowance: of all edges, mm; own: of those at the fold.
    """
    own = allowance if own is None else own
    made = [
        edge("hem", [[0, 0], [150, 0]], allowance), edge("side", [[150, 0], [150, 300]], allowance),
        edge("shoulder", [[150, 300], neck[0][0]], allowance),
        *(edge(f"neck {at + 1}", points, own) for at, points in enumerate(neck)),
        edge("fold", [neck[-1][-1], [0, 0]], 0.0),
    ]  # fmt: skip
    return Piece("Front", tuple(made), (Cut("self", on_fold=True),), fold="fold", notches=notches)


def both(piece):
    """Return the bare cards of a half and of the whole."""
    return tuple(
        bare_card(ready(replace(piece, whole=whole)), Defaults()) for whole in (False, True)
    )


SLIT = ([[80, 300], [2, 260]], [[2, 260], [0, 160]])
"""Under a neck, 100 mm deep and 4 mm wide."""
KEYHOLE = ([[80, 300], [4, 270]], np.vstack([[[4, 270]], arc(0, 240, 12, 70, -90)]))
"""A hole of 24 mm across under a mouth of 8 mm."""
WIDE = ([[80, 300], [25, 260]], [[25, 260], [0, 160]])
"""50 mm wide at its mouth."""


@pytest.mark.parametrize(
    ("neck", "allowance", "filled"),
    [
        (SLIT, 10.0, True),  # 4 mm wide, and 2 x 10 mm of allowance
        (SLIT, 0.5, False),  # 4 mm less 2 x 0.5
        (KEYHOLE, 10.0, True),
        (WIDE, 10.0, False),
    ],
)
def test_a_gap_that_allowances_fill_is_a_fault_of_a_half_too(neck, allowance, filled):
    cards = both(half(*neck, own=allowance, allowance=10.0))
    for card in cards:
        assert any(FILLED in fault for fault in card.faults) == filled


FLARED = np.array([[60, 300], [40, 298], [20, 285], [8, 260], [4, 220], [2, 100.0]])
"""A slit of 200 mm, 4 to 16 mm wide, flaring over the top 40: more than half is filled."""


def test_a_slit_filled_below_its_wide_mouth_is_a_fault():
    for card in both(half(FLARED.tolist())):
        (fault,) = [text for text in card.faults if FILLED in text]
        assert "'neck 1'" in fault


@pytest.mark.parametrize(
    ("angle", "told"),
    [(40.0, ""), (30.0, ""), (20.0, "note"), (12.0, "note"), (8.0, "fault")],
)
def test_a_straight_v_is_told_by_how_far_its_allowances_fill_it(angle, told):
    """By hand: the parallels, w off, meet w / tan(angle / 2) along an edge of the V; from there on
    it is nearer than 2 w to them after 3 ** 0.5 w less."""
    turned, deep, wide = np.radians(angle / 2.0), 200.0, 10.0
    mouth = [deep * np.sin(turned), 300.0]
    point = [0.0, 300.0 - deep * np.cos(turned)]
    hidden = wide * (1.0 / np.tan(turned) - 3.0**0.5)
    assert (hidden > 30.0) == bool(told)
    assert (hidden > deep / 2.0) == (told == "fault")
    for card in both(half([mouth, point])):
        found = [text for text in (*card.faults, *card.warnings) if FILLED in text]
        assert [f"({hidden:.0f} mm)" in text for text in found] == [True] * bool(told)
        assert any(text in card.faults for text in found) == (told == "fault")


def test_a_v_that_its_allowance_fills_is_told_of_a_half_too():
    """14 mm deep at 45 degrees: its parallels at 25 mm meet 14 + 25 / cos 45 = 35 mm up the fold
    from its point, but the edge beside it, at 10 mm, is cut 14 + 10 = 24 mm above that.
    """
    piece = half([[14, 300], [0, 286]], own=25.0)
    piece = replace(piece, notches=(Notch("neck 1", 5.0),))
    for card in both(piece):
        assert card.outline[:, 1].max() == pytest.approx(310.0)
        assert any("'neck 1' has a corner near x 0 mm, y 286 mm" in note for note in card.warnings)


@pytest.mark.parametrize("deep", [4.0, 9.5, 10.0, 12.0, 20.0])
def test_a_shallow_v_keeps_the_wider_allowance_of_its_own(deep):
    """15 mm beside 25 mm, at a corner so blunt that their parallels meet past the middle of the V,
    38 mm wide: half-way along its edge the cutting line is still 25 mm off it.
    """
    ends = np.array([[38.0, 300.0], [0.0, 300.0 - deep]])
    for card in both(half(ends, allowance=15.0, own=25.0)):
        across = np.array([-deep, 38.0]) / np.hypot(38.0, deep)
        cut = Point(ends.mean(axis=0) + 25.0 * across)
        assert LineString(card.outline).distance(cut) < 0.01


def test_a_notch_near_the_point_of_a_v_is_not_cut_into_the_fold():
    """Of a V of 40 degrees, parallels at 15 mm meet 15 / sin 20 = 43.9 mm up the fold, 41.2 mm up
    its legs: no place below that has card of its own allowance beyond it.
    """
    leg = np.array([np.sin(np.radians(20.0)), np.cos(np.radians(20.0))])
    tip = np.array([0.0, 100.0])
    top = tip + leg * (200.0 / leg[1])
    size = float(np.hypot(*(top - tip)))
    for up, cut in ((18.0, False), (39.0, False), (80.0, True)):
        piece = half([top, tip], allowance=15.0, notches=(Notch("neck 1", size - up),))
        for card in both(piece):
            match = [notch for notch in card.notches if not notch.seam]
            assert [notch.style.cut for notch in match] == [cut] * len(match)
            assert match
            assert not card.faults


@st.composite
def halves(draw):
    """Halves with a gap at the fold: a V or a slit, straight or bent, and a notch in it."""
    wide, deep = draw(st.floats(1.0, 60.0)), draw(st.floats(5.0, 120.0))
    shape = draw(st.sampled_from(["V", "slit", "bent"]))
    allowance = draw(st.sampled_from([4.0, 10.0, 15.0]))
    own = draw(st.sampled_from([4.0, 10.0, 25.0]))
    if shape == "V":
        neck = ([[wide, 300], [0, 300 - deep]],)
    elif shape == "slit":
        neck = ([[80, 300], [wide, 280]], [[wide, 280], [0, 280 - deep]])
    else:
        share = np.linspace(0.0, 1.0, 21)
        neck = (np.column_stack([wide * (1.0 - share), 300 - deep * share**0.7]),)
    size = length(np.asarray(neck[-1], float))
    assume(size > 1.5 * own)  # shorter ones have their allowance over the other half
    style = NotchStyle(draw(st.sampled_from([NotchKind.SLIT, NotchKind.V])))
    notch = Notch(f"neck {len(neck)}", draw(st.floats(0.05, 0.95)) * size, style=style)
    return half(*neck, allowance=allowance, own=own, notches=(notch,))


def mirrored(shape):
    return scale(shape, -1.0, 1.0, origin=(0.0, 0.0))


@settings(max_examples=100, deadline=None)
@given(halves())
def test_a_half_says_and_cuts_what_the_whole_does(piece):
    own, whole = both(piece)
    # nearer the fold, the whole's two notches run together
    cut = [notch for notch in (*own.notches, *whole.notches) if notch.style.cut]
    assume(all(abs(notch.at[0]) > notch.style.width for notch in cut))
    opened = shapely.union_all([Polygon(own.outline).buffer(1e-6),
                                mirrored(Polygon(own.outline)).buffer(1e-6)])  # fmt: skip
    assert opened.symmetric_difference(Polygon(whole.outline)).area < 0.01
    assert list(own.faults) == [words for words in whole.faults if OTHER not in words]
    assert bends(own) == bends(whole)
    for notch in own.notches:
        if notch.style.cut:  # on what is cut, not on the fold
            assert LineString(whole.outline).distance(Point(notch.at)) < 0.05


def bends(card):
    """Return the corners and the bends of a card that it doesn't show."""
    told = ("has a corner near", "bends more tightly")
    return [words for words in card.warnings if any(how in words for how in told)]


@pytest.mark.parametrize("angle", [-20.0, -12.0, -5.0, 5.0, 12.0])
@pytest.mark.parametrize("leg", [40.0, 80.0, 250.0])
def test_a_shallow_v_of_two_straight_edges_is_a_corner_and_no_bend(angle, leg):
    """The cutting line shows both its straights: there is no curve to be lost."""
    x, y = leg * np.cos(np.radians(angle)), leg * np.sin(np.radians(angle))
    ring = np.array([[0, 0], [x, y], [x + 150, y], [x + 150, 300], [0, 300], [0, 0]])
    names, wide = ("v", "level", "side", "top", "fold"), (30.0, 3.0, 10.0, 10.0, 0.0)
    edges = [edge(n, ring[k : k + 2], w) for k, (n, w) in enumerate(zip(names, wide, strict=True))]
    half = Piece("Front", tuple(edges), cuts=(Cut("self", on_fold=True),), fold="fold")
    for whole in (False, True):
        assert bends(bare_card(ready(replace(half, whole=whole)), Defaults())) == []
