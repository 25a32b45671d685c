"""Arcs of RS-274/NGC (G-code), by their centre or their radius.

Source: NIST IR 6556 (2000), 3.5.3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from plotout_readback.tracing import arc

_FLAT = 0.002  # mm by which chords may deviate from their arc
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Bend:
    """How a G2 or G3 bends, mm. sense: 1 counter-clockwise, -1 clockwise. radius: by R; None: its
    centre is i, j from its start, or from the origin (absolute).
    """

    sense: float
    radius: float | None
    i: float
    j: float
    absolute: bool

    def path(self, start: Point, end: Point) -> tuple[list[float], str]:
        """Return its points after the start, x and y in turn, and in words what is wrong with
        it: it is then taken as straight.
        """
        centre: Point | None
        if self.radius is not None:
            centre = _centre(start, end, self.radius, self.sense)
            if centre is None:
                return list(end), "an arc with ends further apart than its diameter"
        else:
            base_x, base_y = (0.0, 0.0) if self.absolute else start
            centre = (base_x + self.i, base_y + self.j)
        x, y = start
        first = math.atan2(y - centre[1], x - centre[0])
        last = math.atan2(end[1] - centre[1], end[0] - centre[0])
        sweep = (last - first) * self.sense % (2.0 * math.pi)
        if math.hypot(end[0] - x, end[1] - y) < 1e-9:
            sweep = 2.0 * math.pi
        near, far = math.dist(centre, start), math.dist(centre, end)
        if abs(near - far) > 0.02 + 0.001 * near:  # an error
            return list(end), f"an arc whose radii differ by {abs(near - far):.3f} mm"
        flat = arc(start, centre, sweep * self.sense, _FLAT)
        share = np.arange(1, len(flat) // 2 + 1) / (len(flat) // 2)
        slip = np.array(end) - np.array(flat[-2:])  # the stated end holds; rounding is spread
        spread = np.array(flat).reshape(-1, 2) + share[:, None] * slip
        path: list[float] = spread.ravel().tolist()
        return path, ""


def _centre(start: Point, end: Point, radius: float, sense: float) -> Point | None:
    """Return the centre of an arc in radius form (negative radius: the longer arc)."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    apart = math.hypot(dx, dy)
    if apart < 1e-12 or apart > 2.0 * abs(radius) * 1.0001:
        return None
    height = math.sqrt(max(radius * radius - apart * apart / 4.0, 0.0))
    side = sense if radius > 0.0 else -sense
    return (
        (start[0] + end[0]) / 2.0 - side * height * dy / apart,
        (start[1] + end[1]) / 2.0 + side * height * dx / apart,
    )
