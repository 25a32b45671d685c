"""Two edges of a piece with each other's names, found by the corners of two seams.

The reference is topology, as in `test_joined_ways`, and garments by common practice.
"""

import pytest

from plotout.pattern.meetings import sewn_of
from plotout.review.exchanged_edges import exchanged_edges
from plotout.review.whole_set import review

from .test_front_doubts import PAIRED
from .test_joined_ways import RIGHT, a_set, wrong

SADDLE = """Front fold cf: hem side armhole saddle neck cf; Rib: foot right top left;
    Back fold cb: hem side armhole saddle neck cb;
    Sleeve pair: wrist front front-cap front-saddle neck back-saddle back-cap back |
    side: Front side = Back side; under: Sleeve front = Sleeve -back;
    front saddle: Sleeve front-saddle = Front saddle; ends: Rib right = Rib -left;
    back saddle: Sleeve -back-saddle = Back saddle; front arm: Sleeve front-cap = Front armhole;
    back arm: Sleeve -back-cap = Back armhole;
    neck: Front -neck, Sleeve neck, Back neck = Rib foot"""
EXCHANGED = wrong(
    "front-saddle neck back-saddle back-cap",
    "back-saddle neck front-saddle back-cap",
    SADDLE,
)


def asked(text):
    made = a_set(text)
    return list(exchanged_edges(made.seams, sewn_of(made.seams, made.piece), made))


def test_the_ends_of_a_saddle_that_are_exchanged_are_asked_about():
    (note,) = asked(EXCHANGED)
    assert note == (
        "Sleeve: as 'back-saddle' and 'front-saddle' are sewn, they contradict the other seams at "
        "2 corners; in each other's place they would fit, and they are about as long: are their "
        "names exchanged?"
    )
    assert note in review(a_set(EXCHANGED)).notes


@pytest.mark.parametrize("text", [SADDLE, *RIGHT.values(), *PAIRED.values()])
def test_sets_that_are_right_are_not_asked(text):
    assert asked(text) == []


def test_edges_that_are_not_as_long_are_not_asked_about():
    """Their seams don't match then, which is a fault."""
    made = a_set(EXCHANGED)
    own = made.piece("Sleeve")
    points = own.edge("neck").points
    points[-1] += 30.0  # and with it the start of 'front-saddle'
    assert list(exchanged_edges(made.seams, sewn_of(made.seams, made.piece), made)) == []
