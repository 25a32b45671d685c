"""The cost of travel in the search: its distance, or the machine's time."""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.machine.motion import travel_seconds

DISTANCE = np.zeros(5)


def model_of(motion: Motion | None) -> FloatArray:
    """Return the cost model in the form for the compiled loops, shape (5,).

    0 for distance in mm, 1 for seconds, 2 for seconds with independent axes; then the travel speed
    in mm/s and the acceleration in mm/s2; and what follows from these, so that it isn't reckoned
    for every travel: the mm in which the machine reaches its speed and stops, and their seconds.
    """
    if motion is None:
        return DISTANCE
    kind = 2.0 if motion.independent else 1.0
    speed, acceleration = motion.travel_speed, motion.acceleration
    return np.array(
        [kind, speed, acceleration, speed * speed / acceleration, 2.0 * speed / acceleration]
    )


def costs(start: FloatArray, end: FloatArray, motion: Motion | None) -> FloatArray:
    """Return the costs of travel between places, (..., 2), mm: mm, or seconds with a motion."""
    if motion is None:
        step = end - start
        return np.asarray(np.hypot(step[..., 0], step[..., 1]))
    return travel_seconds(start, end, motion)
