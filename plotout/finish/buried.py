"""Edges that the cutting line doesn't show, and allowances that it cuts short, as others meet."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from plotout.errors import quoted
from plotout.finish.bare_card import PlacedNotch
from plotout.finish.darts import Dart, darts
from plotout.finish.notch_places import seam_notch_at
from plotout.finish.opened import Line, opened_card, opened_edge
from plotout.finish.unfold import OTHER, unfolded
from plotout.geometry.offset import parallel
from plotout.geometry.polyline import distances, rotated
from plotout.geometry.stretch import SMOOTH, turn_cosines
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge, Piece, Seam

_ON = 0.05  # mm: a parallel nearer to the cutting line is part of it
_DEEP = 2.0  # allowances: cloth beyond a stitching line that is wider is more than a rounded corner
_LONG = 3.0  # allowances: an inner corner of 25 degrees hides the edges beside it so far
_BENDS = 202  # places of an edge at which its bend is looked at, with both its ends
_TIGHT = 0.065  # of the allowance: a kink of 20 degrees, the most within an edge, does 0.06
_LEAST = 1.0  # mm of the same
_BULGE = 1.0  # mm by which no curve leaves the chords that it is drawn with (estimated)


class Buried(NamedTuple):
    """What allowances fill: the edges, and faults and notes, in words. done_without: notches, by
    their names.
    """

    edges: list[str]

    faults: list[str]
    notes: list[str]
    done_without: list[str]


def buried_edges(
    piece: Piece, cutting: FloatArray, notches: Sequence[PlacedNotch], seams: Sequence[Seam]
) -> Buried:
    """Return what is wrong or to be known of edges inside the cutting line, (n, 2), wholly or far.

    A tight inner curve or a short jog may be cut off by the parallels beside it; but where the
    cutting line is far from the edge, a slit or a gap is filled, and the card doesn't show it. A
    dart is marked by its notches and a hole: it needn't be cut out, nor do the edges beside it then
    have an allowance that notches could show.
    """
    line = opened_edge(piece, cutting)
    shapely.prepare(line)
    lost = [edge.name for edge in _opened(piece) if _buried(edge, line)]
    hidden = _partly_hidden(piece, line, lost)
    notes, done_without = [], []
    every = list(darts(piece)) if lost or hidden else []
    for dart in every:
        legs = [leg.name for leg in dart.legs]
        if not dart.is_sewn(piece, seams):
            continue
        hidden = {name: far for name, far in hidden.items() if name not in legs}
        if set(legs) & set(lost):
            lost = [name for name in lost if name not in legs]
            notes.append(_filled(dart, piece, [notch.at for notch in notches]))
            before, after = dart.beside(piece)
            done_without += [seam_notch_at("end", before), seam_notch_at("start", after)]
    faults: list[str] = []
    if hidden:
        words = _filled_in_part(hidden)
        (faults if any(2.0 * far > of for far, of in hidden.values()) else notes).append(words)
    if not lost:
        return Buried([*hidden], faults, notes, done_without)
    fault = (
        f"the allowances beside {quoted(lost)} meet and fill the gap: the card does not show it; "
        "make them narrower there, or the gap wider"
    )
    if any(set(lost) & {leg.name for leg in dart.legs} for dart in every):
        fault += "; of a dart that is only to be marked, list the seam of one leg to the other"
    return Buried([*lost, *hidden], [fault, *faults], notes, done_without)


def _filled(dart: Dart, piece: Piece, notches: Sequence[FloatArray]) -> str:
    """Return in words how a dart that its allowances fill is marked, and what is left to mark."""
    words = (
        f"the dart of {quoted([leg.name for leg in dart.legs])} is not cut out: its allowances "
        "fill it"
    )
    drilled, notched = dart.is_drilled(piece), dart.is_notched(notches)
    if drilled and notched:
        return f"{words}; notches show its mouth, and a hole its point"
    x, y = rotated(dart.point, -piece.turn)
    hole = f"a [[piece.drill]] near x {x:.0f} mm, y {y:.0f} mm for its point"
    lacking = [*([] if drilled else [hole]), *([] if notched else ["notches for its mouth"])]
    return f"{words}, and it has yet to be marked: add {' and '.join(lacking)}"


def _buried(edge: Edge, cutting: Line) -> bool:
    wide = max(edge.allowance)
    if wide <= 0.0:
        return False
    away = shapely.distance(cutting, shapely.points(_samples(edge.points)))
    if away.max() <= _DEEP * wide + _ON:
        return False
    shown = shapely.points(_samples(parallel(edge.points, *edge.allowance)))
    return bool(shapely.distance(cutting, shown).min() > _ON)


def _partly_hidden(
    piece: Piece, cutting: Line, lost: Collection[str]
) -> dict[str, tuple[float, float]]:
    """Return of which edges, not lost, the card hides a long way: by name, mm, and of how many.

    Beside an inner corner it always does for a little; how far, the widest allowance there decides.
    What lies on both sides of a corner within an edge counts for itself.
    """
    edges, found = unfolded(piece).edges, {}
    names = [edge.name for edge in edges]
    for edge in _opened(piece):
        index = names.index(edge.name)
        beside = edges[index - 1], edge, edges[(index + 1) % len(edges)]
        if edge.name in lost or max(edge.allowance) <= 0.0:
            continue
        most = max(max(each.allowance) for each in beside)
        far = max(
            _hidden(points, wide, cutting) for points, wide in _parted(edge, _with_corners(edge))
        )
        if far[0] > _LONG * most:
            found[edge.name] = far
    return found


def _hidden(points: FloatArray, wide: FloatArray, cutting: Line) -> tuple[float, float]:
    """Return of how much of a stretch the cutting line is too far away, and its length, mm."""
    at, length = _samples(points, _BENDS), float(distances(points)[-1])
    widths = np.interp(distances(at), [0.0, length], wide)
    away = shapely.distance(cutting, shapely.points(at))
    return length * float((away > _DEEP * widths + _ON).mean()), length


def _filled_in_part(hidden: Mapping[str, tuple[float, float]]) -> str:
    where = ", ".join(f"'{name}' ({far:.0f} mm)" for name, (far, _) in hidden.items())
    return (
        f"the allowances meet and fill the gap beside {where}: the card does not show it there; "
        "make them narrower, or the gap wider"
    )


def tight_bends(piece: Piece, lost: Collection[str] = ()) -> Iterator[str]:
    """Yield the edges that bend inwards more tightly than their allowance is wide, in words.

    The parallels from both sides of the bend meet there, nearer to the edge than its allowance.
    At a corner within an edge, as of a V neck that is drawn whole, they are meant to, if the edge
    shows beside it. A half bends over its fold. lost: edges of which more is wrong.
    """
    for edge in _opened(piece):
        if edge.name in lost:
            continue
        found = [
            (*bend, points)
            for points, wide in _between_corners(edge)
            for bend in _tightest(points, wide)
        ]
        if not found:
            continue
        _, wide, at, points = max(found, key=lambda bend: bend[0])
        corners = points[_corners(points)]
        if len(corners):
            at = corners[np.argmin(np.hypot(*(corners - at).T))]
        x, y = rotated(at, -piece.turn)
        near = f"near x {x:.0f} mm, y {y:.0f} mm"
        if len(corners):
            yield (
                f"'{edge.name}' has a corner {near} that its allowance of {wide:g} mm fills: "
                "the cutting line does not show it"
            )
        else:
            yield (
                f"'{edge.name}' bends more tightly {near} than its allowance of {wide:g} mm: "
                "the cutting line has a corner there and does not show the curve"
            )


def _opened(piece: Piece) -> list[Edge]:
    """Return a piece's edges; those of a half as they go on over its fold."""
    edges = unfolded(piece).edges
    return [edge for edge in edges if piece.fold is None or not edge.name.endswith(OTHER)]


