"""What isn't seen but must be there: corners where a path turns at once.

The path through pricks cuts off a corner of which no stab was seen, and nobody would notice. But
between two pricks a curve turns about as much as between the next ones, and a corner turns at once.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray

TURN = 40.0  # degrees by which the path turns more between two pricks than beside them
GENTLE = 20.0  # and those that are enough where stabs are seen
LED = (0.8, 0.06)  # mm, and share of the way to stabs, by which a path may pass beside them
SIDE = 5  # pricks, at most, that show how the path goes on to one side
LEAST = 3  # and at least
LOOK, FEW = 12.0, 2  # degrees and pricks for a corner that a picture is to show
FAR = 1.8  # greatest way from a prick to such a corner, in the usual distance of pricks
ROUGH = 0.6  # mm: pricks that scatter more about their own curve show no direction


_End = tuple[FloatArray, FloatArray, float, float]
"""Of a part of a path: the place where it ends, its direction and bend there, and its scatter."""


class Turn(NamedTuple):
    """Where a path turns: its place, and its directions before and after, mm."""

    at: FloatArray
    before: FloatArray
    after: FloatArray


def corners_unseen(ring: FloatArray, corner: NDArray[np.bool_]) -> list[tuple[int, FloatArray]]:
    """Return the steps of a closed path, (n, 2) mm, that must hold a corner, and its place.

    corner: (n,) which places are corners. Step k goes from place k to the next.
    """
    count = len(ring)
    if count < 2 * LEAST + 1:
        return []
    usual = float(np.median(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)))
    found: list[tuple[float, int, FloatArray]] = []
    for k in range(count):
        sides = [_side(ring, corner, k, -1), _side(ring, corner, (k + 1) % count, 1)]
        if min(map(len, sides)) < LEAST:
            continue
        ends = [_end(side) for side in sides]
        if max(rough for *_, rough in ends) > ROUGH:
            continue
        (here, ahead, *_), (there, back, *_) = ends
        step, sharper = _sharper(*ends)
        meeting = _meeting(here, ahead, there, back)
        if sharper < TURN or meeting is None:
            continue
        ways = [float((meeting - here) @ ahead), float((meeting - there) @ back)]
        if min(ways) > -0.2 * usual and max(ways) < FAR * max(usual, step / 1.5):
            found.append((sharper, k, meeting))
    made: list[tuple[int, FloatArray]] = []
    for _, k, at in sorted(found, key=lambda one: -one[0]):  # the clearest of steps that adjoin
        if all(min((k - other) % count, (other - k) % count) > 2 for other, _ in made):
            made.append((k, at))
    return sorted(made, key=lambda one: one[0])


def turns_at(ring: FloatArray, corner: NDArray[np.bool_], at: FloatArray) -> bool:
    """Return whether a closed path, (n, 2) mm, leads to a place from both sides, and turns at once.

    corner: (n,) which of its places are corners.
    """
    after = np.roll(ring, -1, axis=0)
    gaps = [np.hypot(*(ends - at).T) for ends in (ring, after)]
    k = int(np.argmin(gaps[0] + gaps[1] - np.hypot(*(after - ring).T)))
    sides = [_side(ring, corner, k, -1), _side(ring, corner, (k + 1) % len(ring), 1)]
    if min(map(len, sides)) < LEAST:
        return False
    ends = [_end(side) for side in sides]
    if max(rough for *_, rough in ends) > ROUGH or _sharper(*ends)[1] < GENTLE:
        return False
    for here, ahead, bend, _ in ends:
        along, across = (at - here) @ ahead, (at - here) @ np.array([-ahead[1], ahead[0]])
        off = abs(across - bend / 2.0 * along**2)
        if along < 0.0 or off > LED[0] + LED[1] * along:
            return False
    return True


def turns_to_look_at(ring: FloatArray, corner: NDArray[np.bool_]) -> list[Turn]:
    """Return where a closed path, (n, 2) mm, turns more than beside: there may be a corner.

    corner: (n,) which places are corners. Between two places, or at one that is no corner.
    """
    count, found = len(ring), list[Turn]()
    for k in range(count) if count > 2 * FEW else ():
        for first, last in ((k, (k + 1) % count), (k - 1, (k + 1) % count)):
            if first != k and corner[k]:
                continue
            sides = [_side(ring, corner, first, -1), _side(ring, corner, last, 1)]
            if min(map(len, sides)) < FEW:
                continue
            ends = [_end(side) for side in sides]
            (here, ahead, *_), (there, back, *_) = ends
            step, sharper = _sharper(*ends)
            if sharper < LOOK:
                continue
            meeting = _meeting(here, ahead, there, back) if first == k else ring[k]
            if meeting is not None and np.hypot(*(meeting - (here + there) / 2.0)) < step:
                found.append(Turn(meeting, ahead, back))
    return found


def _side(ring: FloatArray, corner: NDArray[np.bool_], start: int, way: int) -> FloatArray:
    """Return the places from one on, away from a step, up to a corner; the nearest last."""
    places = []
    for step in range(SIDE):
        at = (start + way * step) % len(ring)
        if corner[at]:
            break
        places.append(ring[at])
    return np.array(places[::-1]).reshape(-1, 2)


def _sharper(one: _End, other: _End) -> tuple[float, float]:
    """Return the step from one part of a path to the other, mm, and by how many degrees more the
    path turns over it than beside it.
    """
    step = float(np.hypot(*(other[0] - one[0])))
    turn = float(np.degrees(np.arccos(np.clip(-one[1] @ other[1], -1.0, 1.0))))
    return step, turn - float(np.degrees(max(abs(one[2]), abs(other[2])))) * step


def _end(places: FloatArray) -> _End:
    """Return the place where a part of a path ends, its direction and its bend there, and its
    scatter.

    The bend is in radians per mm; with three places, there is none.
    """
    chord = places[-1] - places[0]
    ahead = chord / max(float(np.hypot(*chord)), 1e-9)
    side = np.array([-ahead[1], ahead[0]])
    along, across = (places - places[-1]) @ ahead, (places - places[-1]) @ side
    degree = 2 if len(places) > LEAST + 1 else 1
    fit = np.polyfit(along, across, degree)
    rough = float(np.abs(np.polyval(fit, along) - across).max())
    slope = float(np.polyval(np.polyder(fit), 0.0))
    way = (ahead + slope * side) / np.hypot(1.0, slope)
    bend = 2.0 * float(fit[0]) / np.hypot(1.0, slope) ** 3 if degree == 2 else 0.0
    return places[-1] + float(fit[-1]) * side, way, bend, rough


def _meeting(
    one: FloatArray, way: FloatArray, other: FloatArray, other_way: FloatArray
) -> FloatArray | None:
    """Return where two straights meet."""
    sin = way[0] * other_way[1] - way[1] * other_way[0]
    if abs(sin) < 0.2:
        return None
    gap = other - one
    return np.asarray(one + way * (gap[0] * other_way[1] - gap[1] * other_way[0]) / sin)
