"""Where in a picture pricks are sought: among the strips, and outside of them; not on them.

Outside, the lens and the table are extrapolated, so places there are less accurate, and much that
is seen there is not the sheet. What is found outside counts only where pricks lead to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.odd import Odd
from plotout_photo.solve import Solution
from plotout_photo.strips import outline

EDGE = 12  # pixels at a picture's edge where holes can't be measured
LEADS = 3.0  # usual distances of pricks, up to which one leads to the next outside
LEAST = 15.0  # and mm, at least


@dataclass(frozen=True, slots=True, eq=False)
class Area:
    """Masks, uint8 (h, w). among: what the strips surround; beyond: the rest of the picture."""

    among: Any
    beyond: Any

    def outside(self, at: FloatArray) -> NDArray[np.bool_]:
        """Return which pixels, (n, 2), lie beyond the strips, (n,)."""
        row, column = np.round(at).astype(int).T[::-1]
        return np.asarray(self.beyond[row, column] > 0)


def area_of(size: tuple[int, int], solution: Solution, odd: Odd | None) -> Area:
    """Return where pricks are sought. size: the picture's width and height; all of a scan is among.

    Strips in the middle of a sheet's sides leave its corners outside of what is straight between
    them, so the rectangles around them, along each of them, are taken.
    """
    among, beyond = (np.zeros((size[1], size[0]), np.uint8) for _ in range(2))
    view = solution.model.views[0]
    if view.kind.flat:
        among[:] = 1
    else:
        beyond[EDGE:-EDGE, EDGE:-EDGE] = 1
    if not view.marks:
        return Area(among, beyond)
    corners = view.corners.reshape(-1, 2)
    table = solution.table(0, corners)
    if odd is not None:
        table = np.vstack([table, odd.edge])
    angles = [solution.model.pose(solution.x, strip)[0] for strip in solution.model.strips]
    around = np.vstack([solution.see(0, rectangle(table, angle)) for angle in angles])
    around = np.vstack([corners, around])
    hull = np.round(cv2.convexHull(np.clip(around, -1e4, 1e5).astype(np.float32))).astype(np.int32)
    cv2.fillConvexPoly(among, hull, 1)
    cv2.fillConvexPoly(beyond, hull, 0)
    edges = [solution.model.on_strip(solution.x, s, outline(4.0)) for s in solution.model.strips]
    for around in edges if odd is None else [*edges, odd.edge]:
        edge = np.round(solution.see(0, around)).astype(np.int32)
        cv2.fillConvexPoly(among, edge, 0)
        cv2.fillConvexPoly(beyond, edge, 0)
    return Area(among, beyond)


def rectangle(points: FloatArray, angle: float) -> FloatArray:
    """Return places on the rectangle around points (n, 2) that lies at an angle, (m, 2)."""
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    low, high = (points @ turn.T).min(axis=0), (points @ turn.T).max(axis=0)
    share = np.linspace(0.0, 1.0, 12)
    x, y = low[0] + share * (high - low)[0], low[1] + share * (high - low)[1]
    ends = [np.column_stack([x, np.full(12, side)]) for side in (low[1], high[1])]
    sides = [np.column_stack([np.full(12, side), y]) for side in (low[0], high[0])]
    return np.asarray(np.vstack([*ends, *sides]) @ turn)


def led_to(at: FloatArray, outside: NDArray[np.bool_], stab: float) -> NDArray[np.bool_]:
    """Return which places, (n, 2) mm, are among the strips, or led to from there, step by step.

    outside: (n,) which are not among them; all count, if all are outside. stab: mm between places
    that are stabs of one corner.
    """
    if outside.all() or not outside.any():
        return np.ones(len(at), dtype=bool)
    inner = at[~outside]
    gaps = cKDTree(inner).query(inner, k=min(7, len(inner)))[0]
    usual = [float(row[row > stab][0]) for row in gaps if (row > stab).any()]
    reach = max(LEADS * float(np.median(usual)) if usual else 0.0, LEAST)
    pairs = cKDTree(at).query_pairs(reach, output_type="ndarray")
    joined = coo_array((np.ones(len(pairs)), pairs.T), (len(at), len(at)))
    label = connected_components(joined, directed=False)[1]
    return np.asarray(np.isin(label, label[~outside]))
