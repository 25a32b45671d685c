"""Long work on a roll, done frame by frame with the paper advanced in between.

A frame is what the machine reaches at a time. Its joints lie where they cross the fewest cards, or
a window apart where the machine advances the roll. They are marked so that a slip of the paper
shows: the two frames draw half of every mark each.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely

from plotout.errors import UserError
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.layout.stock.model import StockSheet
from plotout.model import Placed, Sheet

HALF = 4.0
"""Length in mm of half a joint's mark."""
_STEP = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """One frame of a sheet: from `start` to `end` along its length, mm; strokes in order."""

    start: float
    end: float
    strokes: tuple[Stroke, ...]


def joints(sheet: Sheet, window: float, *, even: bool = False) -> tuple[float, ...]:
    """Return where the frames of a sheet join, mm along it; no frame is longer than `window`.

    A joint crosses as few cards as possible, then lies as far along as possible. even: the joints
    are a window apart, wherever the cards lie.
    """
    if not window > 4.0 * HALF:
        raise UserError(
            f"a window of {window:g} mm is too short to work in",
            fix="Check the bed in its profile.",
        )
    return tuple(at for at, _ in _joints(sheet.placed, _last(sheet.strokes), window, even))


def crossed(cards: Sequence[Placed], window: float, *, even: bool = False) -> int:
    """Return how many cards of a lay are crossed by joints, summed over the joints."""
    last = max((float(placed.outline[:, 0].max()) for placed in cards), default=0.0)
    return sum(count for _, count in _joints(cards, last, window, even))


def _joints(
    cards: Sequence[Placed], last: float, window: float, even: bool
) -> list[tuple[float, int]]:
    """Return the joints of work that ends at `last`, with the number of cards they cross."""
    spans = [(p.outline[:, 0].min(), p.outline[:, 0].max()) for p in cards]
    low, high = np.array(spans, dtype=np.float64).reshape(-1, 2).T
    found: list[tuple[float, int]] = []
    begin = 0.0
    while last - begin > window + 1e-9:
        most = min(begin + window, last - 2.0 * HALF)
        places = np.arange(most, begin + window / 2.0, -_STEP)
        if even:
            places = np.array([begin + window])
        through = ((low[:, None] < places) & (high[:, None] > places)).sum(axis=0)
        best = int(np.argmin(through))
        begin = float(places[best])
        found.append((begin, int(through[best])))
    return found


def joint_marks(
    sheet: Sheet, at: Sequence[float], reach: tuple[float, float] | None = None
) -> tuple[Stroke, ...]:
    """Return the marks across the joints: two per joint, beside the cards where there is room.

    reach: the range across the sheet in which they may lie, mm; all of it by default.
    """
    bottom, top = reach or (0.0, sheet.height)
    bodies = shapely.union_all([shapely.Polygon(p.outline) for p in sheet.placed]).buffer(1.0)
    strokes: list[Stroke] = []
    for x in at:
        line = shapely.LineString([(x, bottom), (x, top)])
        free = [
            part.bounds
            for part in shapely.get_parts(line.difference(bodies)).tolist()
            if part.length >= 3.0 * HALF
        ]
        ends = (free[0][1], free[-1][3]) if free else (bottom, top)
        low, high = min(ends) + 1.5 * HALF, max(ends) - 1.5 * HALF
        for y in (low, high):
            strokes += _mark(x, y)
    return tuple(strokes)


def with_joints(sheet: Sheet, kind: StockSheet) -> Sheet:
    """Return a sheet with the marks of its frames' joints, if it is worked in frames."""
    if kind.window is None:
        return sheet
    _, bottom, _, top = kind.inner
    at = joints(sheet, kind.window, even=kind.even)
    return replace(sheet, marks=(*sheet.marks, *joint_marks(sheet, at, (bottom, top))))


def frames(strokes: Sequence[Stroke], at: Sequence[float]) -> tuple[Frame, ...]:
    """Return work frame by frame. at: where frames join, mm along the sheet.

    A stroke that crosses a joint is divided there; a dot on one belongs to the earlier frame.
    """
    bounds = [0.0, *at, max(_last(strokes), *at, 0.0)]
    return tuple(
        Frame(start, end, tuple(part for s in strokes for part in _within(s, start, end)))
        for start, end in pairwise(bounds)
    )


def stages(sheet: Sheet, length: float) -> tuple[tuple[Stroke, ...], ...]:
    """Return the strokes of a sheet, undivided, in stages along it, so that a roll moves forward.

    length: of a stage, mm. Its end is chosen as for frames; a card belongs to the stage in which it
    ends, so that the roll goes back no further than the length of a card.
    """
    at = joints(sheet, length)
    found: list[list[Stroke]] = [[] for _ in (*at, 0.0)]
    for placed in sheet.placed:
        found[bisect_left(at, placed.outline[:, 0].max())].extend(placed.strokes)
    for mark in sheet.marks:
        found[bisect_left(at, mark.points[:, 0].max())].append(mark)
    return tuple(tuple(stage) for stage in found if stage)


def _last(strokes: Sequence[Stroke]) -> float:
    """Return where work ends, mm along its sheet."""
    return max((float(s.points[:, 0].max()) for s in strokes), default=0.0)


def _mark(x: float, y: float) -> list[Stroke]:
    """Return a line across the joint and one along it; both frames draw half of them."""
    lines = (
        [(x - HALF, y), (x, y)],
        [(x, y), (x + HALF, y)],
        [(x - 0.02, y - HALF), (x - 0.02, y)],
        [(x + 0.02, y), (x + 0.02, y + HALF)],
    )
    return [Stroke(np.array(line), Work.DRAW, Mark.REGISTRATION) for line in lines]


def _within(stroke: Stroke, start: float, end: float) -> list[Stroke]:
    x = stroke.points[:, 0]
    if len(x) == 1:
        return [stroke] if start < x[0] <= end or x[0] == start == 0.0 else []
    if start <= x.min() and x.max() <= end:
        on_joint = x.min() == x.max() == start and start > 0.0
        return [] if on_joint else [stroke]
    if x.max() <= start or x.min() >= end:
        return []
    low, high = stroke.points[:, 1].min() - 1.0, stroke.points[:, 1].max() + 1.0
    inside = shapely.LineString(stroke.points) & shapely.box(start, low, end, high)
    lines = [line for line in shapely.get_parts(inside).tolist() if line.length > 0.0]
    merged = shapely.line_merge(shapely.MultiLineString(lines))
    return [
        replace(stroke, points=np.asarray(line.coords, dtype=np.float64))
        for line in shapely.get_parts(merged).tolist()
    ]
