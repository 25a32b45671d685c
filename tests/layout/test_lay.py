"""Lays, checked with shapely on the cards' true outlines: apart by the gap, inside, all there."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from cards import box, card, slanting, wavy
from hypothesis import given, settings
from hypothesis import strategies as st
from smallset import small_set

from plotout import Card, Mark, Placed, Sheet, Stroke, UserError, Work, job
from plotout.finish import finish
from plotout.layout import Stock, StockSheet, as_stock, lay, left_over
from plotout.layout.nesting import filling
from plotout.layout.nesting.check import faults
from plotout.layout.nesting.left_over import largest_rectangle
from plotout.layout.nesting.shape import slid
from plotout.layout.registration.corner_marks import mark_rooms

MAT = StockSheet("mat", 610.0, 305.0, margins=(3.0, 3.0, 3.0, 3.0))
ROLL = StockSheet("roll", 10_000.0, 610.0, margins=(10.0,) * 4, roll=True)


def check(sheets: Sequence[Sheet], cards: Sequence[Card], gap: float, margin: float) -> None:
    laid = [placed.card.id for sheet in sheets for placed in sheet.placed]
    assert sorted(laid) == sorted(each.id for each in cards)
    for sheet in sheets:
        whole = (
            shapely.box(0, 0, sheet.width, sheet.height)
            if sheet.outline is None
            else shapely.Polygon(sheet.outline)
        )
        inner = whole.buffer(-margin + 0.01, join_style="mitre")
        shapes = [shapely.Polygon(placed.outline) for placed in sheet.placed]
        for placed, shape in zip(sheet.placed, shapes, strict=True):
            assert inner.covers(shape)
            given_shape = shapely.Polygon(placed.card.outline)
            assert shape.area == pytest.approx(given_shape.area)  # neither scaled ...
            turn = np.radians(placed.angle)
            expected = placed.card.outline @ [
                [np.cos(turn), np.sin(turn)],
                [-np.sin(turn), np.cos(turn)],
            ] + np.array(placed.shift)
            assert placed.outline == pytest.approx(expected)  # ... nor mirrored
        for one, other in itertools.combinations(shapes, 2):
            assert one.distance(other) >= gap - 0.01


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 14), st.floats(0, 12), st.sampled_from([MAT, ROLL]))
def test_quick_lays_are_right(seed: int, count: int, gap: float, sheet: StockSheet) -> None:
    cards = wavy(seed, count)
    sheets = lay(cards, Stock((sheet,)), gap=gap, seconds=0)
    check(sheets, cards, gap, sheet.margins[0])


def test_a_card_slides_no_nearer_than_the_gap_to_what_was_far() -> None:
    cards = wavy(230, 10)  # these once ended 0.3 mm apart
    check(lay(cards, Stock((ROLL,)), gap=5, seconds=0), cards, 5, 10)


def test_a_card_that_begins_within_the_gap_slides_no_nearer() -> None:
    """Its shape is 0.1 mm larger than itself, which places beside others don't allow for."""
    sloping = shapely.Polygon([(0, 0), (200, 0), (200, 8), (0, 10)])
    square = shapely.box(0, 0, 30, 30)
    start = (60.0, 9.4 + 3.93)
    x, y = slid(
        square, (30.0, 30.0), start, others=[sloping], free=shapely.box(0, 0, 300, 300),
        gap=4.0, reach=40.0,
    )  # fmt: skip
    before, after = (
        shapely.transform(square, lambda at, by=corner: at + by).distance(sloping)
        for corner in (start, (x, y))
    )
    assert before < 4.0
    assert after >= before - 1e-9


def test_longer_search_is_right_and_no_worse() -> None:
    cards = wavy(7, 16)
    quick = lay(cards, Stock((MAT,)), gap=4, seconds=0)
    heard: list[float] = []
    longer = lay(cards, Stock((MAT,)), gap=4, seconds=2, progress=heard.append)
    check(longer, cards, 4, 3)
    assert len(longer) <= len(quick)
    assert heard[-1] == 1.0
    assert heard == sorted(heard)


