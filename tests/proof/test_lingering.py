"""A beam that stays about one place; the places and times are counted by hand."""

import math

import numpy as np
import pytest

from plotout import Traced
from plotout.proof.lingering import Lingering

TO_AND_FRO = [(10.0 + 0.05 * (n % 2), 10.0) for n in range(60)]  # 59 legs of 0.05 mm
TINY = [(20 + 0.1 * math.cos(n), 20 + 0.1 * math.sin(n)) for n in np.linspace(0, 4 * math.pi, 80)]
ROUND = [
    (7 + 0.3 * math.cos(n), 7 + 0.3 * math.sin(n)) for n in np.arange(3200) * math.pi / 40.0
]  # a circle, 40 turns


@pytest.mark.parametrize(
    ("points", "feed", "stays"),
    [
        (TO_AND_FRO, 1.0, True),  # 2.95 mm: 2.95 s
        (TO_AND_FRO, 2.0, False),  # 1.475 s
        (TINY, 0.6, True),  # two turns of 0.63 mm: 2.1 s
        (TINY, 0.7, False),  # 1.8 s
        ([(x, 5.0) for x in np.linspace(0, 3, 50)], 0.6, False),  # 5 s, but it goes along
        ([(0, 0), (0.3, 0)] * 40, 1.0, True),
        ([(0, 0), (1, 0)] * 40, 1.0, True),  # 0.3 mm to both sides of its middle: 6 s of 10
        ([(0, 0), (2, 0)] * 300, 20.0, True),  # 0.6 mm of 2: 3 s of 10
        ([(0, 0), (4, 0)] * 150, 20.0, False),  # 1.5 s of 10
        ([(0, 0), (6, 0)] * 40, 1.0, False),  # 0.6 s three times in 10 s at most: 1.8 s
        (ROUND, 4.0, True),  # a sixth of its turn to both sides of a place: a third of 10 s
        (ROUND[:400], 4.0, False),  # 5 turns of 1.9 mm: 2.4 s, a third of it 0.8 s
    ],
)
def test_a_beam_may_stay_about_one_place_for_two_seconds(points, feed, stays):
    found = Lingering()
    found.add([Traced([(50, 50), (60, 50)], feed=feed), Traced(points, feed=feed, power=40.0)])
    assert bool(found.words()) is stays
    assert found.at is None or math.dist(found.at, points[0]) < 1.8


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


@pytest.mark.parametrize(
    ("apart", "between", "stays"),
    [
        (0.0, 2.0, True),  # twice 1.3 s within 4.6 s
        (0.0, 12.0, False),  # within 14.6 s
        (0.4, 2.0, True),  # both within 0.2 mm of a place between them
        (0.8, 2.0, False),
    ],
)
@pytest.mark.parametrize("at_once", [True, False])
def test_waits_at_a_place_to_which_the_beam_comes_back_are_added(apart, between, stays, at_once):
    """It goes away, 1 mm/s for as long as that, and back; read in one part, or in several. The time
    within 0.3 mm on its way counts, too: 1.3 + 0.6 s.
    """
    away = (0.0, between / 2.0)
    strokes = [
        Traced([(0, 0), away, (apart, 0)], feed=1.0, waits=1.3),
        Traced([(apart, 0), (apart, 5), (60, 5)], feed=30.0, follows=True, waits=1.3),
    ]
    found = Lingering()
    for part in [strokes] if at_once else [[one] for one in strokes]:
        found.add(part)
    assert bool(found.words()) is stays
