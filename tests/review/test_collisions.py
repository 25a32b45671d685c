"""What would be cut into one another on a card is refused as a slip of the drawing.

All distances here are worked out by hand, from the centres and widths in each case.
"""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, rectangle

from plotout.errors import UserError, each_of
from plotout.finish.every_card import finish
from plotout.geometry.strokes import NotchKind
from plotout.pattern.model import Cut, Drill, InternalLine, Notch, Split
from plotout.pattern.settings import Defaults, NotchStyle
from plotout.review.doubts import doubts
from plotout.review.whole_set import review, with_cards

UP = np.array([[50.0, 10.0], [50.0, 40.0]])


def patch(**more):
    """A patch of 100 x 60 mm with an allowance of 10 mm."""
    return rectangle("Patch", 100, 60, 10.0, **{"grain": UP, **more})


def square(name, x, y, side):
    corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)]
    return InternalLine(name, np.array(corners, float), "cut-out")


def two(apart, *sizes, **more):
    return {
        "drills": (Drill((40.0, 30.0), sizes[0]), Drill((40.0 + apart, 30.0), sizes[1], **more))
    }


def faults_and_refusals(piece):
    """Return what `check` reports as faults, and what `make` ends with."""
    made = a_set(piece)
    told = with_cards(review(made), made).faults
    try:
        finish(made)
    except UserError as error:
        return told, [fault.in_a_line for fault in each_of(error)]
    return told, []


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (two(2.0, 4.0, 4.0), "x 40.0, y 30.0 and that at x 42.0, y 30.0 overlap by 2.0 mm"),
        (two(3.0, 4.0, 6.0), "overlap by 2.0 mm"),
        (two(0.5, 4.0, 12.0), "overlap by 7.5 mm"),
        (two(4.0, 4.0, 4.0), ""),  # they touch
        (two(0.0, 4.0, 4.0), ""),  # one hole, drawn twice: noted
        (two(2.0, 4.0, 4.0, cross=True), ""),  # a cross is drawn
        ({"drills": tuple(Drill((20.0 + 2 * k, 30.0), 3.0) for k in range(4))}, "2 more pairs"),
        ({"drills": (Drill((-9.0, 30.0), 4.0),)}, "edge: it goes 1.0 mm over it"),
        ({"drills": (Drill((-8.0, 30.0), 4.0),)}, ""),
        ({"lines": (square("a", 20, 20, 20), square("b", 30, 30, 20))}, "'b' runs into"),
        ({"lines": (square("a", 20, 20, 20), square("b", 40, 20, 20))}, ""),  # side by side
        ({"notches": (Notch("foot", 40.0),), "drills": (Drill((40.0, -7.0)),)}, "runs into a hole"),
        ({"notches": (Notch("foot", 40.0),), "drills": (Drill((48.0, -7.0)),)}, ""),
    ],
)  # fmt: skip
def test_what_cannot_be_cut_is_named_by_check_and_by_make(more, told):
    """From memory: a cut through an opening that is there already tears the card."""
    faults, refused = faults_and_refusals(patch(**more))
    assert (len(faults), len(refused)) == ((1, 1) if told else (0, 0)), (faults, refused)
    assert not told or (told in faults[0] and refused[0] == faults[0])


@pytest.mark.parametrize("kind", list(NotchKind))
def test_a_notch_of_every_kind_may_not_run_into_a_hole(kind):
    notch = Notch("foot", 40.0, style=NotchStyle(kind, 4.0, 3.0, 6.0))
    faults, _ = faults_and_refusals(patch(notches=(notch,), drills=(Drill((40.0, -7.0)),)))
    assert any("runs into a hole" in fault for fault in faults), faults


@pytest.mark.parametrize(
    ("x", "size", "told"),
    [
        (50.0, 4.0, True),  # on the line
        (51.5, 4.0, True),  # 1.5 mm beside it, with a radius of 2
        pytest.param(53.0, 4.0, False, marks=pytest.mark.thorough),
        (30.0, 4.0, True),  # on the end of the underlap, which is 20 mm wide
        (40.0, 4.0, False),  # in its middle
        pytest.param(27.0, 4.0, False, marks=pytest.mark.thorough),
        (27.0, 8.0, True),
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_hole_through_the_edge_of_a_part_is_refused(x, size, told, turned):
    """The left part ends at x 50; the right one, or the upper one, laps under it as far as x 30."""
    line = ((50.0, -20.0), (50.0, 80.0))
    grain = UP if not turned else np.array([[20.0, 15.0], [80.0, 15.0]])
    piece = patch(splits=(Split(line, 20.0),), drills=(Drill((x, 30.0), size),), grain=grain)
    faults, refused = faults_and_refusals(piece)
    assert len(faults) == len(refused) == told
    assert not told or f"ends within the drill hole at x {piece.drills[0].at[0]:.1f}" in faults[0]


def test_a_whole_piece_has_the_twin_of_a_hole_beside_its_fold():
    """1 mm from the fold, a hole of 4 mm and its mirror image lie 2 mm apart."""
    piece = patch(fold="left", cuts=(Cut("self", on_fold=True),), whole=True)
    faults, _ = faults_and_refusals(replace(piece, drills=(Drill((1.0, 30.0), 4.0),)))
    assert any("overlap by 2.0 mm" in fault for fault in faults)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ((square("a", 20, 10, 40), square("b", 30, 20, 10)), ["'b' lies in the cut-out 'a'"]),
        ((square("a", 20, 10, 40), square("b", 20, 10, 40)), ["'b' lies in the cut-out 'a'"]),
        ((square("a", 20, 10, 10), square("b", 40, 10, 10)), []),
    ],
)
def test_a_cut_out_of_which_nothing_is_left_is_asked_about(lines, told):
    notes = [note for note in doubts(patch(lines=lines), Defaults()) if "cut-out" in note]
    assert len(notes) == len(told)
    assert all(words in note for words, note in zip(told, notes, strict=True))
