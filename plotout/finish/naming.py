"""Words along lines: names of edges and internal lines, where there is room."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from plotout.finish.bare_card import Label
from plotout.finish.card_marks import Stand, stand_beside, written
from plotout.geometry.lettering import text_lines, text_width
from plotout.geometry.polyline import distances, length, unit
from plotout.geometry.region import lines_in
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work

HEIGHTS = (3.5, 2.5)  # ISO 3098-1, mm
_EDGE = 3.0  # mm from letters to the card's edge
_CLEAR = 1.5  # mm from letters to any other mark
_WORDS = 5.0  # mm from letters to words before and after them on their line; common practice
_LOST = 25.0  # mm of a line, to be missed
_WHOLE = 0.9  # of a shorter line, to be missed
_USUAL = (50, 35, 65, 20, 80)
_PLACES = (*_USUAL, *sorted({*range(5, 100, 5)} - {*_USUAL}, key=lambda share: abs(share - 50)))
"""Where words may stand, per cent of the line's length, the best first."""


@dataclass(frozen=True, slots=True)
class Lettered:
    """Words along lines as strokes, and the words for which they have no room.

    lost: of lines without any. short: of lines with fewer words. missing: the lines of both.
    zones: the areas that the words take.
    """

    strokes: list[Stroke]
    lost: list[str]
    short: list[str]
    missing: list[Label]
    zones: list[BaseGeometry]

    @property
    def missed(self) -> tuple[int, int]:
        """How many lines have no words, and how many have fewer."""
        return len(self.lost), len(self.short)

    @property
    def warnings(self) -> list[str]:
        """What is missing, in words."""
        parts = ((self.lost, "for"), (self.short, "for all of"))
        return [
            f"it has no room along its lines {what}: {listed(words)}"
            for words, what in parts
            if words
        ]


def listed(words: Iterable[str]) -> str:
    """Return words, each once, for a note in any language."""
    return "; ".join(f"'{word}'" for word in dict.fromkeys(words))


def label_strokes(
    labels: Sequence[Label],
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    words: Sequence[BaseGeometry] = (),
    heights: Sequence[float] = HEIGHTS,
) -> Lettered:
    """Return the words lettered along their lines, shortened for want of room.

    shape: the card. taken: what they keep clear of, including the lines themselves. words: the
    shapes of other words; if there is room, nobody reads on from one to the other. heights: of the
    letters, mm, the best first.
    """
    found: list[Stroke] = []
    lost: list[str] = []
    short: list[str] = []
    missing: list[Label] = []
    zones: list[BaseGeometry] = []
    others = list(words)
    shapely.prepare(shape)
    for label in labels:
        fitting = _fitting(label, shape, taken, others, heights)
        text, zone, letters = next(fitting, ("", None, []))
        if letters:
            others.append(zone)
            zones.append(zone)
            found += [Stroke(letter, Work.DRAW, Mark.LETTERING) for letter in letters]
            if text != label.texts[0]:
                short.append(label.texts[0])
                missing.append(label)
        elif _is_missed(label, shape):
            lost.append(label.texts[0])
            missing.append(label)
    return Lettered(found, lost, short, missing, zones)


def _is_missed(label: Label, shape: BaseGeometry) -> bool:
    """Return whether a line without words is one of this card's, not of another part of it."""
    line = LineString(label.points)
    inside = float(shape.intersection(line).length)
    return bool(inside >= min(_LOST, _WHOLE * line.length))


def _zone(text: str, height: float, stand: Stand) -> BaseGeometry:
    """Return the convex hull of text where it stands."""
    corners = _corners(text) * height @ stand.turn + stand.foot
    return shapely.convex_hull(shapely.multipoints(corners))


@lru_cache(maxsize=1024)  # every edge of a name is tried in many places
def _corners(text: str) -> FloatArray:
    """Return the corners of the convex hull of text, (n, 2), at a cap height of 1."""
    points = np.vstack([np.empty((0, 2)), *text_lines(text, 1.0)])
    return np.asarray(shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(points))))


def _fitting(
    label: Label,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    words: Sequence[BaseGeometry],
    heights: Sequence[float],
) -> Iterator[tuple[str, BaseGeometry, list[FloatArray]]]:
    """Give every lettering of it that has room, with its text and its hull, the best first."""
    parts = [
        np.asarray(part.coords)
        for part in lines_in(shapely.line_merge(shape.intersection(LineString(label.points))))
    ]
    parts.sort(key=lambda part: -length(part))
    for text in label.texts:
        if not len(_corners(text)):
            continue
        others: list[tuple[str, BaseGeometry, list[FloatArray]]] = []
        for height in heights:
            for points in parts:
                for stand in _along(points, text, height, inward=label.inward):
                    zone = _zone(text, height, stand)
                    if not (_has_room(zone, shape, taken) and _clear(zone, words)):
                        continue
                    found = text, zone, written(text, height, stand)
                    if _read_alone(zone, stand, words):
                        yield found
                    else:
                        others.append(found)
        yield from others


def _along(points: FloatArray, text: str, height: float, *, inward: bool) -> Iterator[Stand]:
    """Give where the text may stand along a line, first on its left."""
    half = text_width(text, height) / 2.0
    reached = distances(points)
    whole = length(points)
    for share in _PLACES:
        at = share / 100.0 * whole
        if at < half or at + half > whole:
            continue
        spots = [at - half, at, at + half]
        low, middle, high = np.column_stack([np.interp(spots, reached, x) for x in points.T])
        if np.hypot(*(high - low)) < half:
            continue
        direction = unit(high - low)
        left = np.array([-direction[1], direction[0]])
        # within a bend the letters stand on the chord, or further in where the line bulges
        bulge = max(0.0, float((middle - (low + high) / 2.0) @ left))
        for side, foot in ((left, low / 2.0 + high / 2.0 + left * bulge), (-left, middle)):
            yield stand_beside(text, foot, direction, side, height)
            if inward:
                break


def _has_room(zone: BaseGeometry, shape: BaseGeometry, taken: Sequence[BaseGeometry]) -> bool:
    if not shapely.contains(shape, zone) or shapely.distance(shape.boundary, zone) < _EDGE:
        return False
    return _clear(zone, taken)


def _read_alone(zone: BaseGeometry, stand: Stand, words: Sequence[BaseGeometry]) -> bool:
    """Return whether nobody reads on from these letters, or to them, along their line."""
    corners = shapely.get_coordinates(zone)
    step = stand.turn[0] * (_WORDS - _CLEAR)
    line = shapely.convex_hull(shapely.multipoints(np.vstack([corners - step, corners + step])))
    return _clear(line, words)


def _clear(zone: BaseGeometry, others: Sequence[BaseGeometry]) -> bool:
    nearer = float(np.nextafter(_CLEAR, 0.0))
    return not len(others) or not bool(shapely.dwithin(list(others), zone, nearer).any())
