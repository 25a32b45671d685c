"""Pricks in a computed curve's very places, as of a draft: they must not be doubted for that.

The side of a bib is drawn with three cubic Bezier curves, (0, 0) (60, 0) (110, 30) (115, 90), on by
(118, 125) (110, 150) to (95, 190), and by (88, 210) (88, 250) to (70, 285). The last two meet with
another bend on either side. Its strap is a straight of 20 by 9 mm: 21.93 mm by Pythagoras.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table

from plotout.geometry.strays import strays

SIDE = np.array([
    [1.00, 0.00], [20.48, 1.22], [39.16, 4.70], [56.01, 10.26], [70.77, 17.64],
    [83.35, 26.59], [93.80, 36.94], [102.19, 48.62], [108.59, 61.68], [112.97, 76.23],
    [115.23, 92.93], [115.40, 112.47], [113.09, 131.56], [107.94, 152.67], [99.33, 178.31],
    [93.07, 196.63], [88.49, 221.24], [83.40, 247.29], [77.40, 267.81], [70.45, 284.11],
])  # fmt: skip
STRAP = float(np.hypot(20.0, 9.0))


def pricked(scatter: float, seed: int = 1) -> list[Pricks]:
    rng = np.random.default_rng(seed)
    corners = np.array([[70.0, 285.0], [50.0, 276.0], [50.0, 180.0], [0.0, 180.0], [0.0, 0.0]])
    runs = [("side", "curve", SIDE)]
    for name, start, end in zip(
        ("strap", "edge", "neck", "centre"), corners, corners[1:], strict=False
    ):
        share = np.linspace(0.15, 0.85, 4)[:, None]
        runs.append((name, "straight", start + (end - start) * share))
    return [
        Pricks(name, kind, at + rng.normal(0.0, scatter, at.shape), 1, tuple(range(len(at))))
        for name, kind, at in runs
    ]


def known(scatter: float) -> tuple[float, float]:
    """Return by how much the strap's length is off, and to what it is known, mm."""
    shapes = outline(Table(tuple(pricked(scatter)), ()), Path("bib.csv"), {}).shapes
    (strap,) = [shape for shape in shapes if shape.name == "strap"]
    return float(np.hypot(*(strap.points[-1] - strap.points[0]))) - STRAP, strap.known_to


def test_more_exact_pricks_give_no_more_doubt() -> None:
    (off, exact), (_, usual) = known(0.0), known(0.2)
    assert abs(off) <= exact
    assert exact < usual


@pytest.mark.parametrize("scatter", [0.0, 0.002, 0.01])
def test_no_bend_of_a_draft_is_three_strays(scatter: float) -> None:
    judged = strays(pricked(scatter)[0].points)
    (none,) = [one for one in judged.explanations if not one.strayed]
    assert none.chance > 0.97
    assert (judged.left_out, judged.doubted) == ({}, {})
