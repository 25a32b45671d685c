"""What is drawn on a card: fold, internal lines, drill holes, areas."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.geometry.dashes import dashed
from plotout.geometry.grown import buffered, grown
from plotout.geometry.hatch import hatched
from plotout.geometry.lettering import text_lines, text_width
from plotout.geometry.polyline import length, unit
from plotout.geometry.region import line_shapes, lines_in
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.pattern.model import Area, Drill, InternalLine
from plotout.tongue import Tongue

CLEAR = 2.5  # mm between a mark and what must not touch it
_HATCH = 12.0  # mm between the lines of an area: sparse, so that it can be written on
_FOLD_INSET = 3.0  # mm from the fold edge to its dash-dot line
_TIP = 0.5  # mm from that edge to the arrows that point to it
_BRACKET = 10.0  # mm from the fold edge to its bracket
ARROW = 6.0  # mm, length of an arrow head
_AT_ONCE = 2_000  # shapes grown and united at a time, since an outline takes a kilobyte

_KINDS = {
    "internal": (Work.DRAW, Mark.INTERNAL),
    "stripe": (Work.DRAW, Mark.STRIPE),
    "plaid": (Work.DRAW, Mark.PLAID),
    "cut-out": (Work.CUT, Mark.CUTOUT),
}


def clear_of(shapes: Sequence[BaseGeometry], reach: float) -> BaseGeometry:
    """Return everything within `reach` mm of any of the shapes."""
    if not len(shapes):
        return Polygon()
    if reach <= 0.0:
        return shapely.union_all(list(shapes))
    parts = [shapely.union_all(grown(some, reach)) for some in _side_by_side(shapes)]
    return parts[0] if len(parts) == 1 else shapely.union_all(parts)


def _side_by_side(shapes: Sequence[BaseGeometry]) -> Iterator[Sequence[BaseGeometry]]:
    """Give the shapes, if there are very many, in parts that lie side by side."""
    if len(shapes) <= _AT_ONCE:
        yield shapes
        return
    every = np.array(shapes)
    box = shapely.bounds(every)
    across, up = (box[:, :2] + box[:, 2:]).T
    strips = int(np.ceil(np.sqrt(len(every) / _AT_ONCE)))
    for strip in np.array_split(np.argsort(across, kind="stable"), strips):
        rank = strip[np.argsort(up[strip], kind="stable")]
        for part in np.array_split(rank, strips):
            yield every[part].tolist()


def free_area(
    card: BaseGeometry, margin: float, taken: Sequence[BaseGeometry], reach: float
) -> BaseGeometry:
    """Return what lies `margin` mm within a card's edge, and `reach` mm clear of what is taken."""
    within: BaseGeometry = buffered(card, -margin)
    return within.difference(clear_of(taken, reach))


def shapes_of(strokes: Sequence[Stroke]) -> list[BaseGeometry]:
    """Return the strokes as geometry, without hatching: lines, and discs for punched holes."""
    shown = [
        stroke
        for stroke in strokes
        if len(stroke.points) != 2 or stroke.mark not in (Mark.AREA, Mark.UNDERLAP)
    ]
    lines = iter(line_shapes([s.points for s in shown if len(s.points) > 1]).tolist())
    return [
        Point(stroke.points[0]).buffer(max(stroke.size / 2.0, 0.5))
        if len(stroke.points) == 1
        else next(lines)
        for stroke in shown
    ]


def arrow_head(tip: FloatArray, direction: FloatArray, size: float = ARROW) -> FloatArray:
    """Return an open arrow head, (3, 2), whose tip points along the unit vector `direction`."""
    across = np.array([-direction[1], direction[0]]) * size * 0.3
    back = tip - direction * size
    return np.vstack([back + across, tip, back - across])


def line_strokes(lines: Sequence[InternalLine]) -> list[Stroke]:
    """Return internal, stripe and plaid lines to draw, lines to score, and cut-outs to cut."""
    found = []
    for line in lines:
        work, mark = _KINDS[line.kind]
        points = line.points
        if line.kind == "cut-out" and not (points[0] == points[-1]).all():
            points = np.vstack([points, points[:1]])
        found.append(Stroke(points, Work.SCORE if line.work is Work.SCORE else work, mark))
    return found


def drill_strokes(drills: Sequence[Drill]) -> list[Stroke]:
    """Return the drill holes, as holes to punch or as crosses drawn to their size."""
    found = []
    for drill in drills:
        at = np.array(drill.at)
        if drill.cross:
            arm = max(drill.size / 2.0, 2.0)
            for direction in (np.array([arm, 0.0]), np.array([0.0, arm])):
                found.append(
                    Stroke(np.vstack([at - direction, at + direction]), Work.DRAW, Mark.DRILL)
                )
        else:
            found.append(Stroke(at[None].copy(), Work.PUNCH, Mark.DRILL, size=drill.size))
    return found


def area_strokes(
    areas: Sequence[Area], within: BaseGeometry, *, bordered: bool = True
) -> list[Stroke]:
    """Return the areas' outlines, if `bordered`, and a sparse hatch `within` the card."""
    found = []
    for area in areas:
        shape = Polygon(area.points).buffer(0.0).intersection(within)
        for ring in lines_in(shapely.line_merge(shape.boundary)) if bordered else ():
            found.append(Stroke(np.asarray(ring.coords), Work.DRAW, Mark.AREA))
        found += [Stroke(line, Work.DRAW, Mark.AREA) for line in hatched(shape, _HATCH)]
    return found