def test_roll_is_laid_shorter_by_the_engine() -> None:
    cards = wavy(3, 14)
    quick = lay(cards, Stock((ROLL,)), gap=6, seconds=0)
    longer = lay(cards, Stock((ROLL,)), gap=6, seconds=6)
    check(longer, cards, 6, 10)
    assert longer[0].width < quick[0].width


def test_same_input_same_lay() -> None:
    cards = wavy(5, 10)

    def spots() -> list[tuple[str, float, tuple[float, float]]]:
        sheets = lay(cards, Stock((MAT,)), gap=4, seconds=0)
        return [(p.card.id, p.angle, p.shift) for sheet in sheets for p in sheet.placed]

    assert spots() == spots()


def test_no_more_sheets_than_oblongs_need() -> None:
    """Eight oblongs that fill two sheets to the last mm with their gaps."""
    sheet = StockSheet("card", 404.0, 204.0)
    cards = [box(200, 100, n) for n in range(1, 9)]
    assert len(lay(cards, Stock((sheet,)), gap=4, seconds=5)) == 2


def test_a_card_may_fill_its_sheet() -> None:
    sheets = lay([box(604, 299)], Stock((MAT,)), gap=4, seconds=0)
    check(sheets, [box(604, 299)], 4, 3)


def test_grain_of_the_stock_is_kept() -> None:
    cards = wavy(2, 8, largest=200)
    for grain, angles in (("width", {0.0, 180.0}), ("length", {90.0, 270.0})):
        stock = Stock((StockSheet("card", 900.0, 600.0, grain=grain),))
        turned = {p.angle for s in lay(cards, stock, gap=3, seconds=0) for p in s.placed}
        assert turned <= angles


def test_sizes_are_mixed_and_counts_kept() -> None:
    large = StockSheet("large", 600.0, 400.0, count=1)
    small = StockSheet("small", 300.0, 220.0)
    cards = [box(280, 200, n) for n in range(1, 8)]
    sheets = lay(cards, Stock((small, large)), gap=5, seconds=0)
    check(sheets, cards, 5, 0)
    assert [sheet.stock for sheet in sheets].count("large") == 1
    assert len(sheets) == 6  # two on the large one, one on each of the small ones
    only = Stock((large,))
    with pytest.raises(UserError, match="too few sheets: no room is left for 'Piece"):
        lay(cards, only, gap=5, seconds=0)


def test_the_last_sheet_is_no_larger_than_it_must_be() -> None:
    large = StockSheet("large", 600.0, 400.0)
    small = StockSheet("small", 300.0, 220.0, count=1)
    cards = [box(290, 190, n) for n in range(1, 6)]
    sheets = lay(cards, Stock((large, small)), gap=5, seconds=0)
    assert sorted(sheet.stock for sheet in sheets) == ["large", "small"]


def test_off_cut_of_any_outline() -> None:
    ell = np.array([[0, 0], [600, 0], [600, 200], [250, 200], [250, 500], [0, 500], [0, 0.0]])
    stock = Stock((StockSheet("off-cut", 600.0, 500.0, margins=(2.0,) * 4, outline=ell),))
    cards = wavy(11, 7, largest=150)
    check(lay(cards, stock, gap=3, seconds=0), cards, 3, 2)


def test_small_cards_lie_in_cut_outs_only_where_asked() -> None:
    frame = card(
        [[0, 0], [290, 0], [290, 290], [0, 290]],
        1,
        cut_out=[[40, 40], [250, 40], [250, 250], [40, 250]],
    )
    cards = [frame, box(150, 150, 2)]
    sheet = StockSheet("card", 300.0, 300.0)
    assert len(lay(cards, Stock((sheet,)), gap=4, seconds=0)) == 2
    together = lay(cards, Stock((sheet,), inside=True), gap=4, seconds=0)
    assert len(together) == 1
    hole = shapely.Polygon(together[0].placed[0].strokes[1].points)
    small = shapely.Polygon(together[0].placed[1].outline)
    assert hole.buffer(-4 + 0.01).covers(small)


