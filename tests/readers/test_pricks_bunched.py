"""Curves pricked more closely near their ends: their lengths are known, by scipy's of an arc."""

from __future__ import annotations

import numpy as np
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table
from scipy.special import ellipe

from plotout.geometry.polyline import distances

WIDE, DEEP = 67.0, 100.0  # mm, of a neck that is a quarter of an ellipse
CORNERS = np.array([[0.0, -DEEP], [0.0, -500.0], [190.0, -500.0], [190.0, -35.0], [WIDE, 0.0]])


def neck(count, seed):
    """Return pricks of a neck from its shoulder on, the first and the last 2 mm from its ends."""
    turn = np.linspace(0.0, np.pi / 2.0, 6001)
    dense = np.column_stack([WIDE * np.cos(turn), -DEEP * np.sin(turn)])
    reached = distances(dense)
    share = (1.0 - np.cos(np.pi * np.linspace(0.0, 1.0, count))) / 2.0
    along = 2.0 + (reached[-1] - 4.0) * share
    places = np.column_stack([np.interp(along, reached, axis) for axis in dense.T])
    return places + np.random.default_rng(seed).normal(0.0, 0.3, places.shape)


def test_a_curve_is_known_although_the_places_nearest_to_its_pricks_change(tmp_path):
    """One neck in some hundred of the kind: the steps to its fit went to and fro for ever."""
    pricks = neck(14, 114)
    runs = [Pricks("neck", "curve", pricks, 2, tuple(range(1, 15)))]
    for k, name in enumerate(("centre", "hem", "side", "shoulder")):
        points = CORNERS[k] + (CORNERS[k + 1] - CORNERS[k]) * np.linspace(0.05, 0.95, 5)[:, None]
        runs.append(Pricks(name, "straight", points, 2, (1, 2, 3, 4, 5)))
    drawing = outline(Table(tuple(runs), (), ()), tmp_path / "front.csv", {})
    edge = next(shape for shape in drawing.shapes if shape.name == "neck")
    size = np.hypot(*np.diff(edge.points, axis=0).T).sum()
    assert edge.known_to < 2.5
    assert abs(size - DEEP * ellipe(1.0 - (WIDE / DEEP) ** 2)) < edge.known_to