Part = tuple[FloatArray, FloatArray]
"""A stretch of an edge, (n, 2), mm, and its allowance at both ends, (2,), mm."""


def _between_corners(edge: Edge) -> list[Part]:
    """Divide an edge at its corners; not at all if a stretch is too short to show between them."""
    along = distances(edge.points)
    steps = np.diff(edge.points, axis=0) / np.diff(along)[:, None]
    cos = turn_cosines(edge.points)
    ends = _with_corners(edge)
    corners = ends[1:-1]
    turned_in = (
        steps[corners - 1, 0] * steps[corners, 1] < steps[corners - 1, 1] * steps[corners, 0]
    )
    cut = np.zeros(len(ends))  # off the parallels on both sides of an inner corner
    tans = np.sqrt((1.0 - cos[corners - 1]) / np.maximum(1.0 + cos[corners - 1], 1e-9))
    cut[1:-1] = max(edge.allowance) * tans * turned_in
    if (np.diff(along[ends]) < cut[:-1] + cut[1:]).any():
        ends = ends[[0, -1]]
    return _parted(edge, ends)


def _with_corners(edge: Edge) -> NDArray[np.intp]:
    """Return which of an edge's points are its ends and the corners within it, in turn."""
    return np.array([0, *_corners(edge.points), len(edge.points) - 1])


