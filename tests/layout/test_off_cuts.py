"""Off-cuts are used up where that saves sheets, and only there. Reference: sums by hand."""

from __future__ import annotations

from itertools import permutations

import pytest
from cards import box

from plotout.layout import Stock, StockSheet, lay

LARGE, SMALL = box(290.0, 190.0, 1), box(140.0, 190.0, 2)
SHEET = StockSheet("sheet", 600.0, 400.0)
OFF_CUTS = [
    StockSheet(f"off-cut {number}", 300.0, 200.0, count=1, off_cut=True) for number in (1, 2)
]


def used(cards: list, *kinds: StockSheet, seconds: float = 0.0) -> list[str]:
    return sorted(sheet.stock for sheet in lay(cards, Stock(kinds), gap=5.0, seconds=seconds))


@pytest.mark.parametrize("kinds", list(permutations([SHEET, *OFF_CUTS])))
def test_two_off_cuts_rather_than_a_sheet(kinds):
    cards = [box(290.0, 190.0, number) for number in (1, 2)]
    assert used(cards, *kinds) == ["off-cut 1", "off-cut 2"]
    assert used(cards[:1], *kinds) in (["off-cut 1"], ["off-cut 2"])


def test_no_off_cut_is_begun_that_saves_no_sheet():
    four = [box(590.0, 190.0, 1), *(box(190.0, 190.0, number) for number in (2, 3, 4))]
    assert used(four, SHEET, *OFF_CUTS) == ["sheet"]


@pytest.mark.parametrize("seconds", [0.0, 1.0])
def test_as_many_off_cuts_as_save_a_sheet(seconds):
    # a sheet holds four of the cards, an off-cut one: of five one is left, of six two
    for many, off_cuts in ((5, 1), (6, 2)):
        cards = [box(290.0, 190.0, number) for number in range(1, many + 1)]
        wanted = [f"off-cut {number}" for number in range(1, off_cuts + 1)]
        found = used(cards, SHEET, *OFF_CUTS, seconds=seconds)
        assert found[off_cuts:] == ["sheet"]
        assert len(found) == off_cuts + 1
        assert off_cuts == 1 or found[:2] == wanted


def test_an_off_cut_is_not_replaced_by_a_smaller_sheet():
    small = StockSheet("sheet", 295.0, 195.0)
    assert used([LARGE], OFF_CUTS[0], small) == ["off-cut 1"]
    assert used([LARGE, SMALL], OFF_CUTS[0], small) == ["off-cut 1", "sheet"]
