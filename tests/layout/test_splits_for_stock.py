"""Pieces are split for the stock that is used: more of it never makes a set impossible.

Reference: areas and rectangles worked out here by hand; shapely says whether a rectangle lies in a
shape.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from smallset import small_set

from plotout import UserError, job
from plotout.geometry.boxes import largest_box
from plotout.layout import load_stock

SMALL = '[[sheet]]\nname = "small"\nlength = 500\nwidth = 390\ncount = 40\n'
RAGGED = (
    '[[off-cut]]\nname = "ragged"\n'
    "outline = [[0, 0], [1250, 0], [1250, 120], [700, 160], [240, 500], [0, 850]]\n"
)
L_SHAPED = (
    '[[off-cut]]\nname = "elbow"\n'
    "outline = [[0, 0], [1200, 0], [1200, 300], [300, 300], [300, 850], [0, 850]]\n"
)
LARGE = '[[sheet]]\nname = "large"\nlength = 1200\nwidth = 800\ncount = 1\n'
PIECES = {"Body": (700, 1100), "Back": (600, 900), "Collar": (150, 60)}


def made(folder: Path, text: str, pieces=None) -> job.Made:
    path = small_set(folder, pieces or PIECES)
    (folder / "stock.toml").write_text(text)
    stock = load_stock(folder / "stock.toml")
    return job.plan(
        job.Request(job.read_set(path), job.load_machine("gantry-knife"), stock=stock, seconds=0)
    )


@pytest.mark.parametrize("text", [SMALL + RAGGED, LARGE + L_SHAPED + SMALL])
@pytest.mark.thorough
def test_more_stock_never_makes_a_set_impossible(tmp_path, text):
    result = made(tmp_path, text)
    assert not any(each.faults for each in result.results)
    meant = sum(wide * tall for wide, tall in PIECES.values())
    area = sum(
        shapely.Polygon(placed.outline).area for sheet in result.sheets for placed in sheet.placed
        if placed.card.piece in PIECES
    )  # fmt: skip
    assert area >= meant  # parts have underlaps


def test_an_elbow_alone_is_split_for_what_it_holds(tmp_path):
    """Its box is 1200 x 850 mm, and no card of 400 x 500 lies in it; its legs are 300 mm wide."""
    result = made(tmp_path, L_SHAPED, {"Body": (400, 500)})
    elbow = shapely.Polygon(
        [[0, 0], [1200, 0], [1200, 300], [300, 300], [300, 850], [0, 850]]
    ).buffer(0.01)
    (sheet,) = result.sheets
    assert all(elbow.covers(shapely.Polygon(placed.outline)) for placed in sheet.placed)
    assert len([each for each in result.cards if each.piece == "Body"]) > 1


def test_a_piece_is_divided_no_more_than_the_stock_needs(tmp_path):
    """Narrow strips would take four parts; a wide one holds half the piece."""
    narrow = '[[sheet]]\nname = "narrow"\nlength = 300\nwidth = 85\ncount = 20\n'
    wide = '[[sheet]]\nname = "wide"\nlength = 300\nwidth = 150\ncount = 3\n'
    result = made(tmp_path, narrow + wide, {"Band": (100, 362)})
    assert len([each for each in result.cards if each.piece == "Band"]) == 2


def test_nothing_is_advised_that_can_not_help(tmp_path):
    with pytest.raises(UserError) as told:
        made(tmp_path, SMALL.replace("40", "2"))
    assert "Add sheets that can hold them: 'small' (500 x 390 mm)" in str(told.value)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6))
@pytest.mark.thorough
def test_the_largest_box_lies_within_and_none_of_a_plain_search_is_much_larger(seed):
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(0, 2 * np.pi, 9))
    reach = rng.uniform(150, 500, 9)
    shape = shapely.Polygon(reach[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]))
    if not shape.is_valid or shape.area < 1e4:
        return
    (left, bottom), (right, top) = largest_box(shape)
    assert shape.buffer(1e-3).covers(shapely.box(left, bottom, right, top))
    ours = (right - left) * (top - bottom)
    low, high = np.array(shape.bounds).reshape(2, 2)
    some = rng.uniform(low, high, (400, 2, 2))
    boxes = shapely.box(*some.min(axis=1).T, *some.max(axis=1).T)
    best = max((shapely.area(box) for box in boxes[shapely.covers(shape, boxes)]), default=0.0)
    assert ours >= 0.85 * best
