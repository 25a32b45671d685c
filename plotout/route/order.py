"""Orders strokes: the nearest next, from whichever end or vertex is nearest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from plotout.errors import Place, UserError
from plotout.geometry.strokes import FloatArray, Stroke, Work

ORDER = tuple(Work)


@dataclass(frozen=True, slots=True)
class Route:
    """Strokes in their order. sources: for each, the places in the input that it came from.

    travel: mm with the tool up, from the start through all strokes; travel_as_read: the same for
    the input as it stood.
    """

    strokes: tuple[Stroke, ...]
    sources: tuple[tuple[int, ...], ...]
    travel: float
    travel_as_read: float


def order(strokes: Sequence[Stroke], start: tuple[float, float] = (0.0, 0.0)) -> Route:
    """Return the strokes ordered, turned and, where closed, started where travel is least.

    Drawing comes first, then scoring, punching and cutting; what is cut inside a contour comes
    before it. Raises UserError for a stroke whose coordinates are not numbers.
    """
    for nth, stroke in enumerate(strokes):
        if not len(stroke.points) or not np.isfinite(stroke.points).all():
            raise UserError(
                f"stroke {nth + 1} ({stroke.mark}) has no place: its coordinates are not numbers",
                place=Place(piece=stroke.card or None),
            )
    placed: list[Stroke] = []
    sources: list[tuple[int, ...]] = []
    at = np.array(start, dtype=np.float64)
    for group in _groups(strokes):
        left = set(group)
        while left:
            nth, stroke = _nearest(strokes, left, at)
            left.remove(nth)
            placed.append(stroke)
            sources.append((nth,))
            at = stroke.points[-1]
    return Route(tuple(placed), tuple(sources), travel_of(placed, start), travel_of(strokes, start))


def travel_of(strokes: Sequence[Stroke], start: tuple[float, float]) -> float:
    """Return the mm between each stroke's end and the next one's beginning."""
    if not strokes:
        return 0.0
    begins = np.array([stroke.points[0] for stroke in strokes])
    ends = (
        np.vstack([[start], [stroke.points[-1] for stroke in strokes[:-1]]])
        if len(strokes) > 1
        else np.array([start])
    )
    return float(np.hypot(*(begins - ends).T).sum())


def _groups(strokes: Sequence[Stroke]) -> list[list[int]]:
    """Indices that may be mixed: by work, and cutting from the inmost out."""
    groups = []
    for work in ORDER:
        chosen = [nth for nth, stroke in enumerate(strokes) if stroke.work is work]
        if work is not Work.CUT:
            groups.append(chosen)
            continue
        depths = _depths(strokes, chosen)
        for depth in sorted(set(depths.values()), reverse=True):
            groups.append([nth for nth in chosen if depths[nth] == depth])
    return groups


def _depths(strokes: Sequence[Stroke], chosen: list[int]) -> dict[int, int]:
    """How many closed contours each stroke lies within."""
    closed = [nth for nth in chosen if strokes[nth].closed]
    if not closed:
        return dict.fromkeys(chosen, 0)
    tree = shapely.STRtree([shapely.Polygon(strokes[nth].points) for nth in closed])
    points = shapely.points([strokes[nth].points[0] for nth in chosen])
    inside, _ = tree.query(points, predicate="within")
    counts = np.bincount(inside, minlength=len(chosen))
    return {nth: int(counts[k]) for k, nth in enumerate(chosen)}


def _nearest(strokes: Sequence[Stroke], left: set[int], at: FloatArray) -> tuple[int, Stroke]:
    best: tuple[float, int, int] = (float("inf"), -1, 0)
    for nth in sorted(left):
        points = strokes[nth].points
        choices = points if strokes[nth].closed else points[[0, -1]]
        gaps = np.hypot(*(choices - at).T)
        vertex = int(gaps.argmin())
        if gaps[vertex] < best[0]:
            best = (float(gaps[vertex]), nth, vertex)
    _, nth, vertex = best
    stroke = strokes[nth]
    if stroke.closed:
        ring = np.roll(stroke.points[:-1], -vertex, axis=0)
        return nth, replace(stroke, points=np.vstack([ring, ring[:1]]))
    return nth, replace(stroke, points=stroke.points[::-1]) if vertex else stroke
