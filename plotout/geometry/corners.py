"""Joins of two parallels round a corner of the stitching line.

Every function takes the corner's `Ends` and returns the parallel before the corner, the points
between, and the parallel after it, cut off or lengthened as the corner requires.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np

from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray

Joined = tuple[FloatArray, FloatArray, FloatArray]
_NONE = np.empty((0, 2))
_FLIP = np.array([-1.0, 1.0])
_STRAIGHT = 0.5  # degrees: a line that turns by less runs straight on
_SHARE = 1.0 / 3.0  # of a line from corner to corner: the most that a narrower allowance takes
_SHORT = 1.5  # allowances: a shorter line has its allowance past its other end
_BESIDE = 0.01  # mm: a line no further beside another is on it


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """A corner and the parallels that meet at it.

    before, after: (n, 2), the parallels. corner: (2,). wide_before, wide_after: allowances there.
    into, out: unit directions of the stitching line into and out of the corner. ahead, behind:
    those in which the parallels go on past their ends at the corner.
    under: (n, 2), closed, of a turned-back corner: the cutting line of what its allowance is folded
    onto, in the direction of the sides; empty if it isn't known.
    stretches: mm of stitching line from the corner to the ones before and after it.
    """

    before: FloatArray
    after: FloatArray
    corner: FloatArray
    wide_before: float
    wide_after: float
    into: FloatArray
    out: FloatArray
    ahead: FloatArray
    behind: FloatArray
    under: FloatArray = field(default_factory=lambda: _NONE)
    stretches: tuple[float, float] = (np.inf, np.inf)

    @property
    def turn(self) -> float:
        """Degrees that the stitching line turns here, positive at an outer corner."""
        return float(np.degrees(np.arctan2(_cross(self.into, self.out), self.into @ self.out)))

    def reversed(self) -> Ends:
        """Return the corner as it is met from the other side."""
        return Ends(
            self.after[::-1],
            self.before[::-1],
            self.corner,
            self.wide_after,
            self.wide_before,
            -self.out,
            -self.into,
            self.behind,
            self.ahead,
            self.under[::-1],
            self.stretches[::-1],
        )

    def flipped(self) -> Ends:
        """Return the corner's mirror image in the line x = 0, met from the other side."""
        back = self.reversed()
        found = {one.name: getattr(back, one.name) for one in fields(back)}
        found = {n: v * _FLIP if isinstance(v, np.ndarray) else v for n, v in found.items()}
        return Ends(**found)

    @property
    def wide(self) -> float:
        """The wider of the two allowances."""
        return max(abs(self.wide_before), abs(self.wide_after))


def stepped(ends: Ends) -> Joined:
    """Join straight across, at inner corners, whose parallels cross, and at steps."""
    return ends.before, _NONE, ends.after


def blunt(ends: Ends) -> Joined:
    """Cut the tip off square, no nearer to the corner than the wider allowance."""
    return mitre(ends, 1.0)


def mitre(ends: Ends, limit: float) -> Joined:
    """Extend both parallels until they meet; cut the tip off past `limit` wider allowances."""
    tangent, normal_out = ends.ahead, ends.behind
    q1, q2 = ends.before[-1], ends.after[0]
    together = np.hypot(*(q2 - q1)) < 1e-9
    tip = None if together else _meeting(q1, tangent, q2, normal_out)
    if tip is None:
        return stepped(ends)
    ahead, behind = (tip - q1) @ tangent, (tip - q2) @ normal_out
    most = limit * ends.wide
    if ahead >= -1e-9 and behind >= -1e-9:
        if np.hypot(*(tip - ends.corner)) <= most + 1e-9:
            return ends.before, tip[None], ends.after
        return (
            ends.before,
            _cut_off(ends.corner, tip, most, (q1, tangent), (q2, normal_out)),
            (ends.after),
        )
    if abs(ends.turn) < _STRAIGHT and abs(_cross(q2 - q1, tangent)) < _BESIDE:
        return _run_on(ends, tip)
    inner = ahead < 0.0 and behind < 0.0  # the parallels already cross
    if inner or max(-ahead, -behind) > most:  # or nearly straight, of different widths
        return stepped(ends)
    return trimmed(ends, tip)


def _run_on(ends: Ends, tip: FloatArray) -> Joined:
    """End both parallels at their tip, where the stitching line goes on almost straight.

    If they lie so nearly along one line that their tip may be anywhere on it, it is in the middle
    of what they share.
    """
    middle = (ends.before[-1] + ends.after[0]) / 2.0
    if _apart(tip, middle) > _apart(ends.before[-1], ends.after[0]):
        tip = middle
    before = ends.before[: _up_to(ends.before, tip, ends.ahead)]
    after = ends.after[::-1][: _up_to(ends.after[::-1], tip, ends.behind)][::-1]
    if not (len(before) and len(after)):
        return stepped(ends)
    return np.vstack([before, tip]), _NONE, np.vstack([tip, after])


def _up_to(line: FloatArray, place: FloatArray, onward: FloatArray) -> int:
    """Return how many points of a line are left without those at its end that lie past a place."""
    short_of = np.flatnonzero((line - place) @ onward < 0.0)
    return int(short_of[-1]) + 1 if len(short_of) else 0


