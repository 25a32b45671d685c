"""How long the machine takes from place to place with its tool up: the only cost model.

The order of the work and the time estimate both use it. Speed rises and falls evenly (a trapezoid
over time), from rest to rest: common practice in motion control, no source.
"""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine.model import Machine, Motion


def reach(start: FloatArray, end: FloatArray, motion: Motion) -> FloatArray:
    """Return how far the machine's slowest axis moves, mm: (..., 2) and (..., 2) to (...).

    This is the longer side where the axes move independently, else the straight distance.
    """
    step = np.abs(end - start)
    if motion.independent:
        return np.asarray(step.max(axis=-1))
    return np.asarray(np.hypot(step[..., 0], step[..., 1]))


def rest_to_rest(distance: FloatArray, speed: float, acceleration: float) -> FloatArray:
    """Return the seconds for distances in mm, at most `speed` mm/s, at `acceleration` mm/s2."""
    ramp = speed * speed / acceleration
    short = 2.0 * np.sqrt(np.minimum(distance, ramp) / acceleration)
    return np.asarray(short + np.maximum(distance - ramp, 0.0) / speed)


def travel_seconds(start: FloatArray, end: FloatArray, motion: Motion) -> FloatArray:
    """Return the seconds of travel between places, mm, (..., 2), without lifting and lowering."""
    return rest_to_rest(reach(start, end, motion), motion.travel_speed, motion.acceleration)


def handling_seconds(depths: FloatArray, machine: Machine) -> tuple[FloatArray, FloatArray]:
    """Return the seconds to lower a tool to depths in mm, (n,), and to lift it, (n,).

    None for depths above the height of travel, as a file by hand may have.
    """
    motion, drop = machine.motion, machine.drop
    if drop is None:
        return np.full(len(depths), motion.lower), np.full(len(depths), motion.lift)
    rise = np.maximum(drop.up + depths, 0.0)
    return (
        rest_to_rest(rise, drop.plunge, motion.acceleration),
        rest_to_rest(rise, motion.travel_speed, motion.acceleration),
    )
