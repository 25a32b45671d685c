"""Corners whose runs' first pricks are as near to the stabs as these are to each other.

The places are those of the renderer, which shares no code with the reader, or plane geometry.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
import render
from against import score
from plotout_photo.remarks import _doubtful_corner
from plotout_photo.runs import way_round
from plotout_photo.survey import survey
from plotout_photo.table import Ordered
from plotout_photo.zigzag import told


def _numbered(way):
    count = sum(len(group.members) for group in way.groups)
    return Ordered(np.empty((count, 2)), tuple(range(1, count + 1)), way, ())


def _stabs_of(scene):
    return [set(np.flatnonzero(scene.corner_of == k).tolist()) for k in range(len(scene.corners))]


@pytest.mark.parametrize("ends", [2.5, pytest.param(3.5, marks=pytest.mark.thorough), 4.0, 6.0])
def test_stabs_are_a_corner_however_near_the_first_pricks_are(ends):
    """Twelve pieces of the renderer, 3 or 4 stabs a corner, set 0.9 to 1.5 mm from it."""
    lost = corners = 0
    for seed in range(30100, 30112):
        scene = render.scene(seed, ends=ends)
        way = way_round(scene.holes)
        found = [set(way.groups[run.groups[0]].members) for run in way.runs]
        lost += sum(stabs not in found for stabs in _stabs_of(scene))
        corners += len(scene.corners)
    assert corners > 50
    assert lost <= (3 if ends < 3.0 else 0)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", [30203, 30204])
def test_a_photo_of_corners_with_pricks_at_4_mm_is_read_rightly(tmp_path, seed):
    scene = render.scene(seed, ends=4.0)
    camera = render.camera(np.random.default_rng(seed), tilt=12, azimuth=40, aim=(0, 0), reach=920)
    path = tmp_path / "near.jpg"
    path.write_bytes(render.photograph(scene, camera))
    got = score(scene, survey([path]))
    assert got.corners == 1.0
    assert got.runs_right
    assert got.found > 0.95
    assert not got.false


def _square(gap, first=None):
    """A square of 90 mm with three stabs at each corner, pricked every `gap` mm from `first` on."""
    first = gap if first is None else first
    along = np.arange(first, 90.0 - 0.5 * first, gap)
    flat = np.zeros(len(along))
    sides = [(along, flat), (flat + 90, along), (90 - along, flat + 90), (flat, 90 - along)]
    turn = np.radians([90.0, 210.0, 330.0])
    ring = 1.1 * np.column_stack([np.cos(turn), np.sin(turn)])
    corners = np.array([[0.0, 0.0], [90.0, 0.0], [90.0, 90.0], [0.0, 90.0]])
    return np.vstack([*(ring + at for at in corners), *(np.column_stack(pair) for pair in sides)])


@pytest.mark.parametrize("gap", [3.0, 4.5])
def test_a_row_of_pricks_as_near_as_stabs_is_no_corner(gap):
    at = _square(gap) + np.random.default_rng(4).normal(0.0, 0.1, _square(gap).shape)
    way = way_round(at)
    assert [run.kind for run in way.runs] == ["straight"] * 4
    assert {group.members for group in way.groups if group.corner} == {
        (0, 1, 2), (3, 4, 5), (6, 7, 8), (9, 10, 11)
    }  # fmt: skip


def test_an_outline_to_and_fro_in_short_steps_is_told_with_its_cure():
    """Four marks to and fro across a side, 2.7 mm apart: no ring of stabs."""
    at = np.vstack([_square(15.0), [[50.0, 0.6], [52.4, -0.6], [54.8, 0.6], [57.2, -0.6]]])
    (said,) = told(_numbered(way_round(at)))
    assert "to and fro in short steps at 54, 0 mm" in said
    assert re.findall(r"--corner (\d+)", said) == ["33", "34", "35", "36"]
    made = way_round(at, corners=[32, 33, 34])
    assert (32, 33, 34) in [group.members for group in made.groups if group.corner]
    assert not told(_numbered(way_round(at[:-4])))


def test_a_stab_that_is_left_beside_its_corner_is_told_and_put_right_by_naming_all():
    """A first prick named in place of the farthest stab, at every corner of six pieces."""
    silent = tried = 0
    for seed in range(30300, 30306):
        scene = render.scene(seed, ends=4.0)
        runs = np.flatnonzero(scene.corner_of < 0)
        for at, stabs in zip(scene.corners, _stabs_of(scene), strict=True):
            first = int(runs[np.hypot(*(scene.holes[runs] - at).T).argmin()])
            left = max(stabs, key=lambda k: np.hypot(*(scene.holes[k] - scene.holes[first])))
            lines = told(_numbered(way_round(scene.holes, corners=[*(stabs - {left}), first])))
            silent += not any(str(left + 1) in re.findall(r"\d+", line) for line in lines)
            tried += 1
            mended = way_round(scene.holes, corners=sorted(stabs))
            assert stabs in [set(mended.groups[run.groups[0]].members) for run in mended.runs]
    assert tried > 25
    assert silent <= 0.35 * tried


def test_nothing_is_told_of_sheets_whose_corners_are_right():
    for seed in range(30400, 30420):
        assert not told(_numbered(way_round(render.scene(seed).holes)))


def _in_rows(scene, step, count=3, across=False):
    """The holes of a scene with so many stabs in a row at each corner. Returns them, and the rows.

    The rows lie any way, or across the line that halves the corner.
    """
    rng, runs = np.random.default_rng(7), scene.holes[scene.corner_of < 0]
    made = []
    for k, at in enumerate(scene.corners):
        turn = rng.uniform(0.0, 2.0 * np.pi)
        ahead = np.array([np.cos(turn), np.sin(turn)])
        if across:
            ways = [scene.corners[other % len(scene.corners)] - at for other in (k - 1, k + 1)]
            ahead = np.subtract(*(way / np.hypot(*way) for way in ways))
            ahead /= np.hypot(*ahead)
        row = np.outer(step * (np.arange(count) - (count - 1) / 2.0), ahead)
        made.append(at + row + rng.normal(0.0, 0.08, row.shape))
    rows = [{len(runs) + count * k + stab for stab in range(count)} for k in range(len(made))]
    return np.vstack([runs, *made]), rows


@pytest.mark.parametrize("step", [1.3, 1.6])
@pytest.mark.parametrize("ends", [4.5, 6.0])
def test_three_stabs_in_a_row_are_a_corner_with_first_pricks_at_4_mm_and_a_half(step, ends):
    for seed in range(30500, 30510):
        at, rows = _in_rows(render.scene(seed, ends=ends), step)
        way = way_round(at)
        found = [set(way.groups[run.groups[0]].members) for run in way.runs]
        assert all(row in found for row in rows)


@pytest.mark.parametrize("ends", [3.5, pytest.param(4.5, marks=pytest.mark.thorough)])
@pytest.mark.parametrize("step", [pytest.param(1.6, marks=pytest.mark.thorough), 1.9])
@pytest.mark.parametrize("count", [3, pytest.param(4, marks=pytest.mark.thorough), 5])
def test_stabs_in_a_row_that_first_pricks_are_as_near_to_are_placed_by_the_runs(count, step, ends):
    """By steps alone, most rows of four and five were placed 0.8 mm off or more, in silence."""
    right = silent = tried = 0
    for seed in range(30500, 30512):
        scene = render.scene(seed, ends=ends)
        at, rows = _in_rows(scene, step, count)
        way = way_round(at)
        corners = [way.groups[run.groups[0]] for run in way.runs]
        doubted = {k for group in way.groups if group.doubtful for k in group.members}
        for place, row in zip(scene.corners, rows, strict=True):
            near = min(corners, key=lambda group, at=place: np.hypot(*(group.at - at)))
            right += set(near.members) == row and not near.doubtful
            silent += np.hypot(*(near.at - place)) > 0.5 and not doubted & row
            tried += 1
    assert tried > 50
    assert right >= 0.7 * tried
    assert silent <= 0.02 * tried


def test_a_row_of_four_is_asked_about_only_where_a_first_prick_is_near():
    """Rows across their corners, first pricks at 6 mm: 3.5 mm or more from the last stab."""
    for seed in range(30500, 30510):
        at, rows = _in_rows(render.scene(seed, ends=6.0), 1.6, 4, across=True)
        way = way_round(at)
        assert all(row in [set(group.members) for group in way.groups] for row in rows)
        assert not [group for group in way.groups if group.doubtful]


def test_stabs_in_a_row_that_runs_can_not_place_are_a_doubtful_corner():
    """Five in a row along one side, and the side across it has but one prick: by geometry, the
    corner may be the middle of the first four as well as of all.
    """
    others = _square(15.0)[3:]
    others = others[(others[:, 0] > 1.5) | (others[:, 1] < 2.0) | (others[:, 1] > 80.0)]
    row = [[along, 0.0] for along in (-1.5, 0.0, 1.5, 3.0, 4.5)]
    at = np.vstack([others, row, [[0.0, 45.0]]])
    doubtful = [group for group in way_round(at).groups if group.doubtful]
    (group,) = [one for one in doubtful if len(one.members) >= 3]
    said = _doubtful_corner(group, [str(k + 1) for k in group.members], ends=True)
    assert "taken for the stabs of a corner" in said


def _rounded(step, scatter, rng):
    """A rectangle of 160 by 110 mm with corners of 10 mm radius, pricked along its edge."""
    quarter = np.linspace(0.0, np.pi / 2.0, 60)
    middles = np.array([[150.0, 100.0], [10.0, 100.0], [10.0, 10.0], [150.0, 10.0]])
    arcs = [middle + 10.0 * np.column_stack([np.cos(quarter + k * np.pi / 2.0),
                                             np.sin(quarter + k * np.pi / 2.0)])
            for k, middle in enumerate(middles)]  # fmt: skip
    path = np.vstack([*arcs, arcs[0][:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    count = int(along[-1] / step)
    at = (np.arange(count) + rng.normal(0.0, scatter, count)) * along[-1] / count
    at = np.column_stack([np.interp(at, along, path[:, axis]) for axis in (0, 1)])
    return at + rng.normal(0.0, 0.08, at.shape)


@pytest.mark.parametrize("step", [2.2, 2.8, 3.0, 3.3])
@pytest.mark.parametrize("scatter", [0.03, 0.1])
def test_closely_pricked_runs_have_no_corner_in_silence(step, scatter):
    """As a tracing wheel pricks: what scatters along the run is as near as stabs."""
    for seed in range(6):
        way = way_round(_rounded(step, scatter, np.random.default_rng(seed)))
        assert not [group for group in way.groups if group.corner and not group.doubtful]


@pytest.mark.parametrize("gap", [2.4, 3.0])
def test_stabs_are_corners_amid_closely_pricked_runs(gap):
    """From 3 mm off each corner on, where hardly a corner is lost (see above)."""
    at = _square(gap, first=3.0)
    way = way_round(at + np.random.default_rng(5).normal(0.0, 0.05, at.shape))
    assert {group.members for group in way.groups if group.corner} == {
        (0, 1, 2), (3, 4, 5), (6, 7, 8), (9, 10, 11)
    }  # fmt: skip
