"""The grain line of a card, where the card has room for it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from plotout.finish.card_marks import ARROW, CLEAR, arrow_head, free_area
from plotout.geometry.polyline import length, unit
from plotout.geometry.region import lines_in
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work

_SMALL_ARROW = 3.0  # mm: of one on a card with no room for more
_STEP = 2.0  # mm by which a grain line is moved aside
_NEARLY = 0.7  # of the longest grain line that a card has room for


def grain_strokes(
    grain: FloatArray,
    card: BaseGeometry,
    taken: Sequence[BaseGeometry],
    *,
    one_way: bool = False,
) -> list[Stroke]:
    """Return the grain line with an arrow head at both ends, or at its head only.

    It is shortened to stay within the card and clear of what is `taken`: the longest clear stretch
    is kept. Where none is longer than the arrow heads, it is moved aside, as little as gives it
    most of the length that it could have anywhere; at last with small arrow heads. No strokes where
    there is no room at all.
    """
    return shortened_grains(grain, card, taken, (1.0,), one_way=one_way)[0]


def shortened_grains(
    grain: FloatArray,
    card: BaseGeometry,
    taken: Sequence[BaseGeometry],
    shares: Sequence[float],
    *,
    one_way: bool = False,
) -> list[list[Stroke]]:
    """Return the grain line's strokes for each share: its upper part, as long as that share of it.

    See `grain_strokes`.
    """
    direction = unit(grain[1] - grain[0])
    for head in (ARROW, _SMALL_ARROW):
        free = free_area(card, 4.0, taken, CLEAR + head * 0.3)
        line = _clear_stretch(LineString(grain), free, direction, 2.5 * head)
        if line is None:
            line = _aside(grain, free, direction, 2.5 * head)
        if line is None:
            continue
        least, tip = 2.5 * head, line[1]
        tails = [tip - direction * max(share * length(line), least) for share in shares]
        return [_arrow(tail, tip, direction, head, one_way=one_way) for tail in tails]
    return [[] for _ in shares]


def _arrow(
    tail: FloatArray, tip: FloatArray, direction: FloatArray, head: float, *, one_way: bool
) -> list[Stroke]:
    """Return the strokes of a grain line from tail to tip, with heads as large as `head` mm."""
    lines = [np.vstack([tail, tip]), arrow_head(tip, direction, head)]
    if not one_way:
        lines.append(arrow_head(tail, -direction, head))
    return [Stroke(line, Work.DRAW, Mark.GRAIN) for line in lines]


def _clear_stretch(
    line: LineString, free: BaseGeometry, direction: FloatArray, least: float
) -> FloatArray | None:
    """Return the line's longest stretch within `free`, (2, 2), along `direction`.

    None if it is shorter than `least` mm.
    """
    return _longest(lines_in(line.intersection(free)), direction, least)


def _longest(
    stretches: Sequence[LineString], direction: FloatArray, least: float
) -> FloatArray | None:
    """Return the longest of straight stretches, (2, 2), along `direction`; None as above."""
    if not stretches:
        return None
    longest = max(stretches, key=lambda part: (part.length, part.bounds))
    found = np.asarray(longest.coords)[[0, -1]]
    if length(found) < least:
        return None
    return found if (found[1] - found[0]) @ direction > 0.0 else found[::-1]


def _aside(
    grain: FloatArray, free: BaseGeometry, direction: FloatArray, least: float
) -> FloatArray | None:
    """Return the nearest place beside a grain line that is nearly as long as any, (2, 2)."""
    if free.is_empty:
        return None
    across = np.array([-direction[1], direction[0]])
    middle = grain.mean(axis=0)
    reach = (shapely.get_coordinates(free) - middle) @ across
    steps = np.arange(np.floor(reach.min()), np.ceil(reach.max()) + 1.0, _STEP)
    far = direction * (np.hypot(*np.ptp(shapely.get_coordinates(free), axis=0)) + length(grain))
    at = middle + steps[:, None] * across
    lines = shapely.multilinestrings(np.stack([at - far, at + far], axis=1))
    beside: dict[int, list[LineString]] = {}
    for part in lines_in(lines.intersection(free)):  # together: the area is gone through once
        step = (np.asarray(part.coords)[0] - middle) @ across
        beside.setdefault(int(np.abs(steps - step).argmin()), []).append(part)
    nearest_first = sorted(beside, key=lambda row: abs(steps[row]))
    rows = (_longest(beside[row], direction, least) for row in nearest_first)
    found = [line for line in rows if line is not None]
    if not found:
        return None
    enough = _NEARLY * max(length(line) for line in found)
    return next(line for line in found if length(line) >= enough)
