"""Curves that cross a straight at a small angle: whether they run smoothly into it.

A yoke's foot is an arc between two upright sides, 150 mm apart, that turns by 136 degrees: it meets
both at 22 degrees. Its radius is 75 / sin(68 degrees) = 80.9 mm, its length 192.0 mm.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table

HALF, WIDTH, TALL = np.radians(68.0), 150.0, 250.0
RADIUS = WIDTH / 2.0 / np.sin(HALF)


def known(seed: int) -> tuple[float, float]:
    """Return by how much the right side's length is off, and to what it is known, mm."""
    rng = np.random.default_rng(seed)
    turn = np.linspace(-HALF + 2.0 / RADIUS, HALF - 2.0 / RADIUS, 20)
    foot = np.column_stack([np.sin(turn), np.cos(HALF) - np.cos(turn)]) * RADIUS
    corners = np.array([[75.0, 0.0], [75.0, TALL], [-75.0, TALL], [-75.0, 0.0]])
    runs = [("foot", "curve", foot)]
    for name, start, end in zip(("right", "top", "left"), corners, corners[1:], strict=False):
        share = np.linspace(0.03, 0.97, 6)[:, None]
        runs.append((name, "straight", start + (end - start) * share))
    made = [
        Pricks(name, kind, at + rng.normal(0.0, 0.25, at.shape), 1, tuple(range(len(at))))
        for name, kind, at in runs
    ]
    shapes = outline(Table(tuple(made), ()), Path("yoke.csv"), {}).shapes
    (right,) = [shape for shape in shapes if shape.name == "right"]
    return float(np.hypot(*(right.points[-1] - right.points[0]))) - TALL, right.known_to


@pytest.mark.parametrize("seed", range(3))
def test_a_curve_that_lies_too_near_a_straight_to_touch_it_crosses_it(seed: int) -> None:
    """To touch it, it would have to lie 6 mm off at its last prick: it lies 0.7 mm off."""
    off, to = known(seed)
    assert abs(off) <= to
    assert to < 5.0
