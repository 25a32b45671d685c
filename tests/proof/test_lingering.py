"""A beam that stays about one place; the places and times are counted by hand."""

import math

import numpy as np
import pytest

from plotout import Traced
from plotout.proof.lingering import Lingering

TO_AND_FRO = [(10.0 + 0.05 * (n % 2), 10.0) for n in range(60)]  # 59 legs of 0.05 mm
TINY = [(20 + 0.1 * math.cos(n), 20 + 0.1 * math.sin(n)) for n in np.linspace(0, 4 * math.pi, 80)]


@pytest.mark.parametrize(
    ("points", "feed", "stays"),
    [
        (TO_AND_FRO, 1.0, True),  # 2.95 mm: 2.95 s
        (TO_AND_FRO, 2.0, False),  # 1.475 s
        (TINY, 0.6, True),  # two turns of 0.63 mm: 2.1 s
        (TINY, 0.7, False),  # 1.8 s
        ([(x, 5.0) for x in np.linspace(0, 3, 50)], 0.6, False),  # 5 s, but it goes along
        ([(0, 0), (1, 0)] * 40, 1.0, False),  # 40 s over a line of 1 mm: nowhere for over 0.6 s
        ([(0, 0), (0.3, 0)] * 40, 1.0, True),
    ],
)
def test_a_beam_may_stay_about_one_place_for_two_seconds(points, feed, stays):
    found = Lingering()
    found.add([Traced([(50, 50), (60, 50)], feed=feed), Traced(points, feed=feed, power=40.0)])
    assert bool(found.words()) is stays
    assert found.at is None or math.dist(found.at, points[0]) < 0.31


def test_strokes_at_one_place_are_added_and_an_unlit_beam_is_not():
    """Ten strokes of 0.3 s each within 0.1 mm."""
    each = [Traced([(5, 5), (5.1, 5), (5, 5), (5.1, 5)], feed=1.0, power=p) for p in (10.0, 0.0)]
    for one, stays in zip(each, (True, False), strict=True):
        found = Lingering()
        found.add([one] * 10)
        assert bool(found.words()) is stays


@pytest.mark.parametrize(
    ("before", "after", "waits", "stays"),
    [
        (19, 0, 1.9, True),  # 1.9 s to and fro, and 1.9 s at a standstill
        (0, 19, 1.9, True),
        (9, 9, 0.3, True),  # 0.9 + 0.3 + 0.9 s
        (9, 9, 0.1, False),  # 1.9 s
        (0, 0, 2.1, True),
        (0, 0, 1.9, False),
    ],
)
def test_waits_and_moves_about_one_place_are_added(before, after, waits, stays):
    """Legs of 0.1 mm at 1 mm/s; then the beam goes along."""
    found = Lingering()
    first = [(0.1 * (n % 2), 0.0) for n in range(before + 1)]
    then = [(first[-1][0] + 0.1 * (n % 2), 0.0) for n in range(after + 1)]
    found.add(
        [Traced(first, feed=1.0), Traced([*then, (9, 9)], feed=60.0, follows=True, waits=0.0)]
    )
    assert not found.words()
    found = Lingering()
    found.add([Traced(first, feed=1.0), Traced(then, feed=1.0, follows=True, waits=waits)])
    assert bool(found.words()) is stays
