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
