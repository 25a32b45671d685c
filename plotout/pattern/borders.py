"""The cutting line that a piece's edges ask for, and the corners that a drawn one shows."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from plotout.geometry.offset import Bordered, cutting_line
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge
from plotout.pattern.past_corner import turned_up
from plotout.pattern.settings import Corner

_BETTER = 1.0  # mm2 by which a corner's kind must come nearer to the drawing
_OFF = 0.5  # mm: a cutting line further off is reported


def borders(edges: Sequence[Edge], fold: str | None) -> list[Bordered]:
    """Return the edges with what lies outside them. fold: the name of the edge on the fold."""
    return [_bordered(edges[index - 1], edge, fold) for index, edge in enumerate(edges)]


def _bordered(before: Edge, edge: Edge, fold: str | None) -> Bordered:
    """Choose the corner at the edge's start: a turned-back one wins, then the later edge's. At a
    fold an edge meets its own mirror image.
    """
    decides = turned_up(before, edge) or (before if edge.twin_of else edge)
    at_fold = fold in (before.name, edge.name) or _twins(before, edge)
    corner = Corner.MITRE if at_fold else decides.corner
    folds = decides is edge
    return Bordered(edge.points, edge.allowance, corner, folds, on_fold=edge.name == fold)


def _twins(one: Edge, other: Edge) -> bool:
    return one.twin_of == other.name or other.twin_of == one.name


def cornered(
    edges: Sequence[Edge],
    cutting: FloatArray,
    fold: str | None,
    given: Collection[str],
    mitre_limit: float,
    notes: list[str],
) -> list[Edge]:
    """Return the edges with the corners that a drawing's cutting line, (n, 2), shows.

    Kinds of corners are tried edge by edge; what comes nearest to the drawing is kept, and
    reported, as is a line that still differs. given: names of edges whose corners the set file
    gives.
    """
    drawn = Polygon(cutting).buffer(0.0)

    def made_of(edges: Sequence[Edge]) -> Polygon:
        try:
            return Polygon(cutting_line(borders(edges, fold), mitre_limit)).buffer(0.0)
        except ValueError:
            return Polygon()

    now = [replace(edge, allowance=(0.0, 0.0)) if edge.name == fold else edge for edge in edges]
    made = made_of(now)
    least = float(made.symmetric_difference(drawn).area)
    for index, edge in enumerate(now):
        if least <= _BETTER:
            break
        if edge.name in given or edge.name == fold or max(edge.allowance) == 0.0:
            continue
        for corner in (Corner.TURNED, Corner.SQUARE, Corner.BLUNT, Corner.MITRE):
            tried = [*now[:index], replace(edge, corner=corner), *now[index + 1 :]]
            shape = made_of(tried)
            off = float(shape.symmetric_difference(drawn).area)
            if off < least - _BETTER:
                now, made, least = tried, shape, off
        if now[index].corner is not edge.corner:
            notes.append(f"the corners of '{edge.name}' are drawn {now[index].corner}")
    _note_off(made, cutting, notes)
    return now


def _note_off(made: Polygon, cutting: FloatArray, notes: list[str]) -> None:
    if made.is_empty:
        notes.append("no cutting line can be made from its allowances")
        return
    away = made.boundary.distance(shapely.points(cutting))
    back = shapely.get_coordinates(made.boundary)
    apart = LineString(cutting).distance(shapely.points(back))
    off, (x, y) = max(
        (float(away.max()), cutting[int(np.argmax(away))].tolist()),
        (float(apart.max()), back[int(np.argmax(apart))].tolist()),
    )
    if off > _OFF:
        notes.append(
            f"the cutting line made from its allowances is up to {off:.1f} mm off the drawing's, "
            f"at x {x:.1f} mm, y {y:.1f} mm"
        )
