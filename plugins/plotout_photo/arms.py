"""The drawn lines at a place, such as the pencil lines that meet at a corner, up to their ends.

What a line looks like is seen where it is alone, some millimetres away; that is carried on to the
place. Where two lines lie over each other, light passes both: what they let through is multiplied.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.special import erf

from plotout import FloatArray

LENGTH = 4.0  # mm of a line that are looked at
SHORTEST = 2.4  # mm of it that must be seen
HALF = 1.2  # mm to either side that are looked at
FAINT = 0.045  # least darkness of a line
PARTED = 0.4  # share of the darkest line: what is fainter parts two lines beside each other
ONE = 0.25  # mm by which the two sides of one line may miss each other
STRAIGHT = 12.0  # degrees by which they may turn
FARTHER = (6.0, 10.0)  # mm of a line by which its bend is seen: so far, then so far
ON_IT = 0.25  # share of a line's darkness where it still passes over a place
STEP = 0.5  # pixels between the places of a profile


@dataclass(frozen=True, slots=True, eq=False)
class Arm:
    """A line at a place. origin: (2,) pixels; along: its direction there, away from the place.

    bend: (3,) polynomial of how far it lies to the left of that, by the distance from the origin.
    profile: its darkness across, every STEP pixels. points: (n, 2) pixels on it. ends: whether it
    ends at the place; it passes it otherwise.
    """

    origin: FloatArray
    along: FloatArray
    bend: FloatArray
    profile: FloatArray
    points: FloatArray
    ends: bool = True

    def dark(self, at: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return its darkness at places (n, 2) if it went on, (n,), and their places along it."""
        u, v = _turned(at - self.origin, self.along)
        middle = (len(self.profile) - 1) / 2.0
        where = (v - np.polyval(self.bend, u)) / STEP + middle
        places = np.arange(len(self.profile))
        return np.interp(where, places, self.profile, left=0.0, right=0.0), u


def _turned(offset: FloatArray, along: FloatArray) -> tuple[FloatArray, FloatArray]:
    return offset @ along, offset @ np.array([-along[1], along[0]])


def arms_at(dark: Any, drawn: Any, centre: FloatArray, inner: float, scale: float) -> list[Arm]:
    """Return the lines at a place (2,), seen from `inner` pixels on.

    dark: the picture's darkness; drawn: that of its lines; scale: pixels per mm.
    """
    outer = inner + LENGTH * scale
    low = np.maximum(np.floor(centre - outer).astype(int), 0)
    high = np.ceil(centre + outer).astype(int) + 1
    patch = drawn[low[1] : high[1], low[0] : high[0]]
    if not (patch > FAINT).any():
        return []
    y, x = np.mgrid[: patch.shape[0], : patch.shape[1]]
    far = np.hypot(x + low[0] - centre[0], y + low[1] - centre[1])
    ring = (far > inner) & (far < outer)
    seen = ring & (patch > max(FAINT, PARTED * patch[ring].max(initial=0.0)))
    count, label = cv2.connectedComponents(seen.astype(np.uint8))
    arms = []
    for nth in range(1, count):
        row, column = np.nonzero(label == nth)
        points = np.column_stack([column, row]) + low
        arm = _arm(dark, drawn, points, patch[row, column], centre, scale)
        if arm is not None:
            arms.append(arm)
    return _joined(arms, centre, scale)


def _arm(
    dark: Any, drawn: Any, points: FloatArray, weight: FloatArray, centre: FloatArray, scale: float
) -> Arm | None:
    """Return the line whose pixels are given, (n, 2), or None if they are no line."""
    if len(points) < 8:
        return None
    middle = np.average(points, axis=0, weights=weight)
    spread, ways = np.linalg.eigh(np.cov((points - middle).T, aweights=weight))
    if 12.0 * spread[1] < (SHORTEST * scale) ** 2:
        return None
    along = ways[:, 1] * np.sign(ways[:, 1] @ (middle - centre))
    reach = np.sqrt(12.0 * spread[1]) / 2.0
    steps = np.arange(-reach, reach + 0.5)
    across = np.arange(-HALF * scale, HALF * scale + STEP, STEP)
    bend = np.zeros(3)
    for _ in range(2):
        value = _strip(drawn, middle, along, bend, steps, across)
        total = value.sum(axis=1)
        clear = total > 0.5 * np.median(total)
        if clear.sum() < 4:
            return None
        off = (value[clear] @ across) / total[clear]
        bend[1:] += np.polyfit(steps[clear], off, 1)
    if abs(bend[1]) > 0.5:
        return None
    profile = np.median(_strip(dark, middle, along, bend, steps, across), axis=0)
    side = np.array([-along[1], along[0]])
    on_it = middle + steps[:, None] * along + np.polyval(bend, steps)[:, None] * side
    return Arm(middle, along, bend, _faded(profile), on_it)


def _faded(profile: FloatArray) -> FloatArray:
    """Return a profile without the paper's own darkness: that of its outer quarters."""
    quarter = len(profile) // 4
    ground = np.median(np.concatenate([profile[:quarter], profile[-quarter:]]))
    bell = np.clip(profile - ground, 0.0, 0.9)
    middle = (len(profile) - 1) / 2.0
    side = np.abs(np.arange(len(profile)) - middle) / middle
    return np.asarray(bell * np.clip((1.0 - side) / 0.3, 0.0, 1.0))