def test_nothing_lies_in_a_cut_out_in_which_something_is_worked() -> None:
    window = [[40, 40], [250, 40], [250, 250], [40, 250]]
    frame = card([[0, 0], [290, 0], [290, 290], [0, 290]], 1, cut_out=window)
    hole = Stroke(np.array([[145.0, 145.0]]), Work.PUNCH, Mark.DRILL, frame.id)
    stock = Stock((StockSheet("card", 300.0, 300.0),), inside=True)
    cards = [replace(frame, strokes=(*frame.strokes, hole)), box(150, 150, 2)]
    assert len(lay(cards, stock, gap=4, seconds=0)) == 2


@pytest.mark.parametrize("gap", [2.0, 4.0])
def test_the_whole_gap_is_kept(gap: float) -> None:
    sheets = lay(wavy(12, 14), Stock((MAT,)), gap=gap, seconds=0)
    for sheet in sheets:
        shapes = [shapely.Polygon(placed.outline) for placed in sheet.placed]
        pairs = itertools.combinations(shapes, 2)
        nearest = min((a.distance(b) for a, b in pairs), default=gap)
        assert nearest > gap - 1e-4


def test_corners_refused_by_cells_are_those_that_do_not_clear(monkeypatch: Any) -> None:
    """Reference: every corner compared with every card."""
    cards = [*wavy(5, 12, largest=120), *(box(20 + 3 * n, 30 + 2 * n, n) for n in range(13, 30))]
    lays = []
    for few in (10**9, 0):
        monkeypatch.setattr(filling, "_FEW", few)
        sheets = lay(cards, Stock((MAT,)), gap=1.0, seconds=0)
        lays.append([(p.card.id, p.angle, p.shift) for sheet in sheets for p in sheet.placed])
    assert lays[0] == lays[1]


def test_cards_that_stay() -> None:
    cards = wavy(4, 6, largest=200)
    first = lay(cards[:4], Stock((MAT,)), gap=4, seconds=0)
    again = lay(cards[4:], Stock((MAT,)), gap=4, seconds=1, kept=first)
    check(again, cards, 4, 3)
    was = {p.card.id: (p.angle, p.shift) for sheet in first for p in sheet.placed}
    now = {p.card.id: (p.angle, p.shift) for sheet in again for p in sheet.placed}
    assert was.items() <= now.items()


def test_marks_in_the_corners_are_left_free() -> None:
    cards = wavy(9, 12)
    stock = Stock((MAT,), registration=True)
    for sheet in lay(cards, stock, gap=4, seconds=0):
        assert len(sheet.marks) == 8
        rooms = shapely.union_all(mark_rooms(MAT))
        drawn = shapely.MultiLineString([mark.points for mark in sheet.marks])
        assert rooms.covers(drawn)
        for placed in sheet.placed:
            assert shapely.Polygon(placed.outline).distance(rooms) >= 4 - 0.01


def test_a_roll_is_marked_at_the_end_of_its_work() -> None:
    sheet = lay(wavy(9, 6), Stock((ROLL,), registration=True), gap=4, seconds=0)[0]
    drawn = shapely.MultiLineString([mark.points for mark in sheet.marks])
    assert drawn.bounds[2] < sheet.width
    for placed in sheet.placed:
        assert shapely.Polygon(placed.outline).distance(drawn) > 2.0


def test_what_is_left_can_be_laid_on() -> None:
    sheet = lay([box(200, 250)], Stock((MAT,)), gap=4, seconds=0)[0]
    left = left_over(sheet, 4)
    assert left is not None
    x, y, wide, tall = left.rectangle
    free = shapely.box(x, y, x + wide, y + tall)
    assert free.distance(shapely.Polygon(sheet.placed[0].outline)) >= 4 - 0.01
    placed = shapely.Polygon(sheet.placed[0].outline).bounds
    most = max((610 - placed[2] - 4) * 305, 610 * (305 - placed[3] - 4))
    assert 0.93 * most <= free.area <= most
    assert "[[off-cut]]" in as_stock(left, 'of "today"')
    assert left_over(lay([box(604, 299)], Stock((MAT,)), gap=4, seconds=0)[0], 4) is None


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 9), st.integers(1, 9), st.integers(0, 10**6))
def test_largest_rectangle_as_by_trying_all(wide: int, tall: int, seed: int) -> None:
    field = np.random.default_rng(seed).random((wide, tall)) < 0.7
    most = max(
        (
            (b - a) * (d - c)
            for a, b in itertools.combinations(range(wide + 1), 2)
            for c, d in itertools.combinations(range(tall + 1), 2)
            if field[a:b, c:d].all()
        ),
        default=0,
    )
    i, j, columns, rows = largest_rectangle(field)
    assert columns * rows == most
    assert field[i : i + columns, j : j + rows].all()


