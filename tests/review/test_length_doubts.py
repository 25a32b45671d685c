"""Edges that are known to no useful exactness are asked about where no seam's row shows it."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, rectangle

from plotout.cli.table import finite, give_or_take
from plotout.geometry.sureness import Otherwise
from plotout.pattern.accuracy import known_in_words
from plotout.pattern.model import Seam, Side
from plotout.review.whole_set import review


def patch(**known):
    piece = rectangle("Patch", 100, 60, grain=np.array([[50.0, 10.0], [50.0, 50.0]]))
    edges = tuple(replace(edge, known_to=known.get(edge.name, 0.3)) for edge in piece.edges)
    return replace(piece, edges=edges)


def asked(piece, *seams):
    return [
        note for note in review(a_set(piece, seams=seams)).notes if "60.0 mm of 'right'" in note
    ]


@pytest.mark.parametrize(
    ("known", "told"),
    [
        ({"right": 4.9}, ""),
        ({"right": 12.0}, "are known only to 12.0 mm: prick it more densely"),
        ({"right": np.inf}, "are not known: prick it more densely"),
        ({"right": 1150.0}, "are not known: prick it more densely"),
        ({"right": 12.0, "top": 12.0}, "its pricks don't show where 'top' begins"),
        ({"right": 12.0, "foot": 11.0}, "its pricks don't show where 'foot' begins"),
    ],
)
def test_an_edge_that_is_hardly_known_is_asked_about(known, told):
    """What is made to its length, a facing or a placket, would be as far off."""
    found = asked(patch(**known))
    assert len(found) == bool(told)
    assert all(told in note for note in found)


@pytest.mark.parametrize(
    ("known", "longer", "chance", "told"),
    [
        (12.0, 6.0, 0.22, "are known only to 12.0 mm: they are 66.0 mm if prick 1 strayed (22 %)"),
        (12.0, 6.0, 0.03, "don't show where 'top' begins"),
        (12.0, 2.0, 0.22, "don't show where 'top' begins"),
        (2.0, -6.0, 0.1, "are 54.0 mm if prick 1 strayed (10 %), which its pricks don't show"),
        (2.0, -6.0, 0.05, ""),
        (2.0, -2.0, 0.5, ""),
    ],
)
def test_a_prick_that_may_have_strayed_is_named_before_any_advice(known, longer, chance, told):
    """A curve through a stray at its end may look as if it met its neighbour smoothly."""
    piece = patch(right=known, top=known)
    strayed = Otherwise("prick 1 strayed", longer, 1.0, chance)
    edges = [
        replace(edge, otherwise=(strayed,)) if edge.name == "right" else edge
        for edge in piece.edges
    ]
    found = asked(replace(piece, edges=tuple(edges)))
    assert len(found) == bool(told)
    assert all(told in note for note in found)
    assert all("tangent" not in note or "strayed" not in note for note in found)


def test_a_left_sewn_to_a_right_of_the_same_edge_does_not_show_how_long_it_is():
    same = Side((("Patch", "right", False),))
    assert len(asked(patch(right=12.0), Seam("crotch", same, same))) == 1


def test_an_edge_that_is_compared_is_left_to_its_seam():
    sides = Side((("Patch", "right", False),)), Side((("Patch", "left", True),))
    assert asked(patch(right=12.0), Seam("side", *sides)) == []


@pytest.mark.parametrize(
    ("known", "shown", "figure"),
    [(0.0, "", 0.0), (3.44, "± 3.4", 3.44), (1150.0, "not known", None),
     (np.inf, "not known", None)],
)  # fmt: skip
def test_what_says_nothing_is_shown_in_words(known, shown, figure):
    """In a garment, 1.15 m more or less is no figure (common practice)."""
    assert (give_or_take(known), finite(known)) == (shown, figure)
    words = known_in_words(known)
    assert ("mm (two sigma)" in words) == (figure is not None)
