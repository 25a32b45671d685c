"""The ring of stabs around a corner (plane geometry): its middle, and what is no stab of it."""

import numpy as np
import pytest
from plotout_photo.groups import grouped
from plotout_photo.ring import of_lines

RADIUS = 1.25  # mm


def ring(count, turn=0.3):
    way = turn + 2.0 * np.pi * np.arange(count) / count
    return RADIUS * np.column_stack([np.cos(way), np.sin(way)])


@pytest.mark.parametrize("unseen", range(4))
def test_a_corner_with_one_stab_of_four_unseen_is_nearly_in_the_middle_of_all(unseen):
    (corner,) = grouped(np.delete(ring(4), unseen, axis=0) + 100.0, frozenset())
    assert np.hypot(*(corner.at - 100.0)) < 0.12 * RADIUS  # their mean is off by a third of it


@pytest.mark.parametrize("count", [3, 4, 5])
def test_a_corner_whose_stabs_are_all_seen_is_in_their_middle(count):
    (corner,) = grouped(ring(count) + 100.0, frozenset())
    assert corner.at == pytest.approx([100.0, 100.0], abs=0.01)


def test_stabs_that_are_nearly_as_certain_as_one_another_place_their_corner_together():
    places, sure = ring(4) + 100.0, np.array([0.42, 0.37, 0.44, 0.44])  # beside writing
    assert grouped(places, frozenset(), sure)[0].at == pytest.approx([100.0, 100.0], abs=0.01)


@pytest.mark.parametrize(
    ("far", "pale", "lined", "own"),
    [
        (0.15, 0.6, True, True),  # where the lines cross
        (0.15, 0.6, False, False),  # a hole amid others, on no line
        (0.15, 1.0, True, False),  # a hole amid others, as dark
        (1.9, 0.6, True, True),  # where a line goes on beyond the corner
        (1.9, 0.9, True, False),
        (1.0, 0.6, True, False),  # a finer stab of the same ring
    ],
)
def test_what_a_line_leaves_amid_stabs_or_beyond_them_is_no_stab(far, pale, lined, own):
    spot = far * RADIUS * np.array([[np.cos(1.3), np.sin(1.3)]])
    at, depth = np.vstack([ring(4), spot]), np.array([0.8, 0.75, 0.8, 0.7, 0.77 * pale])
    on_line = np.array([True, False, True, False, lined])
    made = of_lines(at, depth, on_line, np.ones(5, dtype=bool))
    assert made.tolist() == [False] * 4 + [own]
