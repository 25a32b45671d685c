"""A mitten's thumb that is set in by the wrong one of its edges: that which closes it.

Thumb and hole are 60 mm all round, by hand, so that no length shows it.
"""

import pytest

from plotout.review.twice_sewn import twice_sewn

from .test_own_edge_doubts import PAIR, made_of, piece, seam

PALM = piece(
    "Palm",
    [[0, 0], [100, 0], [100, 60], [100, 120], [100, 170], [50, 230], [0, 170]],
    "wrist low hole up tip top outer",
    PAIR,
)


def thumb(high=60, cut=PAIR, more=""):
    points = [[0, 0], [60, 0], [60, high], [30, high + 30], [0, high]]
    grain = "[[30, 10], [30, 50]]"
    return piece("Thumb", points, "base front tip top back", cut, more, grain=grain)


THUMB = thumb()


def asked(set_in, thumb=THUMB, close=("Thumb front", "Thumb -back"), ease="0 mm"):
    made = made_of(PALM, thumb, seam("thumb", *close), seam("set in", set_in, "Palm -hole", ease))
    return list(twice_sewn(made.seams, made))


@pytest.mark.parametrize("edge", ["front", "back"])
def test_a_thumb_set_in_by_the_edge_that_closes_it_is_asked_about(edge):
    assert asked(f"Thumb {edge}") == [
        f"seam 'set in': it sews '{edge}' of 'Thumb' to 'Palm', but seam 'thumb' sews it to its "
        "own piece, and 'base', as long, is in no seam: is one of them wrong?"
    ]


def test_one_set_in_by_its_base_is_not():
    assert asked("Thumb base") == []


@pytest.mark.parametrize(("high", "told"), [(64, 1), (66, 0)])
def test_what_is_sewn_in_with_a_closing_seam_is_not_if_no_free_edge_is_as_long(high, told):
    """A tolerance of 0.5 mm and an ease of 5: edges of 60 and 64 mm are alike, but not 66."""
    assert len(asked("Thumb front", thumb(high), ease="5 mm")) == told


def test_a_hem_is_not_free():
    hem = 'edge = { base = { allowance = "25 mm", corner = "turned back" } }\n'
    assert asked("Thumb front", thumb(more=hem)) == []


def test_a_left_closed_to_its_right_counts_too():
    assert len(asked("Thumb front", close=("Thumb front", "Thumb front"))) == 1
