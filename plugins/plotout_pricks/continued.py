"""How a curve goes on past its outermost prick: to a corner that nobody pricked."""

from __future__ import annotations

import numpy as np
import shapely

from plotout import FloatArray
from plotout_pricks.bend import Tails, cross
from plotout_pricks.tightening import Neighbour, turn_to_square

FLAT = 0.005  # mm that a flattened curve may lie off
REACH = 60.0  # mm by which a run may be lengthened to meet its neighbour
STRAIGHT_REACH = 2.0 * REACH  # by which a straight one may, if it crosses none before
STEPS = 30
NEAR = 20.0  # mm of a curve's end whose bend is continued
TURN = np.radians(60.0)  # by which the continuation may turn
SMOOTH = np.radians(30.0)  # a curve that meets its neighbour at a greater angle isn't smooth there
TURNED = 45.0  # mm past its last prick within which a curve may come to run along its neighbour
LIES_OFF = (
    0.5,
    0.5,
)  # of how far off a line a curve that comes to run along it lies, as it bends, at
# least, less so many mm: one that is nearer to it crosses it (judgement)
UNSURE = 0.5  # of the end's bend: how far (one sigma) the bend past it is from what is expected
ROUNDED = 1.5  # times the rise of the bend and `NEAR`: the turn that a fit rounds off at its end
ROUNDED_UNSURE = 0.5  # of that turn: one sigma
MADE_UP = 4.0  # mm past the end over which that turn is made up, without a kink


def beyond(
    curves: Tails,
    drift: FloatArray | None = None,
    neighbour: Neighbour | None = None,
    reach: float = REACH,
) -> FloatArray:
    """Return the curves' continuations past their ends, (m, STEPS, 2).

    They bend as their ends do, but no more than the whole curves do on average: the bend at an end
    rests on few pricks, and where it is much sharper than elsewhere, or bends the other way, it is
    as often too sharp as not (tests/bench/corner.py). Extended straight, a curve that bends evenly
    would meet a line at a small angle far too late.

    A fit rounds off the end of a curve that tightens towards its corner, as a back neck does: its
    heading there has turned too little. The more its bend rises up to the end, the more it still
    has to turn (measured on nineteen families of curves: of several measures of the rise, that of
    the bend over the last 10 mm above the last 20 foretells it best). The more a curve turns back,
    the less of that turn is made up: an S is led on more truly without it.

    drift: (m,), normal deviates by which the bend is another; 0 by default. What
    was taken off the bend at the end may be there all the same, as along an S, which turns back by
    as much as it turned: it makes the bend so much less sure. So does a turn that isn't made up.
    reach: mm.
    """
    bend, heading = curves.ends(NEAR)
    usual, one_way = curves.turned
    expected = np.where(bend * usual > 0.0, np.minimum(np.abs(bend), np.abs(usual)), 0.0)
    expected = plain = expected * np.sign(bend)
    rise = curves.ends(NEAR / 2.0)[0] - bend
    rounded = ROUNDED * NEAR * np.where(rise * bend > 0.0, rise, 0.0)
    made_up = one_way * rounded
    if drift is not None:
        expected = expected + UNSURE * drift * (2.0 * bend - expected)
        made_up = made_up + ROUNDED_UNSURE * drift * (2.0 * rounded - made_up)
    at = reach * np.linspace(0.0, 1.0, STEPS + 1) ** 2  # closer where a tight end turns
    middle = (at[1:] + at[:-1]) / 2.0
    turn = expected[:, None] * middle + made_up[:, None] * np.minimum(middle / MADE_UP, 1.0)
    if neighbour is not None and neighbour.square > 0.0:
        squared = turn_to_square(curves, neighbour, plain, middle, drift)
        turn = turn + neighbour.square * (squared - turn)
    turn = np.clip(turn, -TURN, TURN) + heading[:, None]
    steps = np.stack([np.cos(turn), np.sin(turn)], axis=2) * np.diff(at)[:, None]
    return np.asarray(curves.last[:, None] + np.cumsum(steps, axis=1))


def bent_to(corner: FloatArray, line: FloatArray) -> FloatArray:
    """Return a line, (k, 2), whose last stretch is bent so that it ends at a corner near its end.

    The nearer to the end, the further it is moved, without a kink: a notch at the corner is square
    to the line there.
    """
    gap = corner - line[-1]
    if np.hypot(*gap) < FLAT:
        return np.vstack([line[:-1], [corner]])
    fine = shapely.get_coordinates(shapely.segmentize(shapely.LineString(line), 1.0))
    steps = np.hypot(*np.diff(fine, axis=0).T)
    before_end = np.concatenate([np.cumsum(steps[::-1])[::-1], [0.0]])
    share = np.clip(1.0 - before_end / min(NEAR, steps.sum() / 2.0), 0.0, 1.0) ** 2
    bent = shapely.simplify(shapely.LineString(fine + share[:, None] * gap), FLAT)
    return np.vstack([shapely.get_coordinates(bent)[:-1], [corner]])


def touching(curves: Tails, at: FloatArray, along: FloatArray, reach: float = TURNED) -> FloatArray:
    """Return where curves that bend towards lines would touch them, (m, 2), nan where none would.

    A curve that meets its neighbour smoothly lies off it by the square of the distance, and its
    tangent crosses it half way. Whether it does, or crosses at a small angle, pricks hardly show:
    the bend at its end is little known, and how far off it lies even less, so that the nearer is
    taken of where its tangent and where its bend would bring it along the line. But where it is
    much nearer to the line than its angle and its bend would have it, it crosses.
    at, along: (m, 2), a point on each line and its unit direction. reach: mm past the curves' ends
    within which they do.
    """
    bend, heading = curves.ends(NEAR)
    end = curves.last
    ahead = np.column_stack([np.cos(heading), np.sin(heading)])
    along = along * np.sign((ahead * along).sum(axis=1))[:, None]
    off = along[:, 0] * (end - at)[:, 1] - along[:, 1] * (end - at)[:, 0]
    angle = np.arctan2(cross(along, ahead), (along * ahead).sum(axis=1))
    with np.errstate(divide="ignore", invalid="ignore"):
        by_bend = -angle / bend
        by_tangent = -2.0 * off / np.tan(angle)
    share, slack = LIES_OFF
    lies_off = np.abs(off) > share * np.abs(angle) * by_bend / 2.0 - slack
    touches = (np.abs(angle) < SMOOTH) & (by_bend > 0.0) & (by_bend < reach) & lies_off
    gap = np.where(by_tangent > 0.0, np.minimum(by_tangent, by_bend), by_bend)
    foot = at + along * ((end - at) * along).sum(axis=1)[:, None]
    return np.where(touches[:, None], foot + along * gap[:, None], np.nan)
