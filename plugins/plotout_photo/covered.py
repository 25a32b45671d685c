"""Where writing lies on an outline or beside it, so that pricks may be missed there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely import MultiLineString, distance, points

from plotout import FloatArray
from plotout_photo.runs import Way
from plotout_photo.survey import Survey

STEP, ASIDE = 0.5, (-0.6, 0.0, 0.6)  # mm along a path and beside it that are looked at
SEEN = 1.8  # mm from a prick on the path that is seen: what is dark there is its own, or hides none
PARTED = 6.0  # mm of path that part one word from the next
BESIDE = 3.0  # mm from a path: a spot there may be one of its pricks


def under_writing(made: Survey, way: Way) -> FloatArray:
    """Return the places of paths on which writing lies in all pictures, one a word, (n, 2) mm.

    Where a prick is seen none is hidden, and stabs that touch may pass for writing.
    """
    places, seen = list[FloatArray](), cKDTree(made.on_runs)
    for path in _paths(way):
        steps = np.diff(path, axis=0)
        span = np.hypot(*steps.T)
        along = np.concatenate([[0.0], np.cumsum(span)])
        way_along = np.arange(0.0, along[-1], STEP)
        at = np.column_stack([np.interp(way_along, along, path[:, axis]) for axis in (0, 1)])
        which = np.clip(np.searchsorted(along, way_along, side="right") - 1, 0, len(span) - 1)
        side = (steps / np.maximum(span, 1e-9)[:, None])[which] @ np.array(
            [[0.0, 1.0], [-1.0, 0.0]]
        )
        hit = np.any([_written(made, at + off * side) for off in ASIDE], axis=0)
        rows = np.flatnonzero(hit & (seen.query(at)[0] > SEEN))
        if len(rows):
            words = np.split(rows, np.flatnonzero(np.diff(way_along[rows]) > PARTED) + 1)
            places += [at[word[len(word) // 2]] for word in words]
    return np.array(places).reshape(-1, 2)


def beside_paths(made: Survey, way: Way) -> FloatArray:
    """Return the spots near paths that are left out as dots of writing, (n, 2) mm."""
    paths = MultiLineString(_paths(way))
    near = made.beside[distance(points(made.beside), paths) < BESIDE]
    return np.asarray(near).reshape(-1, 2)


def _paths(way: Way) -> list[FloatArray]:
    """Return the closed path of every piece, (n, 2) mm, its first place again at the end."""
    rings = [np.array([group.at for group in ring]) for ring in way.rings]
    return [np.vstack([ring, ring[:1]]) for ring in rings if len(ring) > 1]


def _written(made: Survey, places: FloatArray) -> NDArray[np.bool_]:
    """Return on which places, (n, 2) mm, writing lies in all pictures that show them, (n,)."""
    written, shown = np.ones(len(places), dtype=bool), np.zeros(len(places), dtype=bool)
    for index, shot in enumerate(made.shots):
        column, row = np.rint(made.seen_in(index, places)).astype(int).T
        height, width = shot.sheet.wrote.shape
        inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
        on = shot.sheet.wrote[row.clip(0, height - 1), column.clip(0, width - 1)] > 0
        written &= on | ~inside
        shown |= inside
    return np.asarray(written & shown)
