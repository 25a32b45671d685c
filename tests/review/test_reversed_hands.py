"""A front in two unlike pieces: one is the body's left, one its right, by their seams: topology."""

from dataclasses import replace

import pytest

from plotout.pattern.meetings import sewn_of
from plotout.review.reversed_hands import reversed_hands

from .test_joined_ways import a_set

WRAP = """Back fold cb: hem side arm shoulder neck cb;
    Over: hem left arm shoulder neck right;
    Under: hem front neck shoulder arm side |
    left: Over left = Back side; right: Over right = Back -side;
    shoulder: Over shoulder = Back shoulder; other: Under shoulder = Back -shoulder"""


def asked(*turned):
    made = a_set(WRAP)
    pieces = [
        replace(p, cuts=tuple(replace(cut, reversed=p.name in turned) for cut in p.cuts))
        for p in made.pieces
    ]
    made = replace(made, pieces=tuple(pieces))
    return list(reversed_hands(sewn_of(made.seams, made.piece), made))


@pytest.mark.parametrize("turned", ["Over", "Under"])
def test_one_of_two_fronts_that_is_reversed_is_asked_about(turned):
    assert asked(turned) == [
        f"seams 'shoulder' and 'other': as '{turned}' is reversed, 'shoulder' of one half of "
        "'Back' is sewn to 'Over' and 'Under', and that of the other half to nothing: "
        "is that right?"
    ]


@pytest.mark.parametrize("turned", [(), ("Over", "Under")])
def test_both_or_neither_are_not(turned):
    assert asked(*turned) == []
