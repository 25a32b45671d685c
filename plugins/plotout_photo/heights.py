"""The heights of paper that lifts, which pictures from different sides show: a smooth surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plotout import FloatArray
from plotout_photo.camera import eye_of
from plotout_photo.model import BEND, HEIGHT, Net
from plotout_photo.solve import Solution

NODE = 110.0  # mm between nodes of the net of heights
ASIDE = 12.0  # least degrees between two views that show a height


@dataclass(frozen=True, slots=True, eq=False)
class Heights:
    """The net of heights as a function of the place."""

    low: FloatArray
    nodes: tuple[int, int]
    values: FloatArray

    @classmethod
    def of(cls, solution: Solution, x: FloatArray | None = None) -> Heights | None:
        """Return a solution's net, or None. x: unknowns other than the solution's."""
        net = solution.model.net
        if net is None:
            return None
        x = solution.x if x is None else x
        return cls(net.low, net.nodes, x[solution.model.net_at :])

    def __call__(self, at: FloatArray) -> FloatArray:
        """Return the paper's height at places (n, 2), mm."""
        return np.asarray(_basis(at, self.low, self.nodes) @ self.values)


def see_heights(solution: Solution) -> bool:
    """Return whether two lenses see the table's middle from clearly different sides."""
    eyes = [
        eye_of(view.kind, solution.model.camera(solution.x, index))
        for index, view in enumerate(solution.model.views)
        if not view.kind.flat
    ]
    if len(eyes) < 2:
        return False
    strips = [solution.model.pose(solution.x, s)[1:] for s in solution.model.strips]
    middle = np.array([*np.mean(strips, axis=0), 0.0])
    ways = np.array([(eye - middle) / np.linalg.norm(eye - middle) for eye in eyes])
    return bool(np.degrees(np.arccos(np.clip((ways @ ways.T).min(), -1, 1))) > ASIDE)


def net_over(at: FloatArray) -> Net:
    """Return a net of heights over places (n, 2): bicubic B-splines, smooth between nodes."""
    low = at.min(axis=0) - 1.0
    size = np.ptp(at, axis=0) + 2.0
    cells = np.maximum(np.round(size / NODE), 1).astype(int)
    nodes = (int(cells[0]) + 3, int(cells[1]) + 3)
    step = float(np.max(size / cells))
    index = np.arange(nodes[0] * nodes[1]).reshape(nodes)
    rows = []
    for grid in (index, index.T):
        for line in grid:
            for a, b, c in zip(line, line[1:], line[2:], strict=False):
                row = np.zeros(index.size)
                row[[a, b, c]] = [1.0, -2.0, 1.0]
                rows.append(row / BEND)
    rows += list(np.eye(index.size) / HEIGHT)
    low_and_step = np.array([*low, step])
    return Net(_basis(at, low_and_step, nodes), np.array(rows), low_and_step, nodes)


def _basis(at: FloatArray, low_and_step: FloatArray, nodes: tuple[int, int]) -> FloatArray:
    """Return the weights of the nodes at places, (n, nodes): uniform cubic B-splines."""
    made = []
    for axis in (0, 1):
        t = (at[:, axis] - low_and_step[axis]) / low_and_step[2]
        t = np.clip(t, 0.0, nodes[axis] - 3 - 1e-9)
        cell = np.floor(t).astype(int)
        f = t - cell
        weights = np.column_stack([(1 - f) ** 3, 3 * f**3 - 6 * f**2 + 4,
                                   -3 * f**3 + 3 * f**2 + 3 * f + 1, f**3]) / 6.0  # fmt: skip
        full = np.zeros((len(at), nodes[axis]))
        for k in range(4):
            full[np.arange(len(at)), cell + k] = weights[:, k]
        made.append(full)
    return np.asarray(np.einsum("ni,nj->nij", *made).reshape(len(at), -1))