def trimmed(ends: Ends, tip: FloatArray) -> Joined:
    """Cut off the part of a parallel beyond the other's line through `tip`, unless that is a great
    part of its edge.
    """
    if (tip - ends.before[-1]) @ ends.ahead >= 0.0:
        before, between, after = trimmed(ends.reversed(), tip)
        return after[::-1], between[::-1], before[::-1]
    # the line after the corner, extended back, cuts the parallel before it
    found = first_crossing(ends.before[::-1], ends.after[0], ends.behind)
    if found is None:
        return stepped(ends)
    kept = cut_at(ends.before, found)
    lost, whole = length(ends.before) - length(kept), ends.stretches[0]
    if whole > _SHORT * ends.wide and lost > _SHARE * whole:
        return stepped(ends)
    return kept, _NONE, ends.after


def cut_at(line: FloatArray, found: tuple[int, FloatArray]) -> FloatArray:
    """Cut the line off at a crossing that was found on its reverse."""
    return np.vstack([line[: len(line) - 1 - found[0]], found[1]])


def squared(ends: Ends, limit: float, *, after: bool = True) -> Joined:
    """End the allowance of the side after the corner, or before it, square to its stitching line.

    It ends where that stitching line, extended past the corner, meets the cutting line of the other
    side, so that the two allowances lie edge to edge when they are sewn.
    """
    if after:
        return _squared(ends, limit)
    before, between, behind = (line[::-1] * _FLIP for line in _squared(ends.flipped(), limit))
    return behind, between, before


def _squared(ends: Ends, limit: float) -> Joined:
    tangent = ends.ahead
    foot = _meeting(ends.before[-1], tangent, ends.corner, -ends.out)
    if foot is None or np.hypot(*(foot - ends.corner)) > limit * ends.wide + 1e-9:
        return mitre(ends, limit)
    if (foot - ends.corner) @ -ends.out < 0.0:
        return mitre(ends, limit)
    outward = np.array([ends.out[1], -ends.out[0]])
    shoulder = foot + outward * ends.wide_after
    if (foot - ends.before[-1]) @ tangent >= 0.0:
        return ends.before, np.vstack([foot, shoulder]), ends.after
    found = first_crossing(ends.before[::-1], ends.corner, -ends.out)
    if found is None:
        return mitre(ends, limit)
    return cut_at(ends.before, found), (found[1] + outward * ends.wide_after)[None], ends.after


def first_crossing(
    line: FloatArray,
    start: FloatArray,
    direction: FloatArray,
    reach: tuple[float, float] = (0.0, np.inf),
) -> tuple[int, FloatArray] | None:
    """Return where `line` first meets a ray from `start`: the segment number and the point.

    Return None if it doesn't. reach: the least and greatest distance from `start`, mm.
    """
    across = np.array([-direction[1], direction[0]])
    height = (line - start) @ across
    change = height[:-1] * height[1:]
    for index in np.flatnonzero((change <= 0.0) & (height[:-1] != height[1:])):
        share = height[index] / (height[index] - height[index + 1])
        point = line[index] + share * (line[index + 1] - line[index])
        if reach[0] - 1e-9 <= (point - start) @ direction <= reach[1] + 1e-9:
            return int(index), point
    return None


def crossing(one: FloatArray, other: FloatArray) -> tuple[int, int, FloatArray] | None:
    """Return where line `one` first meets line `other`: segment numbers and point."""
    for index in range(len(one) - 1):
        step = one[index + 1] - one[index]
        size = float(np.hypot(*step))
        if size < 1e-12:
            continue
        found = first_crossing(other, one[index], step / size, (0.0, size))
        if found is not None:
            return index, found[0], found[1]
    return None


def _cut_off(
    corner: FloatArray,
    tip: FloatArray,
    reach: float,
    first: tuple[FloatArray, FloatArray],
    second: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """Return both ends of a straight cut across the mitre, `reach` mm from the corner."""
    outward = (tip - corner) / np.hypot(*(tip - corner))
    across = np.array([-outward[1], outward[0]])
    middle = corner + outward * reach
    cuts = [_meeting(*line, middle, across) for line in (first, second)]
    kept = []
    for cut, (start, direction) in zip(cuts, (first, second), strict=True):
        kept.append(cut if cut is not None and (cut - start) @ direction > 0.0 else start)
    return np.vstack(kept)


def _meeting(
    one: FloatArray, direction: FloatArray, other: FloatArray, other_direction: FloatArray
) -> FloatArray | None:
    """Return where two straight lines meet, or None if they are nearly parallel."""
    sin = _cross(direction, other_direction)
    if abs(sin) < 1e-9:
        return None
    return np.asarray(one + direction * (_cross(other - one, other_direction) / sin))


def _apart(one: FloatArray, other: FloatArray) -> float:
    return float(np.hypot(*(one - other)))


def end_tangent(line: FloatArray) -> FloatArray:
    """Return the unit direction in which the line ends."""
    apart = line[np.hypot(*(line - line[-1]).T) > 1e-9]
    if not len(apart):
        raise ValueError("an edge has no length")
    step = line[-1] - apart[-1]
    return np.asarray(step / np.hypot(*step))


def _cross(one: FloatArray, other: FloatArray) -> float:
    return float(one[0] * other[1] - one[1] * other[0])
