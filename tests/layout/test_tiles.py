"""Tiles: every bit of a drawing lies in just one page's cell, and on that page.

Page sizes: ISO 216:2007 table 1; ANSI/ASME Y14.1 (A and B sizes); legal from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout import UserError
from plotout.layout.paper.pages import page_size
from plotout.layout.paper.tiles import TilePlan, row_name
from plotout.layout.paper.tiling import tile_plan


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("A0", (841, 1189)),
        ("A1", (594, 841)),
        ("A2", (420, 594)),
        ("a3", (297, 420)),
        ("A4", (210, 297)),
        ("A5", (148, 210)),
        ("A6", (105, 148)),
        ("B3", (353, 500)),
        ("B4", (250, 353)),
        ("B5", (176, 250)),
        ("Letter", (215.9, 279.4)),
        ("legal", (215.9, 355.6)),
        ("tabloid", (279.4, 431.8)),
        ("12 in x 18 in", (304.8, 457.2)),
    ],
)
def test_page_sizes(name: str, size: tuple[float, float]) -> None:
    assert page_size(name) == pytest.approx(size)


@pytest.mark.parametrize("wrong", ["A44x", "0 x 300", "12", "-1 x 2"])
def test_wrong_page_is_refused(wrong: str) -> None:
    with pytest.raises(UserError):
        page_size(wrong)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(20, 2500),
    st.floats(20, 2500),
    st.floats(0, 30),
    st.floats(0, 12),
    st.sampled_from(["trim", "lap"]),
    st.integers(0, 10**6),
)
def test_cells_make_up_the_drawing(
    width: float, height: float, overlap: float, margin: float, style: str, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    line = rng.uniform((0, 0), (width, height), (12, 2))
    plan = tile_plan(
        width, height, [line], page=(210, 297), margin=margin, overlap=overlap, style=style
    )
    cells = [shapely.box(*tile.cell) for tile in plan.tiles]
    pitch = (plan.tiles[0].width - overlap) * (plan.tiles[0].height - overlap)
    assert all(cell.area >= pitch - 1e-6 for cell in cells)
    names = {tile.name for tile in plan.printed}
    for tile, cell in zip(plan.tiles, cells, strict=True):  # printed neighbours share no paper
        for other, its in zip(plan.tiles, cells, strict=True):
            beside = abs(tile.row - other.row) + abs(tile.column - other.column) == 1
            if beside and {tile.name, other.name} <= names:
                assert cell.intersection(its).area < 1e-6
    whole = shapely.LineString(line)
    shown = shapely.union_all([shapely.box(*t.cell) for t in plan.printed])
    assert whole.difference(shown.buffer(1e-6)).length < 1e-6
    for tile in plan.tiles:
        window = shapely.box(tile.x0, tile.y0, tile.x0 + tile.width, tile.y0 + tile.height)
        assert window.buffer(1e-6).covers(shapely.box(*tile.cell))
        if not tile.empty:  # it shows what no other page does
            others = [shapely.box(*t.cell) for t in plan.printed if t is not tile]
            alone = whole.difference(shapely.union_all(others).buffer(1e-6))
            assert alone.intersects(shapely.box(*tile.cell))


def test_turned_to_take_fewest_pages() -> None:
    border = np.array([[0, 0], [280, 0], [280, 190], [0, 190], [0, 0.0]])
    plan = tile_plan(280, 190, [border], page=page_size("A4"), margin=5, overlap=10)
    assert len(plan.tiles) == 1
    assert plan.landscape
    upright = tile_plan(280, 190, [border], page=(210, 297), orientation="portrait")
    assert len(upright.printed) == 2


def test_rows_run_from_the_top_and_neighbours_share_marks() -> None:
    plan = _grid("trim")
    assert [tile.name for tile in plan.tiles[:2]] == ["A1", "A2"]
    assert plan.tiles[0].cell[3] > plan.tiles[-1].cell[3]
    for mark in plan.marks:
        both = [tile for tile in plan.tiles if tile.name in (mark.first, mark.second)]
        assert len(both) == 2
        for tile in both:  # the mark's middle lies on the border of both cells
            assert shapely.box(*tile.cell).exterior.distance(shapely.Point(mark.at)) < 1e-9
            assert mark in plan.marks_of(tile)


def _grid(style: str) -> TilePlan:
    line = np.array([[0, 0], [600, 800], [600, 0], [0, 800.0]])
    return tile_plan(600, 800, [line], page=(210, 297), style=style, orientation="portrait")


def test_trimmed_pages_butt_in_the_middle_of_the_overlap() -> None:
    first, second = _grid("trim").tiles[:2]
    assert first.x0 + first.width - first.cell[2] == pytest.approx(5.0)
    assert second.cell[0] - second.x0 == pytest.approx(5.0)
    lapped, over = _grid("lap").tiles[:2]
    assert over.cell[0] == pytest.approx(over.x0)
    assert lapped.x0 + lapped.width - lapped.cell[2] == pytest.approx(10.0)


def test_empty_pages_are_known() -> None:
    corner = np.array([[0, 0], [50, 0], [0, 50], [0, 0.0]])
    far = corner + np.array([900, 1100])
    plan = tile_plan(1000, 1200, [corner, far], page=(210, 297))
    assert len(plan.printed) == 2
    assert len(plan.tiles) >= 20


def test_pages_are_named_from_the_first_that_is_printed() -> None:
    """Nobody looks for pages A to C that were never made: a sheet may be larger than its work."""
    low = np.array([[30.0, 30.0], [250.0, 30.0], [250.0, 300.0]])
    plan = tile_plan(1000.0, 1500.0, [low], page=(210.0, 297.0))
    names = {tile.name for tile in plan.printed}
    assert len(names) == len(plan.printed)
    assert {name[0] for name in names} == {chr(ord("A") + row) for row in range(plan.rows)}
    assert {name[1:] for name in names} == {str(1 + column) for column in range(plan.columns)}


def test_row_names() -> None:
    assert [row_name(n) for n in (0, 25, 26, 27, 701, 702)] == ["A", "Z", "AA", "AB", "ZZ", "AAA"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"margin": 150.0},
        {"overlap": -1.0},
        {"style": "glue"},
        {"orientation": "sideways"},
        {"margin": math.nan},
        {"overlap": 195.0},
    ],
)
def test_bad_pages_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(UserError):
        tile_plan(600, 800, [np.zeros((2, 2))], page=(210, 297), **wrong)  # type: ignore[arg-type]


def test_thousands_of_pages_are_refused() -> None:
    with pytest.raises(UserError, match="pages"):
        tile_plan(1e5, 1e5, [np.zeros((2, 2))], page=(210, 297))
