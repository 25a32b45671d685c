"""A run that turns sharply at one prick is told of, and a tight curve is not. By plane geometry."""

from __future__ import annotations

import numpy as np
import pytest
from plotout_photo import sharp
from plotout_photo.runs import way_round
from plotout_photo.table import Ordered

CORNER = np.array([100.0, 0.0])


def _numbered(at, way):
    return Ordered(at, tuple(range(1, len(at) + 1)), way, ())


def _piece(stabs):
    """A quadrangle pricked every 10 mm, rings of stabs at three corners, and what is at CORNER."""
    ring = 1.1 * np.array([[0.0, 1.0], [-0.866, -0.5], [0.866, -0.5]])
    ends = np.array([[0.0, 0.0], CORNER, [100.0, 90.0], [0.0, 90.0]])
    made = [CORNER + np.asarray(stabs)]
    for k, end in enumerate(ends):
        there = ends[(k + 1) % 4]
        length = float(np.hypot(*(there - end)))
        along = np.arange(8.0, length - 5.0, 10.0) / length
        made.append(end + along[:, None] * (there - end))
        if k != 1:
            made.append(end + ring)
    return np.vstack(made)


@pytest.mark.parametrize("stabs", [[[0.0, 0.0]], [[-1.0, 0.0], [0.0, 1.0]]])
def test_a_run_that_goes_on_round_a_corner_is_told_of(stabs):
    """The corner is taken from the path as if the user had asked for it: two runs become one."""
    at = _piece(stabs)
    way = way_round(at, smooth=[(100.0, 0.0)])
    (said,) = sharp.told(_numbered(at, way))
    assert "a corner may be missing there" in said
    assert all(f"--corner {k + 1}" in said for k in range(len(stabs)))
    turn = int(said.split("turns by ")[1].split()[0])
    assert turn == pytest.approx(90 if len(stabs) == 1 else 84, abs=6)
    assert not sharp.told(_numbered(at, way), smooth=[(100.0, 0.0)])


@pytest.mark.parametrize("radius", [8.0, 12.0, 40.0])
def test_a_round_end_is_no_corner(radius):
    """A strip with round ends, pricked every 6 mm: up to 43 degrees a prick, all alike."""
    quarter = np.linspace(-np.pi / 2.0, np.pi / 2.0, max(round(np.pi * radius / 6.0), 4))
    arc = radius * np.column_stack([np.cos(quarter), np.sin(quarter)])
    x = np.arange(6.0, 110.0, 6.0)
    low = np.column_stack([x, np.full(len(x), -radius)])
    at = np.vstack([low, arc + np.array([114.0, 0.0]), low[::-1] * [1.0, -1.0], -arc[:-1]])
    way = way_round(at)
    assert not sharp.told(_numbered(at, way))