def test_ctrl_c_keeps_the_best_so_far() -> None:
    cards = wavy(7, 12)

    def stop(share: float) -> None:
        if 0.2 < share < 1.0:
            raise KeyboardInterrupt

    for sheet in (MAT, ROLL):
        check(lay(cards, Stock((sheet,)), gap=4, seconds=3, progress=stop), cards, 4, 3)


def test_a_card_too_large_is_named_with_what_it_misses_by() -> None:
    with pytest.raises(UserError, match=r"'Piece 1'.* too large for mat .* by 5\.5 mm in length"):
        lay([box(609.5, 200)], Stock((MAT,)), gap=4, seconds=0)


@pytest.mark.parametrize("gap", [-1.0, math.nan])
def test_a_gap_must_be_one(gap: float) -> None:
    with pytest.raises(UserError, match="gap"):
        lay([box(10, 10)], Stock((MAT,)), gap=gap, seconds=0)


def test_cards_of_a_piece_lie_on_neighbouring_sheets() -> None:
    """One card a sheet: as numbered, the two of piece A would lie four sheets apart."""
    cards = [replace(box(500, 250, n), piece=name) for n, name in enumerate("ABCDA", start=1)]
    sheets = lay(cards, Stock((MAT,)), gap=4, seconds=0)
    order = [sheet.placed[0].card.piece for sheet in sheets]
    assert order == ["A", "A", "B", "C", "D"]
    assert [sheet.number for sheet in sheets] == [1, 2, 3, 4, 5]


def test_what_fits_only_turned_is_split_on_stock_with_a_grain(tmp_path: Path) -> None:
    """A card 520 x 150 lies along a sheet of 600 x 300, but not when it must hang along it."""
    pattern_set = job.read_set(small_set(tmp_path, {"Yoke": (520, 150)}))
    for grain, parts in (("", 1), ("width", 1), ("length", 2)):
        stock = Stock((StockSheet("card", 600.0, 300.0, grain=grain),))
        cards = finish(pattern_set, window=stock.window, upright=stock.upright)
        yokes = [card for card in cards if card.piece == "Yoke"]
        assert len(yokes) == parts
        sheets = lay(cards, stock, gap=4, seconds=0)
        angles = {placed.angle % 180.0 for sheet in sheets for placed in sheet.placed}
        assert grain == "" or angles == {90.0 if grain == "length" else 0.0}


@pytest.mark.parametrize("seed", [3, 4])
@pytest.mark.parametrize("roll", [False, True])
def test_at_a_gap_of_0_no_card_lies_on_another(seed, roll):
    """Reference: what each two cards share (shapely). Some are parts of a sheet, cut slantwise."""
    cards = wavy(seed, 14, 120.0) + [box(80, 50, 100 + n) for n in range(4)]
    cards += slanting(seed, 6)
    stock = Stock((StockSheet("s", 3000.0 if roll else 400.0, 300.0, roll=roll),))
    for sheet in lay(cards, stock, gap=0.0, seconds=2.0 if roll else 0.0):
        areas = [shapely.Polygon(placed.outline) for placed in sheet.placed]
        pairs = itertools.combinations(areas, 2)
        shared = [one.intersection(other).area for one, other in pairs]
        assert max(shared) < 1e-9


def test_cards_that_lie_over_one_another_are_told_by_area():
    one, other = box(80, 50, 1), box(60, 50, 2)
    over = [Placed(one, 0.0, (0.0, 0.0)), Placed(other, 0.0, (70.0, 0.0))]
    for gap in (0.0, 0.005, 4.0):
        assert "by 500 mm2" in faults(over, shapely.box(0, 0, 300, 300), gap)[0]
    beside = [over[0], Placed(other, 0.0, (80.0, 0.0))]
    assert faults(beside, shapely.box(0, 0, 300, 300), 0.0) == ()