def fold_strokes(
    fold: FloatArray,
    card: BaseGeometry,
    taken: Sequence[BaseGeometry],
    lettering: float,
    say: Tongue,
) -> list[Stroke]:
    """Return the fold's dash-dot line, just inside its edge, and the bracket that points to it.

    fold: the fold edge, (n, 2), mm, with the piece on its left. The bracket keeps clear of what is
    `taken`, if there is room along the fold. Line type: ISO 128-2, long dash dot.
    """
    direction = unit(fold[-1] - fold[0])
    inward = np.array([-direction[1], direction[0]])
    line = straight_within(card, fold[0] + inward * _FOLD_INSET, direction)
    if line is None:
        return []
    whole = length(line)
    trim = min(_FOLD_INSET, whole / 4.0) * direction
    line = np.vstack([line[0] + trim, line[1] - trim])
    found = [Stroke(dash, Work.DRAW, Mark.FOLD) for dash in dashed(line)]
    reach = min(whole * 0.5, 120.0)
    busy = clear_of(taken, CLEAR)
    brackets = [
        _bracket(
            line[0] + (line[1] - line[0]) * share, direction, inward, reach * size, lettering, say
        )
        for size in (1.0, 0.5)
        for share in (0.5, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85)
        if reach * size / 2.0 <= min(share, 1.0 - share) * whole
    ]
    free = (
        bracket for bracket in brackets
        if not any(busy.intersects(LineString(line)) for part in bracket for line in part)
    )  # fmt: skip
    lines, letters = next(free, brackets[0])
    found += [Stroke(line, Work.DRAW, Mark.FOLD) for line in lines]
    return found + [Stroke(line, Work.DRAW, Mark.LETTERING) for line in letters]


def _bracket(
    middle: FloatArray,
    direction: FloatArray,
    inward: FloatArray,
    reach: float,
    lettering: float,
    say: Tongue,
) -> tuple[list[FloatArray], list[FloatArray]]:
    """Return a bracket with two arrows to the fold, the card's edge, and its words beside it."""
    rise = inward * (_BRACKET - _FOLD_INSET)
    low, high = middle - direction * reach / 2.0, middle + direction * reach / 2.0
    feet = [foot - inward * (_FOLD_INSET - _TIP) for foot in (low, high)]
    found = [np.vstack([feet[0], low + rise, high + rise, feet[1]])]
    found += [arrow_head(foot, -inward, 3.5) for foot in feet]
    height = min(lettering, 3.5)
    words = next(
        (
            text
            for text in (say("place on fold"), say("fold"))
            if text_width(text, height) < reach - 4.0
        ),
        "",
    )
    return found, beside(words, middle + rise, direction, inward, height)


def straight_within(
    card: BaseGeometry, start: FloatArray, direction: FloatArray
) -> FloatArray | None:
    """Return the longest stretch, (2, 2), of a straight line that lies within the card.

    It runs along the unit vector `direction`.
    """
    middle = start + direction * float((np.array(card.centroid.coords[0]) - start) @ direction)
    far = 2.0 * float(np.hypot(*np.ptp(np.reshape(card.bounds, (2, 2)), axis=0))) + 1.0
    crossing = card.intersection(LineString([middle - direction * far, middle + direction * far]))
    parts = lines_in(crossing)
    if not parts:
        return None
    line = np.asarray(max(parts, key=lambda part: float(part.length)).coords)[[0, -1]]
    return line if (line[1] - line[0]) @ direction > 0.0 else line[::-1]


class Stand(NamedTuple):
    """Where text stands: its letters, rows of points, times `turn`, (2, 2), plus `foot`, (2,)."""

    turn: FloatArray
    foot: FloatArray


def stand_beside(
    text: str, middle: FloatArray, direction: FloatArray, away: FloatArray, height: float
) -> Stand:
    """Return where `text` stands along a line, centred on `middle`, on the side of `away`.

    It is read from the bottom or from the right of the card.
    """
    direction = readable(direction)
    up = np.array([-direction[1], direction[0]])
    wide = text_width(text, height)
    gap = height * 0.8
    foot = middle - direction * wide / 2.0 + (up * gap if up @ away > 0 else -up * (gap + height))
    return Stand(np.vstack([direction, up]), foot)


def written(text: str, height: float, stand: Stand) -> list[FloatArray]:
    """Return the lines of text, (n, 2) each, where it stands."""
    return [line @ stand.turn + stand.foot for line in text_lines(text, height)]


def beside(
    text: str, middle: FloatArray, direction: FloatArray, away: FloatArray, height: float
) -> list[FloatArray]:
    """Return `text` written along a line; see `stand_beside`."""
    return written(text, height, stand_beside(text, middle, direction, away, height))


def readable(direction: FloatArray) -> FloatArray:
    """Return the unit vector or its opposite, so that text along it reads from bottom or right.

    Steep lines are read from the right, up to 30 degrees past upright (ISO 129-1 leaves that zone
    to the draughtsman).
    """
    angle = np.degrees(np.arctan2(direction[1], direction[0]))
    return direction if -60.0 < angle <= 120.0 + 1e-6 else -direction
