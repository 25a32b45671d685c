"""Checks that pages to be joined agree in what both show, and where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout import FloatArray

_AGREE = 0.03  # mm
Box = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """A page's part of a drawing. number: of the page, from 1. window: its part of the sheet.

    aside: (2,), mm, from the page marks' 0, 0 to the work's.
    """

    number: int
    window: Box
    lines: Sequence[FloatArray]
    aside: FloatArray


def disagreements(pages: Sequence[Shown]) -> Iterator[str]:
    """Give in words where pages of one drawing would not fit together."""
    trees = [shapely.STRtree(_segments(page.lines)) for page in pages]
    for (one, here), (other, there) in combinations(zip(pages, trees, strict=True), 2):
        slip = float(np.hypot(*(one.aside - other.aside)))
        if slip > _AGREE:
            yield (
                f"pages {one.number} and {other.number} show their work {slip:.2f} mm apart, "
                "by their page marks"
            )
        both = _overlap(one.window, other.window)
        place = None if both is None else _only_on_one(here, there, both)
        if place is not None:
            yield (
                f"pages {one.number} and {other.number} don't draw the same where they overlap, "
                f"at x {place[0]:.2f}, y {place[1]:.2f} mm"
            )


def _segments(lines: Sequence[FloatArray]) -> NDArray[np.object_]:
    """Return all segments of the lines; those of length 0 as points, or nothing is near them."""
    starts = np.vstack([np.empty((0, 2)), *(line[:-1] for line in lines)])
    ends = np.vstack([np.empty((0, 2)), *(line[1:] for line in lines)])
    found = np.asarray(shapely.linestrings(np.stack([starts, ends], axis=1)), dtype=object)
    still = (starts == ends).all(axis=1)
    found[still] = shapely.points(starts[still])
    return found


def _overlap(one: Box, other: Box) -> shapely.Geometry | None:
    left, bottom = np.maximum(one[:2], other[:2]) + _AGREE
    right, top = np.minimum(one[2:], other[2:]) - _AGREE
    return shapely.box(left, bottom, right, top) if right > left and top > bottom else None


def _only_on_one(
    one: shapely.STRtree, other: shapely.STRtree, both: shapely.Geometry
) -> FloatArray | None:
    """Return a place, (2,), in their overlap where only one of them draws, or None."""
    for here, there in ((one, other), (other, one)):
        seen = shapely.intersection(here.geometries[here.query(both, "intersects")], both)
        seen = seen[~shapely.is_empty(seen)]
        places = np.vstack(
            [shapely.get_coordinates(seen), shapely.get_coordinates(shapely.centroid(seen))]
        )
        alone = np.ones(len(places), dtype=bool)
        alone[there.query(shapely.points(places), "dwithin", distance=_AGREE)[0]] = False
        if alone.any():
            return np.asarray(places[alone][0])
    return None
