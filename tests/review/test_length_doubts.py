"""Edges that are known to no useful exactness are asked about where no seam's row shows it."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, rectangle

from plotout.cli.table import finite, give_or_take
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