def _strip(
    picture: Any, origin: FloatArray, along: FloatArray, bend: FloatArray, u: FloatArray,
    v: FloatArray,
) -> FloatArray:  # fmt: skip
    """Return the picture along a line and across it, (len(u), len(v))."""
    side = np.array([-along[1], along[0]])
    across = v[None, :] + np.polyval(bend, u)[:, None]
    points = origin + u[:, None, None] * along + across[:, :, None] * side
    return np.asarray(
        map_coordinates(
            picture, [points[..., 1], points[..., 0]], order=1, mode="nearest", output=np.float64
        )
    )


def _joined(arms: list[Arm], centre: FloatArray, scale: float) -> list[Arm]:
    """Make one of two arms that are the two sides of a line which passes the place."""
    left, made = list(arms), []
    while left:
        arm = left.pop(0)
        for other in left:
            through = _through(arm, other, centre, scale)
            if through is not None:
                left = [each for each in left if each is not other]
                arm = through
                break
        made.append(arm)
    return made


def _through(arm: Arm, other: Arm, centre: FloatArray, scale: float) -> Arm | None:
    if arm.along @ other.along > -np.cos(np.radians(STRAIGHT)):
        return None
    points = np.vstack([arm.points, other.points])
    along = arm.along - other.along
    along = along / np.hypot(*along)
    u, v = _turned(points - centre, along)
    bend = np.polyfit(u, v, 2)
    if np.abs(np.polyval(bend, u) - v).max() > ONE * scale:
        return None
    profile = (arm.profile + other.profile[::-1]) / 2.0
    return replace(arm, origin=centre, along=along, bend=bend, profile=profile, points=points,
                   ends=False)  # fmt: skip


def first_ends(arms: Sequence[Arm], centre: FloatArray, within: float) -> FloatArray:
    """Return where the arms are likely to end, (n,) along each: where they meet, or at the place.

    A line that passes has no end: minus infinity. within: pixels from the place.
    """
    ends = []
    for arm in arms:
        if not arm.ends:
            ends.append(-np.inf)
            continue
        here = float((centre - arm.origin) @ arm.along)
        meet = [
            at for other in arms if other is not arm
            if (at := _meeting(arm, other)) is not None and abs(at - here) < within
        ]  # fmt: skip
        ends.append(min(meet, key=lambda at: abs(at - here)) if meet else here)
    return np.array(ends)


def direction_at(drawn: Any, arm: Arm, at: FloatArray, scale: float) -> FloatArray:
    """Return a line's direction at a place, (2,) pixels, away from it.

    A line that ends there is carried on as it is bent over the next FARTHER millimetres.
    """
    bend, side = arm.bend, np.array([-arm.along[1], arm.along[0]])
    start = float((arm.points[0] - arm.origin) @ arm.along)
    across = np.arange(-HALF * scale, HALF * scale + STEP, STEP)
    for length in FARTHER if arm.ends else ():
        steps = np.arange(start, start + length * scale)
        value = _strip(drawn, arm.origin, arm.along, bend, steps, across)
        total = value.sum(axis=1)
        clear = total > 0.5 * np.median(total)
        if clear.sum() < 4:
            break
        bend = bend + np.polyfit(steps[clear], (value[clear] @ across) / total[clear], 2)
    slope = float(np.polyval(np.polyder(bend), (at - arm.origin) @ arm.along))
    return np.asarray((arm.along + slope * side) / np.hypot(1.0, slope))


def lines_over(arms: Sequence[Arm], at: FloatArray) -> NDArray[np.intp]:
    """Return how many lines would pass over places, (n,), if none ended."""
    over = [arm.dark(at)[0] > ON_IT * arm.profile.max() for arm in arms]
    return np.asarray(np.sum(over, axis=0, dtype=np.intp))


def meeting_of(arm: Arm, other: Arm) -> FloatArray | None:
    """Return where two arms cross, (2,) pixels, as straights; None if they hardly turn."""
    at = _meeting(arm, other)
    if at is None:
        return None
    side = np.array([-arm.along[1], arm.along[0]])
    return np.asarray(arm.origin + at * arm.along + np.polyval(arm.bend[1:], at) * side)


def _meeting(arm: Arm, other: Arm) -> float | None:
    """Return where along an arm another one crosses it, as straights."""
    a, b = (each.along + each.bend[1] * np.array([-each.along[1], each.along[0]])
            for each in (arm, other))  # fmt: skip
    start, end = (each.origin + each.bend[2] * np.array([-each.along[1], each.along[0]])
                  for each in (arm, other))  # fmt: skip
    turn = a[0] * b[1] - a[1] * b[0]
    if abs(turn) < 0.2:
        return None
    gap = end - start
    return float((gap[0] * b[1] - gap[1] * b[0]) / turn)


class Lines:
    """The arms at places (n, 2), whose ends may be moved. blur: sigma of the picture, pixels."""

    def __init__(self, arms: Sequence[Arm], at: FloatArray, blur: float) -> None:
        self.blur = blur
        seen = [arm.dark(at) for arm in arms]
        self.dark = np.array([dark for dark, _ in seen]).reshape(len(arms), len(at))
        self.along = np.array([along for _, along in seen]).reshape(len(arms), len(at))

    def __call__(self, ends: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the darkness of all lines, (n,), and its slopes by their ends, (m, n)."""
        past = (self.along - ends[:, None]) / (np.sqrt(2.0) * self.blur)
        each = self.dark * (1.0 + erf(past)) / 2.0
        clear = np.prod(1.0 - each, axis=0)
        edge = np.exp(-np.minimum(past**2, 50.0)) / (np.sqrt(2.0 * np.pi) * self.blur)
        return 1.0 - clear, -self.dark * edge * clear / (1.0 - each)
