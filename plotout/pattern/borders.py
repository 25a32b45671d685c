"""The cutting line that a piece's edges ask for, and the corners that a drawn one shows."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from plotout.geometry.offset import cutting_line
from plotout.geometry.sides import Bordered
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

    Of all edges and kinds that which comes nearest to the drawing is kept, and so on, until none
    comes nearer; they are reported, as is a line that still differs. given: names of edges whose
    corners the set file gives.
    """
    drawn = Polygon(cutting).buffer(0.0)

    def made_of(edges: Sequence[Edge]) -> Polygon:
        try:
            return Polygon(cutting_line(borders(edges, fold), mitre_limit)).buffer(0.0)
        except ValueError:
            return Polygon()

    now = [replace(edge, allowance=(0.0, 0.0)) if edge.name == fold else edge for edge in edges]
    before, made = now, made_of(now)
    least = float(made.symmetric_difference(drawn).area)
    while least > _BETTER:
        others = [_with_corner(now, index, corner) for index, corner in _others(now, fold, given)]
        shapes = [made_of(tried) for tried in others]
        off = [float(shape.symmetric_difference(drawn).area) for shape in shapes]
        best = int(np.argmin(off)) if off else 0
        if not off or off[best] >= least - _BETTER:
            break
        now, made, least = others[best], shapes[best], off[best]
    notes += [
        f"the corners of '{edge.name}' are drawn {edge.corner}"
        for edge, was in zip(now, before, strict=True)
        if edge.corner is not was.corner
    ]
    _note_off(made, cutting, notes)
    return now


def _others(
    edges: Sequence[Edge], fold: str | None, given: Collection[str]
) -> Iterator[tuple[int, Corner]]:
    """Give the kinds of corners that edges may have instead of theirs, with the edges' numbers."""
    for index, edge in enumerate(edges):
        if edge.name not in given and edge.name != fold and max(edge.allowance) > 0.0:
            for corner in (Corner.TURNED, Corner.SQUARE, Corner.BLUNT, Corner.MITRE):
                if corner is not edge.corner:
                    yield index, corner


def _with_corner(edges: Sequence[Edge], index: int, corner: Corner) -> list[Edge]:
    return [*edges[:index], replace(edges[index], corner=corner), *edges[index + 1 :]]


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
