"""Lays that close up. Reference: the strip that the cards were cut from, sums by hand, GEOS."""

import itertools

import numpy as np
import pytest
import shapely
import shapely.affinity
from shapely.ops import split

from plotout.layout.nesting.compaction import closed_up

HEIGHT = 600.0


def moved(cards, shifts):
    return [
        shapely.affinity.translate(card, *shift)
        for card, shift in zip(cards, shifts.tolist(), strict=True)
    ]


def overlap(cards):
    return sum(one.intersection(other).area for one, other in itertools.combinations(cards, 2))


def cut_up(seed):
    """A full strip, 1200 mm long, cut by straight lines at random."""
    rng = np.random.default_rng(seed)
    parts = [shapely.box(0, 0, 1200, HEIGHT)]
    while len(parts) < 12:
        parts.sort(key=lambda part: part.area)
        whole = parts.pop()
        x, y = whole.centroid.coords[0]
        away = rng.uniform(-3000, 3000, 2)
        side = shapely.LineString([(x - away[0], y - away[1]), (x + away[0], y + away[1])])
        parts += split(whole, side).geoms
    return parts


@pytest.mark.parametrize("seed", range(4))
def test_what_was_pulled_apart_closes_up_again(seed):
    parts = cut_up(seed)
    apart = [shapely.affinity.translate(p, p.centroid.x / 20, p.centroid.y / 20) for p in parts]
    closed = moved(apart, closed_up(apart, 1.05 * HEIGHT))
    length = shapely.bounds(closed)[:, 2].max()
    assert 1200.0 / 1.05 < length < 1200.01  # not less than by area; as it was, or shorter
    assert overlap(closed) < 1e-6


def test_rows_close_up_to_the_longest_one():
    """By hand: three squares of 100 mm in one row, two of 120 mm in the other."""
    rows = [(20, 0, 100), (160, 30, 100), (290, 0, 100), (15, 300, 120), (200, 310, 120)]
    cards = [shapely.box(x, y, x + size, y + size) for x, y, size in rows]
    closed = moved(cards, closed_up(cards, HEIGHT))
    assert shapely.bounds(closed)[:, 2].max() == pytest.approx(300.0, abs=1e-4)


def test_a_card_slides_into_the_bay_of_another():
    """By hand: a bar of 100 by 40 mm and a U, 100 mm deep, whose bay is 50 mm wide."""
    bay = shapely.Polygon(
        [(0, 0), (130, 0), (130, 30), (30, 30), (30, 80), (130, 80), (130, 110), (0, 110)]
    )
    bar = shapely.box(90, 35, 190, 75)
    closed = moved([bay, bar], closed_up([bay, bar], HEIGHT))
    assert shapely.bounds(closed)[:, 2].max() == pytest.approx(130.0, abs=1e-4)
    assert overlap(closed) == 0.0


def test_cards_that_hold_one_another_move_together():
    """By hand: a wedge can go left only as the block on its slope goes up, as far as the strip is
    high: 30 mm of height are 60 mm along a slope of one in two.
    """
    wedge = shapely.Polygon([(100, 0), (500, 0), (500, 200)])
    block = shapely.Polygon([(0, 0), (100, 0), (300, 100), (300, 170), (0, 170)])
    cards = [wedge, block]
    closed = moved(cards, closed_up(cards, 200.0))
    assert shapely.bounds(closed)[:, 2].max() == pytest.approx(440.0, abs=1e-3)
    assert overlap(closed) == 0.0


@pytest.mark.parametrize("seed", range(3))
def test_cards_stay_within_the_strip_and_apart(seed):
    rng = np.random.default_rng(seed)
    cards = []
    for column, row in itertools.product(range(5), range(4)):
        angle = np.sort(rng.uniform(0, 2 * np.pi, 9))
        away = rng.uniform(20, 70, 9)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        card = shapely.Polygon(away).buffer(0)
        if card.geom_type == "Polygon":
            cards.append(shapely.affinity.translate(card, 75 + 150 * column, 75 + 150 * row))
    closed = moved(cards, closed_up(cards, HEIGHT))
    low, high = shapely.bounds(closed)[:, :2].min(axis=0), shapely.bounds(closed)[:, 3].max()
    assert (low > -1e-6).all()
    assert high < HEIGHT + 1e-6
    assert overlap(closed) == 0.0
    assert shapely.bounds(closed)[:, 2].max() < shapely.bounds(cards)[:, 2].max() - 50.0
