"""Seams walked the wrong way, and bends tighter than their allowance: pieces by hand."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, arc, edge, rectangle

from plotout.finish.prepare import bare_card, ready
from plotout.pattern.model import Seam, Side
from plotout.pattern.settings import Corner, Defaults
from plotout.review.whole_set import review

UP = np.array([[50.0, 10.0], [50.0, 40.0]])


def panel(name, hem=30.0, top=10.0, corner=Corner.TURNED):
    """A panel of 100 x 60 mm with a hem at its foot and a plain top."""
    made = rectangle(name, 100, 60, 10, grain=UP)
    foot, right, upper, left = made.edges
    foot = replace(foot, allowance=(hem, hem), corner=corner)
    upper = replace(upper, allowance=(top, top))
    return replace(made, edges=(foot, right, upper, left))


def side(*edges):
    return Side(tuple((piece, name.lstrip("-"), name.startswith("-")) for piece, name in edges))


def asked(pieces, first, second):
    notes = review(a_set(*pieces, seams=(Seam("side", first, second),))).notes
    return sum("walked the other way" in note for note in notes)


@pytest.mark.parametrize(("name", "wrong"), [("left", 1), ("-left", 0)])
@pytest.mark.parametrize("corner", [Corner.TURNED, Corner.MITRE])
def test_a_hem_meets_a_hem(name, wrong, corner):
    """`right` runs up from the hem, `left` down to it: walked alike, hem meets top."""
    pieces = panel("A", corner=corner), panel("B", corner=corner)
    assert asked(pieces, side(("A", "right")), side(("B", name))) == wrong


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (panel("A"), panel("B", 10.0, corner=Corner.MITRE)),  # one is faced, not hemmed
        (panel("A"), panel("B", 40.0)),  # hems of two depths
        (panel("A", 10.0, corner=Corner.MITRE), panel("B", 10.0, corner=Corner.MITRE)),
        (panel("A", top=15.0), panel("B", top=12.0)),
    ],
)
def test_sides_that_differ_otherwise_are_not_blamed(first, second):
    assert asked((first, second), side(("A", "right")), side(("B", "-left"))) == 0


@pytest.mark.parametrize(("name", "wrong"), [("left", 1), ("-left", 0)])
def test_hems_meet_however_much_is_eased_in_between(name, wrong):
    """60 mm to 100 mm: the hems lie at the start of both."""
    taller = rectangle("B", 100, 100, 10, grain=UP)
    taller = replace(taller, edges=(panel("B").edges[0], *taller.edges[1:]))
    for one, other in (("A", "B"), ("B", "A")):
        sides = side((one, "right")), side((other, name))
        assert asked((panel("A"), taller), *sides) == wrong


def test_a_hem_within_a_chain_is_told():
    """A side of two panels above each other, of which the hemmed one was walked downwards."""
    upper = panel("C", 10.0, corner=Corner.MITRE)
    long = replace(panel("A"), edges=rectangle("A", 100, 120, 10).edges)
    long = replace(long, edges=(panel("A").edges[0], *long.edges[1:]))
    pieces = (long, panel("B"), upper)
    down = side(("B", "left"), ("C", "-left"))
    assert asked(pieces, side(("A", "right")), down) == 1
    assert asked(pieces, side(("A", "right")), side(("B", "-left"), ("C", "-left"))) == 0


@pytest.mark.parametrize(
    ("radius", "wide", "told"),
    [(20.0, 30.0, True), (50.0, 55.0, True), (50.0, 40.0, False), (30.0, 12.7, False)],
)
@pytest.mark.parametrize("degrees", [0.0, 90.0])
def test_a_bend_tighter_than_its_allowance_is_told_where_it_lies(radius, wide, told, degrees):
    """A quarter circle bitten out of a corner at (200, 200): parallel only within its radius."""
    bite = arc(200, 200, radius, 270, 180)
    corners = [[0, 0], [200, 0], [200, 200 - radius], [200 - radius, 200], [0, 200]]
    edges = (
        edge("foot", corners[0:2], wide),
        edge("side", corners[1:3], wide),
        edge("neck", bite, wide),
        edge("top", corners[3:5], wide),
        edge("back", [corners[4], corners[0]], wide),
    )
    along = np.array([np.cos(np.radians(90 - degrees)), np.sin(np.radians(90 - degrees))])
    grain = np.array([[60.0, 60.0], [60.0, 60.0] + 50.0 * along])
    piece = replace(rectangle("Bodice", 200, 200), edges=edges, grain=grain)
    notes = [n for n in bare_card(ready(piece), Defaults()).warnings if "bends more tightly" in n]
    assert len(notes) == told
    if told:
        x, y = (float(part.split(" mm")[0]) for part in notes[0].split("near x ")[1].split(", y "))
        assert abs(np.hypot(x - 200, y - 200) - radius) < 2.0


@pytest.mark.parametrize(
    ("neck", "told"),
    [
        ([[200, 300], [100, 150], [0, 300]], 0),  # a V: its parallels meet, and show both legs
        ([[105, 300], [100, 60], [95, 300]], 1),  # a slit of two straights that they fill
        ([[160, 300], [100, 300], [100, 150], [70, 150], [70, 300]], 0),  # 30 mm wide, 10 each
        ([[160, 300], [100, 300], [100, 150], [85, 150], [85, 300]], 1),  # 15 mm wide
    ],
)
def test_a_corner_within_an_edge_is_no_bend(neck, told):
    neck = np.array(neck, float)
    corners = [[0, 0], [200, 0], neck[0], neck[-1], [0, 0]]
    edges = (
        edge("hem", corners[0:2], 10.0),
        edge("side", corners[1:3], 10.0),
        edge("neck", neck, 10.0),
        edge("back", corners[3:5], 10.0),
    )
    piece = replace(rectangle("Bodice", 200, 200), edges=edges)
    card = bare_card(ready(piece), Defaults())
    said = [words for words in (*card.faults, *card.warnings) if "'neck'" in words]
    assert sum("has a corner" in words or "fill the gap" in words for words in said) == told
    assert not any("bends more tightly" in words for words in said)
