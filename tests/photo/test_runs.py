"""Pricks put in order: what is known of the figure that they were taken from (plane geometry)."""

from types import SimpleNamespace

import numpy as np
import pytest
from plotout_photo.corrections import Corrections
from plotout_photo.runs import way_round
from plotout_photo.table import names_by_piece, ordered


def stabs(at):
    return np.array(at) + np.array([[0.0, 1.2], [1.0, -0.6], [-1.0, -0.6]])


def test_a_triangle_of_straights_and_its_corners():
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [100.0, 160.0]])
    sides = [a + (b - a) * t for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
             for t in np.linspace(0.1, 0.9, 8)]  # fmt: skip
    way = way_round(np.vstack([*(stabs(c) for c in corners), np.array(sides)]))
    assert [run.kind for run in way.runs] == ["straight"] * 3
    found = np.array([way.groups[run.groups[0]].at for run in way.runs])
    assert found == pytest.approx(corners, abs=0.01)
    assert not way.loose


@pytest.mark.parametrize("corners", [0, 1])
def test_a_circle_is_one_closed_run_with_or_without_one_corner(corners):
    turn = np.linspace(0.0, 2 * np.pi, 24, endpoint=False)
    at = 80.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    if corners:
        at = np.vstack([stabs(at[0]), at[1:]])
    (run,) = way_round(at).runs
    assert run.kind == "closed"
    assert len(run.groups) == 24


def square(gap=12.5):
    """A square of 100 mm, pricked along its sides, without its corners."""
    side = np.arange(gap / 2, 100.0, gap)
    flat = np.zeros(len(side))
    sides = [(side, flat), (flat + 100, side), (100 - side, flat + 100), (flat, 100 - side)]
    return np.vstack([np.column_stack(pair) for pair in sides])


def test_a_corner_whose_stabs_are_unseen_keeps_the_pricks_of_its_runs():
    """Nothing is peeled off at the tip, and one stab that is left is a doubtful corner."""
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0))]
    way = way_round(np.vstack([*corners, square()]))
    assert not way.loose
    assert sum(len(run.groups) - 2 for run in way.runs) == len(square())
    way = way_round(np.vstack([*corners, [[0.0, 100.0]], square()]))
    assert [run.kind for run in way.runs] == ["straight"] * 4
    assert sum(group.doubtful for group in way.groups) == 1


def test_dust_off_the_path_is_loose_and_dust_beside_a_prick_makes_no_corner():
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))]
    dust = np.array([[50.0, 40.0], [30.0, 9.0], [57.0, 1.5]])
    way = way_round(np.vstack([*corners, square(), dust]))
    assert [run.kind for run in way.runs] == ["straight"] * 4
    assert len(way.loose) == 3
    assert not way.matches


def test_pricks_across_a_dart_are_of_its_two_legs_and_no_corner():
    """A dart of 10 degrees: the pricks nearest to its point are 2 to 3 mm apart."""
    point, a, b = np.array([0.0, 0.0]), np.array([120.0, 10.5]), np.array([120.0, -10.5])
    legs = [point + (end - point) * t for end in (a, b) for t in np.linspace(0.1, 0.9, 9)]
    third = [a + (np.array([200.0, 0.0]) - a) * t for t in np.linspace(0.2, 0.8, 4)]
    fourth = [b + (np.array([200.0, 0.0]) - b) * t for t in np.linspace(0.2, 0.8, 4)]
    tips = [stabs(at) for at in (point, a, b, (200.0, 0.0))]
    at = np.vstack([*tips, legs, third, fourth])
    way = way_round(at, sure=np.ones(len(at)))
    assert [(run.kind, len(run.groups) - 2) for run in way.runs] == [
        ("straight", 9), ("straight", 4), ("straight", 4), ("straight", 9)]  # fmt: skip
    assert not way.loose


def test_two_pieces_on_one_sheet_are_two_rings():
    one = np.vstack([square(), *(stabs(at) for at in ((0, 0), (100, 0), (100, 100), (0, 100)))])
    triangle = np.array([[0.0, 0.0], [60.0, 0.0], [0.0, 60.0]])
    ends = np.roll(triangle, -1, axis=0)
    sides = [a + (b - a) * t for a, b in zip(triangle, ends, strict=True) for t in (0.2, 0.5, 0.8)]
    small = np.vstack([sides, *(stabs(at) for at in triangle)])
    for shift in ((150.0, 20.0), (30.0, -110.0), (-95.0, 60.0)):
        way = way_round(np.vstack([small + np.array(shift), one]))
        assert [len(runs) for runs in way.pieces] == [4, 3]
        assert all(run.kind == "straight" for run in way.runs)
        assert not way.loose
    at = np.vstack([small + np.array([150.0, 20.0]), one])
    made = ordered(SimpleNamespace(at=at, sure=np.ones(len(at))), Corrections())
    assert names_by_piece(made) == [
        [f"piece-1 run {k}" for k in (1, 2, 3, 4)], [f"piece-2 run {k}" for k in (1, 2, 3)]
    ]  # fmt: skip


def test_a_narrow_waist_and_a_strap_stay_one_piece():
    """Sides nearer to each other than their pricks; a band with pricks at its short ends only."""
    turn = np.linspace(0.0, 2 * np.pi, 80, endpoint=False)
    reach = 60.0 * np.sqrt(np.cos(2 * turn) + np.sqrt(1.03 - np.sin(2 * turn) ** 2))
    waist = np.column_stack([reach * np.cos(turn), reach * np.sin(turn)])
    assert len(way_round(waist).pieces) == 1
    ends = [(x, y) for x in (0.0, 600.0) for y in np.arange(6.0, 55.0, 6.0)]
    corners = [stabs(at) for at in ((0.0, 0.0), (600.0, 0.0), (600.0, 60.0), (0.0, 60.0))]
    assert len(way_round(np.vstack([*corners, ends])).pieces) == 1


def test_a_corner_with_an_unseen_stab_is_where_its_runs_meet():
    """Two stabs of three: their middle is 0.5 mm off the corner."""
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0))]
    two = np.array([0.0, 100.0]) + np.array([[1.0, -0.6], [-1.0, -0.6]])
    at = np.vstack([*corners, two, square()])
    way = way_round(at, sure=np.ones(len(at)))
    found = np.array([group.at for group in way.groups if group.corner])
    assert len(found) == 4
    assert np.hypot(*(found - [0.0, 100.0]).T).min() < 0.1
