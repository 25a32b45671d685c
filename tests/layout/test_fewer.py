"""Fewer sheets: as few as can be where that is known, and every card as it was.

References: sums of lengths; the cards' area; distances by GEOS.
"""

import itertools

import pytest
import shapely
from cards import box, wavy

from plotout.layout import Stock, StockSheet, lay
from plotout.layout.nesting.fewer import on_fewer
from plotout.layout.nesting.limit import Limit
from plotout.layout.nesting.pack import pack
from plotout.layout.nesting.prepared import prepared

GAP = 4.0


def least(cards, sheet, most):
    """How many sheets are found, and before; without a clock."""
    task = prepared(cards, Stock((sheet,)), GAP)
    first, _ = pack(sorted(task.turned, key=lambda shapes: -shapes[0].area), task.grounds)
    found = on_fewer(first, task.turned, task.grounds[0], Limit(0.0), 1, lambda _share: None, most)
    return min((len(sheets) for sheets in found), default=len(first)), len(first)


def test_cards_that_large_ones_first_lay_badly_fill_their_sheets():
    """Each sheet is as high as a card and holds 400 + 300 + 300 mm; 400 + 400 wastes the rest."""
    cards = [box(400 if n <= 4 else 300, 200, n) for n in range(1, 13)]
    assert least(cards, StockSheet("card", 1010.0, 202.0), 5_000) == (4, 5)


@pytest.mark.parametrize("grain", ["", "width"])
def test_what_is_found_is_a_right_lay(grain):
    sheet = StockSheet("card", 610.0, 305.0, margins=(3.0,) * 4, grain=grain)
    cards = wavy(8, 14)
    sheets = lay(cards, Stock((sheet,)), gap=GAP, seconds=1.5)
    laid = [placed for each in sheets for placed in each.placed]
    assert sorted(placed.card.number for placed in laid) == list(range(1, 15))
    assert {placed.angle for placed in laid} <= ({0.0, 180.0} if grain else {0, 90, 180, 270})
    for each in sheets:
        shapes = [shapely.Polygon(placed.outline) for placed in each.placed]
        assert all(shapely.box(3, 3, 607, 302).buffer(0.01).covers(one) for one in shapes)
        for one, other in itertools.combinations(shapes, 2):
            assert one.distance(other) > GAP - 0.01
        for placed, shape in zip(each.placed, shapes, strict=True):  # no card is face down
            assert shape.exterior.is_ccw == shapely.Polygon(placed.card.outline).exterior.is_ccw
    bound = sum(shapely.Polygon(one.outline).area for one in cards) / (604.0 * 299.0)
    assert len(sheets) >= bound
