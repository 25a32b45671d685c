"""The ring of stabs around a corner: where its middle is, and what drawn lines leave in and beside
it.

Stabs are set around a corner evenly (common practice), and not into its middle, where its lines
meet: there, and where a line goes on beyond the corner, pencil is darkest and looks like a stab.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from plotout import FloatArray

WITHIN = 4.2  # mm from a spot beyond a ring to its stabs
STABS = 3  # that make one
# of a ring's radius, from its middle: in its midst, beyond it, and how far the mean may be off
MIDST, BEYOND, EVEN = 0.65, 1.4, 0.28
# share of the stabs' depth that is a line's own: up to so much in their midst, and beyond them
PALE, PALER = 0.8, 0.7  # (rendered: lines at most 0.74, stabs on lines there at least 0.72)
DARKER = 1.05  # times as dark as a spot are the stabs by which it is judged
UNEVEN = (0.1, 0.25)  # of the radius, by which the mean of three is off: of three, or of four
UNSEEN = 0.7  # share of the way to where the middle of four is: a fourth is never certain


def middle_of(stabs: FloatArray) -> FloatArray:
    """Return the middle of a ring of stabs, (n, 2), of which one of four may be unseen.

    Three of four lie to one side of it, and their mean with them, by a third of the radius.
    """
    mean = stabs.mean(axis=0)
    if len(stabs) != STABS:
        return np.asarray(mean)
    middle, radius = circle(stabs)
    off = float(np.hypot(*(middle - mean))) / max(radius, 1e-9)
    share = UNSEEN * float(np.clip((off - UNEVEN[0]) / (UNEVEN[1] - UNEVEN[0]), 0.0, 1.0))
    return np.asarray(mean + share * (middle - mean))


def of_lines(
    at: FloatArray, depth: FloatArray, lined: NDArray[np.bool_], certain: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Return which spots, (n, 2) mm, are a line's own amid a ring of certain stabs or beside it.

    depth: (n,) darkness; lined: (n,) which of them lie on a line.
    """
    made = np.zeros(len(at), dtype=bool)
    sure = np.flatnonzero(certain)
    if len(sure) < STABS:
        return made
    near = cKDTree(at[sure]).query_ball_point(at, WITHIN)
    for spot in np.flatnonzero(lined).tolist():
        ring = sure[near[spot]]
        ring = ring[(depth[ring] > DARKER * depth[spot]) & (ring != spot)]
        if len(ring) < STABS:
            continue
        middle, radius = circle(at[ring])
        if np.hypot(*(at[ring].mean(axis=0) - middle)) > EVEN * radius:
            continue
        far = np.hypot(*(at[spot] - middle)) / radius
        pale = depth[spot] / np.median(depth[ring])
        made[spot] = (far < MIDST and pale < PALE) or (far > BEYOND and pale < PALER)
    return made


def circle(stabs: FloatArray) -> tuple[FloatArray, float]:
    """Return the middle and the radius of the smallest circle around places, (n, 2)."""
    mean = stabs.mean(axis=0)
    middle, radius = cv2.minEnclosingCircle((stabs - mean).astype(np.float32))
    return mean + np.array(middle), float(radius)