def _corners(points: FloatArray) -> NDArray[np.intp]:
    """Return the inner points of a line that are corners: sharp, or between chords so long that
    they are no curve's.
    """
    cos, sizes = turn_cosines(points), np.hypot(*np.diff(points, axis=0).T)
    bulge = np.minimum(sizes[:-1], sizes[1:]) * np.arccos(np.clip(cos, -1.0, 1.0)) / 8.0
    return np.flatnonzero((cos < SMOOTH) | (bulge > _BULGE)) + 1


def _parted(edge: Edge, ends: NDArray[np.intp]) -> list[Part]:
    """Divide an edge at some of its points, which begin and end with its first and last."""
    along = distances(edge.points)
    widths = np.interp(along[ends] / along[-1], [0.0, 1.0], edge.allowance)
    return [
        (edge.points[start : end + 1], widths[at : at + 2])
        for at, (start, end) in enumerate(pairwise(ends.tolist()))
    ]


def _tightest(points: FloatArray, wide: FloatArray) -> Iterator[tuple[float, float, FloatArray]]:
    """Yield the place of a stretch's bend that is tighter than its allowance.

    With how much nearer its parallels meet, and its allowance there, mm.
    """
    if wide.max() <= 0.0 or len(points) == 2:  # or straight
        return
    line, at = LineString(points), _samples(points, _BENDS)
    ahead = np.gradient(at, axis=0)
    outward = np.column_stack([ahead[:, 1], -ahead[:, 0]]) / np.hypot(*ahead.T)[:, None]
    share = distances(at) / max(distances(at)[-1], 1e-9)
    widths = np.interp(share, [0.0, 1.0], wide)
    ends = shapely.points(at + outward * widths[:, None])
    nearer = widths - shapely.distance(line, ends)
    worst = int(np.argmax(nearer))
    if nearer[worst] > max(_LEAST, _TIGHT * wide.max()):
        yield float(nearer[worst]), float(widths[worst]), at[worst]


def cut_short(piece: Piece, cutting: FloatArray) -> Iterator[str]:
    """Yield the allowances that a narrower one beside them takes off over a long way, in words.

    At an outer corner the narrower allowance's cutting line goes on until it meets the wider's,
    which is nothing at a square one, and a long way where the edges hardly turn.
    """
    card = opened_card(piece, cutting)
    shapely.prepare(card)
    for edge in piece.edges:
        for end, other in enumerate(piece.beside(edge)):
            wide = edge.allowance[end]
            if wide <= other.allowance[1 - end] or other.name == piece.fold:
                continue
            gone = _half_gone(edge, card, at_end=bool(end))
            if gone > wide / 2.0:
                yield (
                    f"the allowance of '{edge.name}', {wide:g} mm, is cut off by that of "
                    f"'{other.name}': over {gone:.0f} mm from their corner it is less than half "
                    f"as wide; give '{other.name}' more at that end if it is needed"
                )


def _half_gone(edge: Edge, card: BaseGeometry, *, at_end: bool) -> float:
    """Return how far from one of its ends an edge has less than half of its allowance, mm."""
    line = edge.points[::-1] if at_end else edge.points
    widths = np.array(edge.allowance[::-1] if at_end else edge.allowance)
    at = _samples(line, _BENDS)
    ahead = np.gradient(at, axis=0) * (-1.0 if at_end else 1.0)
    outward = np.column_stack([ahead[:, 1], -ahead[:, 0]]) / np.hypot(*ahead.T)[:, None]
    along = distances(at)
    half = np.interp(along / max(along[-1], 1e-9), [0.0, 1.0], widths) / 2.0
    kept = shapely.contains_xy(card, at + outward * half[:, None])
    return float(along[int(np.argmax(kept))] if kept.any() else along[-1])


def _samples(points: FloatArray, count: int = 33) -> FloatArray:
    along = distances(points)
    at = np.linspace(0.0, 1.0, count)[1:-1] * along[-1]
    return np.column_stack([np.interp(at, along, axis) for axis in points.T])
