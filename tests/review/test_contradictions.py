"""What a piece has twice, or in a way that contradicts itself: each made by hand."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, edge, rectangle

from plotout.finish.notch_changes import Changes
from plotout.pattern.model import Cut, Drill, InternalLine, Notch
from plotout.pattern.settings import Corner, Defaults
from plotout.review.cloth_doubts import cloth_doubts
from plotout.review.doubts import doubts

UP = np.array([[50.0, 10.0], [50.0, 40.0]])
SQUARE = np.array([[20.0, 20.0], [40.0, 20.0], [40.0, 40.0], [20.0, 40.0]])
BOX = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.0, 0.0]])


def patch(**more):
    return rectangle("Patch", 100, 60, **{"grain": UP, **more})


def grain(long):
    return np.array([[50.0, 10.0], [50.0, 10.0 + long]])


def line(points):
    return (InternalLine("window", points, "cut-out"),)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, ""),
        ({"notches": (Notch("foot", 50.0), Notch("foot", 50.0))}, "two notches at 50 mm of 'foot'"),
        ({"notches": (Notch("foot", 50.0), Notch("left", 50.0))}, ""),
        ({"notches": (Notch("foot", 50.0), Notch("foot", 54.0))}, ""),
        ({"notches": (Notch("foot", 50.0), Notch("foot", 60.0, 2))}, "are only 10 mm apart"),
        ({"notches": (Notch("foot", 50.0), Notch("foot", 72.0, 2))}, ""),
        ({"notches": (Notch("foot", 50.0), Notch("foot", 60.0))}, ""),  # a pleat
        ({"notches": (Notch("foot", 50.0, 2), Notch("left", 55.0))}, ""),
        ({"drills": (Drill((50.0, 30.0)), Drill((50.0, 30.0)))}, "two drill holes at x 50.0"),
        ({"drills": (Drill((50.0, 30.0)), Drill((54.0, 30.0)))}, ""),
        ({"cuts": (Cut("self", 1), Cut("self", 3))}, "write count = 4 once"),
        ({"cuts": (Cut("self", 1), Cut("self", 1, reversed=True))}, ""),
        ({"cuts": (Cut("self", 1), Cut("lining", 1))}, ""),
        ({"cuts": (Cut("self", 1, pair=True, reversed=True),)}, "reversed means nothing"),
        ({"lines": line(SQUARE)}, "its cut-out 'window' is not closed"),
        ({"lines": line(np.vstack([SQUARE, SQUARE[:1]]))}, ""),
        ({"grain": grain(9.0)}, "only 9 mm long: too short"),
        ({"grain": grain(12.0)}, ""),
        ({"drills": (Drill((50.0, 1.0), 3.0),)}, "goes 0.5 mm over the stitching line"),
        ({"drills": (Drill((50.0, 1.0), 3.0, cross=True),)}, ""),
        ({"drills": (Drill((50.0, 3.0), 3.0),)}, ""),
    ],
)
def test_what_is_there_twice_or_contradicts_itself_is_asked_about(more, told):
    notes = list(doubts(patch(**more), Defaults()))
    assert bool(notes) == bool(told), notes
    assert not told or any(told in note for note in notes)


def window(x, y, wide, tall):
    """A closed oblong, mm, on the patch of 100 x 60 with an allowance of 10 mm all round."""
    return line(np.array([x, y]) + BOX * [wide, tall])


@pytest.mark.parametrize(
    ("lines", "allowance", "told"),
    [
        (window(20, 20, 20, 20), 10.0, ""),
        (window(0, 20, 20, 20), 10.0, ""),  # up to the stitching line
        (window(-6, 20, 20, 20), 10.0, "goes 6.0 mm over the stitching line at 'left'"),
        (window(-6, 20, 20, 20), 0.0, ""),  # over the card's edge, which is noted by its card
        (window(-8, 20, 6, 20), 10.0, "lies in the allowance at 'left'"),
        (window(-5, -5, 110, 70), 10.0, "goes 7.1 mm over the stitching line at "),  # a frame
        (window(90, 20, 20, 20), 10.0, ""),  # over the fold
        (window(20, 50, 20, 20), 10.0, ""),  # in a fold-over facing
    ],
)
def test_a_cut_out_that_goes_into_an_allowance_is_asked_about(lines, allowance, told):
    piece = rectangle("Patch", 100, 60, allowance, grain=UP, lines=lines)
    if not told:
        edges = [replace(e, facing=e.name == "top") for e in piece.edges]
        piece = replace(piece, edges=tuple(edges), fold="right")
    notes = [note for note in doubts(piece, Defaults()) if "cut-out" in note]
    assert len(notes) == bool(told)
    assert not told or told in notes[0]


@pytest.mark.parametrize(("cut_off", "told"), [(0.3, "'corner' is only 0.42 mm"), (2.0, "")])
def test_a_side_that_is_a_slip_of_the_drawing_is_asked_about(cut_off, told):
    """A corner cut off by 0.3 mm both ways is a side of 0.3 times the root of two."""
    ring = np.array([[0, 0], [100 - cut_off, 0], [100, cut_off], [100, 60], [0, 60], [0, 0]], float)
    names = ("foot", "corner", "right", "top", "left")
    edges = tuple(edge(name, ring[k : k + 2]) for k, name in enumerate(names))
    notes = [
        n for n in doubts(replace(patch(), edges=edges), Defaults()) if "slip of the drawing" in n
    ]
    assert len(notes) == bool(told)
    assert not told or told in notes[0]


@pytest.mark.parametrize(("wide", "tall", "told"), [(400, 60, False), (100, 400, True)])
def test_a_grain_line_is_measured_against_the_piece_along_it(wide, tall, told):
    """30 mm across a band of 60 are half of its width; up a piece of 400 they are too few."""
    notes = list(doubts(rectangle("Band", wide, tall, grain=UP), Defaults()))
    assert bool(notes) == told, notes


@pytest.mark.parametrize(("reach", "told"), [(12.0, False), (8.0, True)])
def test_a_grain_line_across_a_bias_strip_is_as_long_as_it_can_be(reach, told):
    """By hand: at 45 degrees, 35 mm hold a line of 49.5; of 1,000 mm a tenth is 73 along it."""
    line = np.array([[500.0 - reach, 17.5 - reach], [500.0 + reach, 17.5 + reach]])
    notes = list(doubts(rectangle("Strip", 1000, 35, grain=line), Defaults()))
    assert any("too short to lay" in note for note in notes) == told


@pytest.mark.parametrize(
    ("names", "told"),
    [
        (("self", "selfs"), True),
        (("self", "sel"), True),
        (("self", "Seld"), True),
        (("self", "se lf"), True),
        (("wool", "wol"), True),
        (("wool", "pool"), True),
        (("lace", "face"), False),  # two usual words
        (("body", "bod"), False),  # neither is
        (("hide", "hides"), True),
        (("shel", "shell"), True),
        (("hide", "chide"), True),
        (("hide", "bride"), False),
        (("hide", "hid"), False),
        (("net", "let"), False),  # too short
        (("cotton 1", "cotton 2"), False),
    ],
)
def test_a_short_cloth_is_a_slip_if_it_is_like_a_usual_word(names, told):
    pieces = [rectangle(name, 100, 60, grain=UP, cuts=(Cut(name),)) for name in names]
    assert bool(list(cloth_doubts(a_set(*pieces)))) == told


@pytest.mark.parametrize(
    ("top", "wide", "told"),
    [
        (40.0, 60.0, True),  # 50 mm deep in its middle, 40 at its top
        (40.0, 45.0, True),  # deeper than that in its middle
        (40.0, 38.0, False),
        (60.0, 55.0, False),
    ],
)
def test_a_facing_wider_than_the_piece_at_any_place_is_told(top, wide, told):
    """A piece 60 mm wide at its foot and `top` at its top; its right edge is folded over."""
    corners = np.array([[0.0, 0.0], [60.0, 0.0], [60.0, 200.0], [60.0 - top, 200.0]])
    names = ("foot", "right", "top", "left")
    edges = [edge(name, corners[[k, (k + 1) % 4]], 10.0) for k, name in enumerate(names)]
    facing = replace(edges[1], allowance=(wide, wide), corner=Corner.TURNED, facing=True)
    piece = replace(patch(), edges=(edges[0], facing, *edges[2:]), grain=UP * 2.0)
    notes = [note for note in doubts(piece, Defaults()) if "folded over" in note]
    assert bool(notes) == told


def test_a_hem_of_a_flared_piece_is_not_wider_than_it():
    """Its sides lean inwards by 45 degrees: square to the hem's ends they are near."""
    corners = np.array([[0.0, 0.0], [400.0, 0.0], [300.0, 100.0], [100.0, 100.0]])
    names = ("hem", "right", "top", "left")
    edges = [edge(name, corners[[k, (k + 1) % 4]], 10.0) for k, name in enumerate(names)]
    hem = replace(edges[0], allowance=(40.0, 40.0), corner=Corner.TURNED)
    piece = replace(patch(), edges=(hem, *edges[1:]), grain=UP * 2.0)
    assert not [note for note in doubts(piece, Defaults()) if "folded over" in note]


@pytest.mark.parametrize(("deep", "told"), [(4.97, 0), (4.9, 1), (4.0, 1)])
def test_a_notch_is_not_called_shallower_by_less_than_is_written(deep, told):
    """4.97 mm is written 5.0: it can't be "5.0 mm deep, not 5 mm"."""
    changes = Changes()
    changes.depth("the notch", deep, 5.0, "it is 6.0 mm there")
    assert len(changes.sentences()) == told
