"""Darts that are cut out, and those that are too narrow for it and are marked.

By hand: an allowance of 10 mm beside both legs fills a dart of less than 20 mm at its mouth, less
what they lean. That a dart may be sewn without being cut out, and that notches at its mouth and a
hole at its point show it then, is common practice, from memory.
"""

import pytest
from shapely.geometry import Polygon

from plotout.finish.every_card import finish
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review, with_cards
from plotout.tables import parse_toml

SKIRT = """[set]
name = "Skirt"
style = "SK-1"
[defaults]
allowance = 10
[[piece]]
name = "Back"
points = [[0, 0], [260, 0], [240, 600], [{right}, 600], [130, 470], [{left}, 600], [0, 600]]
edges = ["hem", "side", "waist side", "dart side", "dart centre", "waist centre", "centre"]
fold = "centre"
grain = {{ along = "centre", inset = 40 }}
cut = {{ cloth = "self", on-fold = true }}
{more}
"""
SEAM = """
[[seam]]
name = "dart"
first = { piece = "Back", edges = "dart side" }
second = { piece = "Back", edges = "-dart centre" }
"""
HOLE = "[[piece.drill]]\nat = [130, {}]\n"
NO_NOTCHES = "".join(
    f'[piece.edge."{edge}"]\nseam-notches = false\n' for edge in ("dart side", "dart centre")
)


def read(wide, more=SEAM):
    text = SKIRT.format(left=130 - wide / 2, right=130 + wide / 2, more=more)
    made = setfile.of(parse_toml(text, "set file"))
    return read_drawings(made, lambda *_: None).in_size()


def reviewed(wide, more=SEAM):
    whole = read(wide, more)
    return with_cards(review(whole), whole)


@pytest.mark.parametrize("wide", [12, 18])
def test_a_narrow_dart_is_marked_and_not_blamed(wide):
    found = reviewed(wide)
    assert not found.faults
    (note,) = [note for note in found.notes if "the dart" in note]
    assert note == (
        "Back: the dart of 'dart side' and 'dart centre' is not cut out: its allowances fill it, "
        "and it has yet to be marked: add a [[piece.drill]] near x 130 mm, y 470 mm for its point"
    )
    card = finish(read(wide))[0]
    wedge = Polygon([(130, 470), (130 + wide / 2, 600), (130 - wide / 2, 600)])
    assert Polygon(card.outline).covers(wedge)


@pytest.mark.parametrize("up", [470, 480, 455])
def test_with_a_hole_at_its_point_it_is_marked(up):
    found = reviewed(18, HOLE.format(up) + SEAM)
    assert not found.faults
    (note,) = [note for note in found.notes if "the dart" in note]
    assert note.endswith("its allowances fill it; notches show its mouth, and a hole its point")
    assert not [note for note in found.notes if "?" in note or "left out" in note]


def test_both_darts_of_a_piece_that_is_opened_are_known():
    found = reviewed(18, "whole = true\n" + HOLE.format(470) + SEAM)
    assert not found.faults
    assert sum("the dart of" in note for note in found.notes) == 2


def test_without_notches_at_its_mouth_these_are_asked_for():
    (note,) = [
        n for n in reviewed(18, HOLE.format(470) + NO_NOTCHES + SEAM).notes if "dart of" in n
    ]
    assert note.endswith("it has yet to be marked: add notches for its mouth")


def test_a_wide_dart_is_cut_out_without_a_note():
    found = reviewed(40)
    assert not found.faults
    assert not [note for note in found.notes if "the dart" in note]


def test_what_no_seam_closes_is_a_gap_that_the_card_does_not_show():
    (fault,) = reviewed(18, "").faults
    assert "'dart side' and 'dart centre' meet and fill the gap" in fault
    assert fault.endswith(
        "of a dart that is only to be marked, list the seam of one leg to the other"
    )


@pytest.mark.parametrize(("at", "asked"), [((130, 470), 0), ((130, 500), 0), ((235, 605), 1)])
def test_a_hole_of_a_dart_is_where_it_should_be(at, asked):
    found = reviewed(18, f"[[piece.drill]]\nat = {list(at)}\nsize = 2\n{SEAM}")
    assert sum("is its place right?" in note for note in found.notes) == asked
