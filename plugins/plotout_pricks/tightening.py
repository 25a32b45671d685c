"""Ends of curves that bend more and more towards a corner that nobody pricked, as a back neck does.

Pricks a few millimetres short of such a corner don't show how far the curve turns up to it: a neck
80 mm wide and 23 mm deep turns by 30 degrees over its last 6 mm. But what tightens so turns until
it meets its neighbour about square: necks, armholes and heads of sleeves are drafted so, since else
the seam's other side would have to make up for it (common practice).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from plotout import FloatArray
from plotout_pricks.bend import Tails, cross

SHORT, LONG = 10.0, 40.0  # mm of a curve's end: how its bend over the first exceeds that over both
RISES = 0.05, 0.2  # by which share it must, to be thought to tighten at all, and surely
BENDS = 0.1, 0.25  # radians over 20 mm: the same of the bend, since a flat one's rise is scatter
SQUARE = -15.0, 50.0  # degrees left to turn until it is square, within which that is thought
BESIDE = 15.0  # degrees outside of these over which it is so no more
LAG = 0.2  # radians of what is left that a fit, which rounds its end off, lacks at its last prick
SHARPEST = 0.2, 0.12  # 1/mm, of a garment's curves: what would have to bend so isn't square
MADE_UP = 1.0  # mm past the end over which that is made up, without a kink
NOT_SQUARE = (
    0.2  # radians: one sigma of the turn: a neck upright to a sloping shoulder is 20 degrees off;
)
UNEVEN = 0.15  # and of what is left: how that is spread over the gap
GAP = 1.0  # mm to the neighbour at least
FAR = 25.0, 10.0  # mm to it: further off, the pricks don't show that a curve tightens up to it
AHEAD = 0.3  # sine of the angle to the neighbour at least, by which the gap is reckoned


class Neighbour(NamedTuple):
    """The lines of a run next to curves, or their tangents where they begin, (m, 2) each.

    at, along: a point on each and its unit direction. square: how much it is thought that the
    curves tighten until they meet it square, 0 to 1.
    """

    at: FloatArray
    along: FloatArray
    square: float = 0.0


def meets_square(curves: Tails, neighbour: Neighbour) -> float:
    """Return how much curves are thought to tighten until square to it, 0 to 1.

    They are a curve as likely as its pricks show it: the middle one of each measure counts.
    """
    bend, _ = curves.ends(SHORT)
    wider, _ = curves.ends(LONG)
    like = np.where(bend * wider > 0.0, np.abs(wider) / np.maximum(np.abs(bend), 1e-9), 1.0)
    angle, gap = _to_square(curves, neighbour)
    return (
        _between(RISES, 1.0 - like)
        * _between(BENDS, np.abs(bend) * 20.0)
        * _between(FAR, gap)
        * _between(SHARPEST, (angle - LAG) / gap)
        * _squarish(float(np.degrees(np.median(angle))))
    )


def turn_to_square(
    curves: Tails,
    neighbour: Neighbour,
    expected: FloatArray,
    places: FloatArray,
    drift: FloatArray | None,
) -> FloatArray:
    """Return by how much curves turn up to places past their ends, (m, p), radians.

    expected: (m,), 1/mm, the bend that they have there in any case. places: (p,), mm. drift: (m,),
    normal deviates by which they turn by more in the direction of their bend; none by default.
    """
    angle, gap = _to_square(curves, neighbour)
    left = np.maximum(angle - np.abs(expected) * gap, 0.0)
    lag = np.minimum(left, LAG)[:, None]
    reached = np.clip(places / gap[:, None], 0.0, 1.0)
    turned = lag * np.minimum(places / MADE_UP, 1.0) + (left[:, None] - lag) * reached
    if drift is not None:
        sigma = NOT_SQUARE + UNEVEN * left
        turned = turned + (drift * sigma)[:, None] * np.clip(0.3 + 1.4 * reached, 0.0, 1.0)
    onwards = np.sign(curves.ends(SHORT)[0])[:, None]
    return np.asarray(expected[:, None] * places + onwards * turned)


def _to_square(curves: Tails, neighbour: Neighbour) -> tuple[FloatArray, FloatArray]:
    """Return by how many radians curves turn until square to it, as they bend, and the gap, mm."""
    bend, heading = curves.ends(SHORT)
    ahead = np.column_stack([np.cos(heading), np.sin(heading)])
    off = cross(neighbour.along, neighbour.at - curves.last)
    square = np.column_stack([neighbour.along[:, 1], -neighbour.along[:, 0]])
    square = square * np.where(off < 0.0, 1.0, -1.0)[:, None]
    towards = (ahead * square).sum(axis=1)
    angle = np.arctan2(cross(ahead, square), towards) * np.sign(bend)
    return angle, np.maximum(np.abs(off) / np.maximum(towards, AHEAD), GAP)


def _between(limits: tuple[float, float], values: FloatArray) -> float:
    """Return how far the middle one of values lies from the first limit to the second, 0 to 1."""
    first, second = limits
    return float(np.clip((np.median(values) - first) / (second - first), 0.0, 1.0))


def _squarish(angle: float) -> float:
    """Return whether a curve with so many degrees left may meet its neighbour square, 0 to 1."""
    outside = max(SQUARE[0] - angle, angle - SQUARE[1], 0.0)
    return max(1.0 - outside / BESIDE, 0.0)
