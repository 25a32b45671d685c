"""Pricks put in order: what is known of the figure that they were taken from (plane geometry)."""

import numpy as np
import pytest
from plotout_photo.runs import way_round


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
