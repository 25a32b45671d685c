"""A trailing blade simulated: independent of plotout, which only gives where the pivot goes.

A rigid bar, the tip at its trailing end, whose tip can only move along the bar. With the pivot at P
and the bar's heading a (tip T = P - d (cos a, sin a)), no sideways motion of the tip means
    da/ds = sin(b - a) / d
for a pivot that moves in direction b (the tractrix; any text on nonholonomic motion or towed
wheels). Integrated by the classic Runge-Kutta method in small steps; nothing closed-form.
"""

from __future__ import annotations

import math

import numba
import numpy as np


@numba.njit(cache=False)
def _drag(pivot, offset, heading, step):
    total = 0
    for i in range(len(pivot) - 1):
        total += (
            int(math.hypot(pivot[i + 1, 0] - pivot[i, 0], pivot[i + 1, 1] - pivot[i, 1]) / step) + 1
        )
    tips = np.empty((total + 1, 2))
    tips[0, 0] = pivot[0, 0] - offset * math.cos(heading)
    tips[0, 1] = pivot[0, 1] - offset * math.sin(heading)
    owner = np.zeros(total + 1, dtype=np.int64)
    n = 1
    a = heading
    for i in range(len(pivot) - 1):
        dx, dy = pivot[i + 1, 0] - pivot[i, 0], pivot[i + 1, 1] - pivot[i, 1]
        size = math.hypot(dx, dy)
        count = int(size / step) + 1
        h, b = size / count / offset, math.atan2(dy, dx)
        for k in range(count):
            k1 = math.sin(b - a)
            k2 = math.sin(b - a - h * k1 / 2)
            k3 = math.sin(b - a - h * k2 / 2)
            k4 = math.sin(b - a - h * k3)
            a += h * (k1 + 2 * k2 + 2 * k3 + k4) / 6
            share = (k + 1) / count
            tips[n, 0] = pivot[i, 0] + share * dx - offset * math.cos(a)
            tips[n, 1] = pivot[i, 1] + share * dy - offset * math.sin(a)
            owner[n] = i
            n += 1
    return tips, owner, a


def drag(pivot, offset, heading, step=0.01):
    """Return the tip's places (m, 2), the pivot segment of each (m,), and the last heading."""
    return _drag(np.ascontiguousarray(pivot, dtype=float), float(offset), float(heading), step)
