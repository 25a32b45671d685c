"""Sheets whose pricks make no outline, or only one that nothing closes."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import render
from plotout_photo.joined import told
from plotout_photo.remarks import _gaps
from plotout_photo.runs import way_round
from plotout_photo.survey import survey
from plotout_photo.too_few import only_a_row

from plotout import UserError


def _photo(scene, camera, holes, path):
    """Write a photograph of a sheet with these holes, (n, 2) mm, and no others."""
    count = len(holes)
    bare = dataclasses.replace(
        scene, holes=np.array(holes), sizes=np.full(count, 1.0), rims=np.zeros(count), pencil=[],
        dots=np.empty((0, 2)), corner_of=np.full(count, -1), run_of=np.zeros(count, dtype=int),
    )  # fmt: skip
    path.write_bytes(render.photograph(bare, camera, fancy=False))


@pytest.mark.parametrize(
    "count",
    [
        pytest.param(1, marks=pytest.mark.thorough),
        pytest.param(2, marks=pytest.mark.thorough),
        pytest.param(4, marks=pytest.mark.thorough),
        5,
    ],
)
def test_the_number_of_pricks_that_are_seen_is_said_and_what_is_missing(
    scene, cameras, tmp_path, count
):
    path = tmp_path / "few.jpg"
    holes = [[-120.0, -60.0], [110.0, -70.0], [100.0, 60.0], [-90.0, 75.0], [-20.0, 130.0]]
    _photo(scene, cameras[0], holes[:count], path)
    said = "only 1 prick is" if count == 1 else f"only {count} pricks are"
    with pytest.raises(UserError, match=f"{said} seen in it, too few for an outline") as caught:
        survey([path])
    assert "two corners" in str(caught.value)


def test_a_row_of_pricks_is_no_piece(scene, cameras, tmp_path):
    path = tmp_path / "row.jpg"
    along = np.linspace(-200.0, 200.0, 28)
    row = np.column_stack([along, 0.1 * along]) + np.random.default_rng(3).normal(0, 0.12, (28, 2))
    _photo(scene, cameras[0], row, path)
    with pytest.raises(UserError, match="the 28 pricks in it lie in one row, and enclose no piece"):
        survey([path])


def _square(x, open_side):
    """A rectangle of 200 x 150 mm pricked every 15 mm; five pricks of one side are missing."""
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 150.0], [0.0, 150.0]]) + np.array(
        [x, 0.0]
    )
    turn = np.radians([90.0, 210.0, 330.0])
    ring = 1.1 * np.column_stack([np.cos(turn), np.sin(turn)])
    made = [ring + at for at in corners]
    for side, (a, b) in enumerate(zip(corners, np.roll(corners, -1, axis=0), strict=True)):
        count = round(np.hypot(*(b - a)) / 15.0)
        inner = a + np.outer(np.arange(1, count) / count, b - a)
        made.append(np.delete(inner, range(2, 7), axis=0) if side == open_side else inner)
    return np.vstack(made)


def test_two_pieces_that_are_joined_to_one_are_told_with_where():
    """50 mm apart: a step of six, as long as the gap in the sides that face each other."""
    (said,) = told(way_round(np.vstack([_square(0.0, 1), _square(250.0, 3)])).rings)
    assert "two pieces may be joined there to one outline" in said
    assert said.count("(50 mm)") == 2
    assert "cover one with paper" in said
    assert not told(way_round(_square(0.0, 1)).rings)
    whole = way_round(np.vstack([_square(0.0, None), _square(250.0, None)]))
    assert len(whole.rings) == 2
    assert not told(whole.rings)


def test_an_outline_that_nothing_closes_is_told_with_both_ends():
    """Two sides of a triangle, pricked every 15 mm."""
    along = np.arange(0.0, 300.0, 15.0)
    flat = np.column_stack([along, np.zeros(20)])
    pricks = np.vstack([flat, flat[1:, ::-1]])
    pricks += np.random.default_rng(0).normal(0.0, 0.1, pricks.shape)
    (said,) = told(way_round(pricks).rings)
    assert "not closed between 285, 0 and 0, 285 mm" in said
    assert "no prick is seen on 403 mm, where one every 15 mm is usual" in said


def test_no_number_of_pricks_is_said_to_be_missing_where_an_outline_is_not_closed():
    along = np.arange(0.0, 300.0, 15.0)
    flat = np.column_stack([along, np.zeros(20)])
    flat = np.delete(flat, 10, axis=0)
    way = way_round(np.vstack([flat, flat[1:, ::-1]]))
    names = tuple(f"run {k}" for k in range(len(way.runs)))
    assert told(way.rings)
    lines = _gaps(SimpleNamespace(way=way, names=names), 8)
    assert len(lines) == 2
    assert all("a step of 30 mm at" in line for line in lines)


def test_a_straight_run_says_what_of_it_is_off_the_straight():
    """Two rows 50 mm apart, pricked every 20 mm: one end of a run is in the other row."""
    along = np.arange(0.0, 401.0, 20.0)
    rows = [np.column_stack([along, np.full(21, y)]) for y in (0.0, 50.0)]
    way = way_round(np.vstack(rows) + np.random.default_rng(2).normal(0.0, 0.1, (42, 2)))
    assert [run.kind for run in way.runs] == ["straight", "straight"]
    assert [run for run in way.runs if "a corner may be missed there" in run.doubtful]
    for seed in range(30600, 30640):
        assert not any("missed" in run.doubtful for run in way_round(render.scene(seed).holes).runs)


@pytest.mark.parametrize("missing", [0.0, 0.3])
def test_one_piece_is_not_told_to_be_two_however_many_pricks_are_missing(missing):
    told_of = 0
    for seed in range(30500, 30540):
        scene = render.scene(seed)
        kept = np.random.default_rng(seed).uniform(size=len(scene.holes)) >= missing
        told_of += len(told(way_round(scene.holes[kept | (scene.corner_of >= 0)]).rings))
    assert told_of <= 1


def test_a_row_beside_large_holes_names_them():
    """What is read of a sheet of large holes may lie in one row by chance."""
    shot = SimpleNamespace(path=Path("sheet.jpg"), too_large="121 round dark spots are left out")
    fault = only_a_row([shot], 7)
    assert fault.problem.endswith("enclose no piece: 121 round dark spots are left out")
    assert "finer needle" in fault.fix
