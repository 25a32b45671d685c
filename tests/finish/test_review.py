"""What is told of a set before it is cut: sets made wrong on purpose, each fault by hand."""

from dataclasses import replace

import numpy as np
import pytest

from plotout.errors import Place, UserError
from plotout.finish.review import review, with_cards
from plotout.pattern.model import Cut, Notch, Seam, Side, Trued

from .conftest import a_set, rectangle

UP = np.array([[50.0, 10.0], [50.0, 40.0]])


def sound(name="Patch", **more):
    return rectangle(name, 100, 60, **{"grain": UP, **more})


def seam(first, second):
    sides = [Side(((piece, edge, False),)) for piece, edge in (first, second)]
    return Seam("side", *sides)


def test_a_sound_set_is_silent():
    found = review(a_set(sound()))
    assert (found.faults, found.notes, found.asked) == ((), (), 0)
    assert with_cards(found, a_set(sound())) == found


@pytest.mark.parametrize(
    ("piece", "told"),
    [
        (sound(grain=None), "Patch: it has no grain line"),
        (sound(cuts=()), "Patch: nothing is cut with it"),
        (sound(notes=("pricks 3 and 4 are one",)), "Patch: pricks 3 and 4 are one"),
        (rectangle("Patch", 500, 900, 322.6, grain=UP), "is 322.6 mm: is its unit right?"),
    ],
)
def test_what_a_piece_lacks_is_told(piece, told):
    assert any(told in note for note in review(a_set(piece)).notes)


def test_cloths_that_differ_by_a_capital_are_told():
    pieces = (sound("A"), sound("B", cuts=(Cut("Self"),)), sound("C", cuts=(Cut("lining"),)))
    notes = review(a_set(*pieces)).notes
    assert notes == ("'self' and 'Self' are treated as different cloths: use one spelling",)


def test_faults_of_pieces_truings_and_seams_are_told_together():
    off = Trued("square", ("foot", "left"), 1.4, 1.4, 0.5)
    pieces = (
        sound("A", trued=(off,), faults=(UserError("no fold", place=Place(piece="A")),)),
        sound("B"),
    )
    made = a_set(*pieces, seams=(seam(("A", "foot"), ("B", "left")),))
    found = review(made)
    assert found.asked == 2
    assert [fault.split(":")[0] for fault in found.faults] == ["A", "A", "seam 'side'"]
    assert "40.0 mm too long: 100.0 mm of 'A' to 60.0 mm of 'B'" in found.faults[2]


def test_what_notching_changes_is_known_before_a_card_is_made():
    piece = replace(sound(), notches=(Notch("foot", 0.0, 2),))
    made = a_set(piece)
    (told,) = with_cards(review(made), made).notes
    assert told.startswith("Patch: the double notch at 0 mm on 'foot' is moved 3.0 mm")


@pytest.mark.parametrize(
    ("wide", "told"),
    [
        ((6.0, 6.0), [("A", "C")]),  # the second half of the side is sewn to 10 mm
        ((6.0, 10.0), []),  # tapered as its partners are, within 3 mm
        ((10.0, 10.0), [("A", "B")]),
    ],
)
def test_allowances_are_compared_where_pieces_are_sewn_together(wide, told):
    """A foot of 200 mm, sewn to B's of 100 mm with 6 mm and C's of 100 mm with 10."""
    pieces = [
        rectangle(name, width, 60, 6, grain=UP)
        for name, width in zip("ABC", (200, 100, 100), strict=False)
    ]
    for index, widths in ((0, wide), (2, (10.0, 10.0))):
        foot = replace(pieces[index].edges[0], allowance=widths)
        pieces[index] = replace(pieces[index], edges=(foot, *pieces[index].edges[1:]))
    name = pieces[0].edges[0].name
    sides = [Side(((piece, name, False),)) for piece in "AB"]
    sides[1] = Side((("B", name, False), ("C", name, False)))
    notes = review(a_set(*pieces, seams=(Seam("foot", *sides),))).notes
    assert [note for note in notes if "allowance is" in note] == [
        note for note in notes if any(f"on '{a}'" in note and f"on '{b}'" in note for a, b in told)
    ]
    assert len([note for note in notes if "allowance is" in note]) == len(told)
