"""Ends of an allowance that is folded over: the mirror image of what it is folded onto."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LineString, Point

from plotout.geometry.corners import (
    Ends,
    Joined,
    crossing,
    cut_at,
    end_tangent,
    first_crossing,
    mitre,
)
from plotout.geometry.polyline import distances, mirrored, unit
from plotout.geometry.strokes import FloatArray

_ON = 1e-6  # mm: a point no further from a line is on it
_SLANT = 1.0 / np.sin(np.radians(5.0))  # an end so slanted is so many times as long as it is deep
_FAR_END = 0.9  # of the hem's length
_GOES_ON = np.cos(np.radians(5.0))  # of a turn: the side goes on as the hem does, past a vent


def turned_back(ends: Ends, limit: float, *, after: bool) -> Joined:
    """Shape a hem's end so that it lies under the piece when folded along its stitching line.

    The cutting line of the piece is mirrored in the hem's stitching line, as far as the hem
    reaches. after: the hem is the side after the corner, else the one before.
    """
    if after:
        return _turned(ends) or mitre(ends, limit)
    joined = _turned(ends.reversed())
    if joined is None:
        return mitre(ends, limit)
    side, between, hem = joined
    return hem[::-1], between[::-1], side[::-1]


def up_to_fold(ends: Ends) -> FloatArray | None:
    """Return the parallel before the corner up to the stitching line after it, (n, 2), extended
    if need be; None if it doesn't meet that line, or nothing is folded along it.
    """
    if ends.wide_after <= 0.0:
        return None
    longer = np.vstack([ends.before, ends.before[-1] + ends.ahead * _reach(ends)])
    found = first_crossing(longer[::-1], ends.corner, ends.out, (-np.inf, np.inf))
    return None if found is None else cut_at(longer, found)


def _reach(ends: Ends) -> float:
    return 4.0 * ends.wide_after + float(np.hypot(*(ends.before[-1] - ends.corner)))


def _turned(ends: Ends) -> Joined | None:
    """Mirror what lies under the hem after the corner in its stitching line; None if it has no
    allowance, of which nothing is turned back, or runs past what it is folded onto: then they meet
    at its other end only, if at all.
    """
    kept = up_to_fold(ends)
    start = _on_fold(ends, kept)
    if start is not None:
        inner = _away(start, ends)
    elif kept is not None:
        side = kept[::-1]
        inner = np.vstack([side, side[-1] + end_tangent(side) * _reach(ends)])
    else:
        return None
    far = float(np.hypot(*(inner[0] - ends.corner))) + _SLANT * ends.wide_after
    whole_hem = np.vstack([ends.after[0] + ends.behind * (far + _reach(ends)), ends.after])
    folded = mirrored(inner, ends.corner, ends.corner + ends.out)
    meeting = crossing(folded, whole_hem)
    if meeting is None:
        return None
    on_folded, on_hem, point = meeting
    if (point - ends.corner) @ ends.out > _FAR_END * ((ends.after[-1] - ends.corner) @ ends.out):
        return None
    before = ends.before if kept is None else kept
    return before, folded[: on_folded + 1], np.vstack([point, whole_hem[on_hem + 1 :]])


def _on_fold(ends: Ends, kept: FloatArray | None) -> FloatArray | None:
    """Return where the cutting line of what lies under the hem meets the line of the fold: where
    the side before the corner does, or past a side so short that it doesn't; None if it can't be
    told.
    """
    ring = LineString(ends.under)
    if kept is not None and ring.distance(Point(kept[-1])) < _ON:
        return np.asarray(kept[-1])
    if ends.wide_after <= 0.0 or ends.into @ ends.out > _GOES_ON:
        return None
    outward = ends.corner - ends.out * np.array([[_ON], [_reach(ends)]])
    met = shapely.get_coordinates(ring.intersection(LineString(outward)))
    return met[np.argmin(np.hypot(*(met - ends.corner).T))] if len(met) else None


def _away(start: FloatArray, ends: Ends) -> FloatArray:
    """Return the cutting line of what lies under a hem from `start` on, away from it, up to where
    it crosses the line of the fold, (n, 2); of a piece less deep than the hem is wide, up to where
    it is deepest, and from there square to the fold.
    """
    ring = ends.under[::-1]
    along = shapely.line_locate_point(LineString(ring), Point(start))
    next_one = int(np.searchsorted(distances(ring), along + _ON))
    line = np.vstack([start, ring[next_one:-1], ring[:next_one]])
    inward = unit(ends.corner - ends.after[0])
    deep = (line - ends.corner) @ inward
    past = np.flatnonzero(deep < -_ON)
    if len(past):
        return line[: past[0]]
    deepest = int(np.argmax(deep))
    if deep[deepest] > ends.wide_after:
        return line
    return np.vstack([line[: deepest + 1], line[deepest] + inward * _reach(ends)])
