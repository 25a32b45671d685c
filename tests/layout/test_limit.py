"""Laying that is stopped, or has too little time, lays every card once, and validly.

Reference: every card counted; distances by GEOS.
"""

import itertools
from dataclasses import replace

import pytest
import shapely
from cards import wavy

from plotout.layout import Stock, StockSheet, lay
from plotout.layout.nesting.filling import Filling
from plotout.layout.nesting.limit import Limit

MAT = StockSheet("mat", 610.0, 305.0, margins=(3.0,) * 4)
CARDS = wavy(14, 5)


def check(sheets):
    laid = [placed.card.id for sheet in sheets for placed in sheet.placed]
    assert sorted(laid) == sorted(card.id for card in CARDS)
    for sheet in sheets:
        shapes = [shapely.Polygon(placed.outline) for placed in sheet.placed]
        for one, other in itertools.combinations(shapes, 2):
            assert one.distance(other) > 4.0 - 0.01


@pytest.mark.parametrize("placed_first", [False, True])
@pytest.mark.parametrize("when", [1, 6, 17])
def test_ctrl_c_in_the_first_lay_keeps_what_lies(monkeypatch, when, placed_first):
    calls, settle = itertools.count(1), Filling._settle

    def stopped(self, shape, corner):
        now = next(calls) == when
        if now and not placed_first:
            raise KeyboardInterrupt
        settle(self, shape, corner)
        if now:
            raise KeyboardInterrupt

    monkeypatch.setattr(Filling, "_settle", stopped)
    check(lay(CARDS, Stock((MAT,)), gap=4, seconds=30))
    assert next(calls) < 50  # no other orders were tried


def test_a_second_ctrl_c_ends_it(monkeypatch):
    def stopped(self, shape, corner):
        raise KeyboardInterrupt

    monkeypatch.setattr(Filling, "_settle", stopped)
    with pytest.raises(KeyboardInterrupt):
        lay(CARDS, Stock((MAT,)), gap=4, seconds=0)


def test_too_little_time_lays_all_in_haste():
    check(lay(CARDS, Stock((MAT,)), gap=4, seconds=0.001))


def test_haste_finds_no_fault_in_stock_that_is_enough():
    quick = lay(CARDS, Stock((MAT,)), gap=4, seconds=0)
    enough = replace(MAT, count=len(quick) + 1)
    check(lay(CARDS, Stock((enough,)), gap=4, seconds=0.001))


def test_the_first_lay_hurries_by_the_time_given(monkeypatch):
    """By a clock of our own: ten cards took 9.5 s, so that ten more need as long."""
    now = [0.0]
    monkeypatch.setattr("plotout.layout.nesting.limit.time.monotonic", lambda: now[0])
    limit = Limit(20.0, _begun=0.0)
    limit.paced(0)
    now[0] = 9.5
    limit.paced(10)
    assert not limit.hurries(10)
    now[0] = 11.0
    assert limit.hurries(10)
    assert not limit.hurries(5)
    assert not Limit(0.0).hurries(1_000)
