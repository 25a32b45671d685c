"""Cuts that lie apart as drawn, and run together since a tool takes a width away."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from plotout.geometry.grown import buffered
from plotout.geometry.nearest import connected
from plotout.geometry.polyline import is_closed
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Tool

_DRAWN = 0.02  # mm: lines nearer than this are drawn as one, such as the bar and stem of a T
_FINE = 16  # sides of a quarter of a round end
_MANY = 32  # cuts that another meets
_AT_ONCE = 1_000  # cuts looked at together, since each may meet very many


def run_together(
    pairs: Sequence[tuple[Stroke, Tool]], lines: Sequence[FloatArray]
) -> Iterator[str]:
    """Say in words which cuts within a card run together by their tool's kerf.

    lines: the middles of the open cuts, (n, 2), mm, as `shape.drawn` gives them with all others.
    A closed cut leaves its edge where it was drawn, an open one loses half a kerf on either side.
    Outlines lie where they were drawn, but a slit beside an opening in one may break into it.
    """
    wide = [
        (stroke, tool, line)
        for (stroke, tool), line in zip(pairs, lines, strict=True)
        if tool.kerf > 0.0 and stroke.card and _cuts(stroke)
    ]
    by_card = sorted(wide, key=lambda cut: cut[0].card)
    for card, members in groupby(by_card, key=lambda cut: cut[0].card):
        yield from _in_card(card, list(members))


def _cuts(stroke: Stroke) -> bool:
    return stroke.work in (Work.CUT, Work.PUNCH)


def _in_card(card: str, cuts: list[tuple[Stroke, Tool, FloatArray]]) -> Iterator[str]:
    inner = [cut for cut in cuts if cut[0].mark is not Mark.OUTLINE]
    if not inner:
        return
    kerf = max(tool.kerf for _, tool, _ in inner)
    drawn = _drawn([stroke for stroke, _, _ in inner])
    taken = _taken(inner, drawn)
    part, met_as_drawn = _parts(drawn)
    met = np.zeros(len(taken), dtype=np.int64)
    reported: set[tuple[int, int]] = set()
    for meeting in _meeting(taken):
        np.add.at(met, meeting, 1)
        of = part[meeting]
        for (one, other), (a, b) in zip(
            *(rows[of[:, 0] != of[:, 1]].tolist() for rows in (meeting, of)), strict=True
        ):
            if (a, b) in reported:
                continue
            reported |= {(a, b), (b, a)}
            yield (
                f"card '{card}': {_named(inner[one][0], drawn[one])} and "
                f"{_named(inner[other][0], drawn[other])} run together, since "
                f"{kerf:g} mm are cut away"
            )
    for stroke, _, _ in cuts:
        if (
            stroke.mark is Mark.OUTLINE
            and is_closed(stroke.points)
            and _may_part(stroke, taken, met)
        ):
            whole = shapely.Polygon(stroke.points)
            meant = shapely.get_num_geometries(_left(whole, drawn, met_as_drawn))
            yield from _loose(card, _left(whole, taken, met), meant, kerf)


def _may_part(outline: Stroke, taken: NDArray[np.object_], met: NDArray[np.int64]) -> bool:
    """Return whether cuts may divide a card: much quicker than to divide it.

    Cuts that lie apart can't, unless one closes on itself or meets the card's edge twice.
    met: how many others each of them meets.
    """
    if met.any() or shapely.get_num_interior_rings(taken).any():
        return True
    where = shapely.intersection(taken, shapely.LinearRing(outline.points))
    divided = shapely.get_type_id(where) == shapely.GeometryType.MULTILINESTRING
    where[divided] = shapely.line_merge(where[divided])  # where the outline's own start lies in it
    return bool((shapely.get_num_geometries(where) > 1).any())


def _loose(card: str, left: BaseGeometry, meant: int, kerf: float) -> Iterator[str]:
    """Say what falls out of a card. left: of it; meant: parts that the lines as drawn leave."""
    for part in sorted(shapely.get_parts(left), key=lambda shape: -shape.area)[meant:]:
        at = part.representative_point()
        yield (
            f"card '{card}': a piece falls out of it at x {at.x:.1f} mm, y {at.y:.1f} mm, since "
            f"{kerf:g} mm are cut away beside it"
        )


def _left(whole: BaseGeometry, cuts: NDArray[np.object_], met: NDArray[np.int64]) -> BaseGeometry:
    """Return the large parts that cuts leave. met: how many others each cut meets.

    Cuts that meet many are united last: of the teeth of a comb all the others lie apart, and to
    unite such cuts at once costs their number's square.
    """
    rest = shapely.disjoint_subset_union_all(cuts[met <= _MANY])
    left = whole.difference(shapely.union(rest, shapely.union_all(cuts[met > _MANY])))
    large = [part for part in shapely.get_parts(left) if part.area > 1.0]
    return shapely.MultiPolygon(large)


def _drawn(strokes: Sequence[Stroke]) -> NDArray[np.object_]:
    """Return what each cut takes away that is as wide as a drawn line, (n,)."""
    shapes = [_shape(stroke.points) for stroke in strokes]
    reach = [
        stroke.size / 2.0 if len(stroke.points) == 1 else _DRAWN / 2.0 for stroke in strokes
    ]  # fmt: skip
    return np.asarray(buffered(shapes, reach, quad_segs=_FINE))


def _taken(
    cuts: Sequence[tuple[Stroke, Tool, FloatArray]], drawn: NDArray[np.object_]
) -> NDArray[np.object_]:
    """Return what each cut takes away, (n,): of a closed one, what is drawn."""
    found = drawn.copy()
    wide = [
        index
        for index, (stroke, _, _) in enumerate(cuts)
        if len(stroke.points) > 1 and not is_closed(stroke.points)
    ]
    middles = [_shape(cuts[index][2]) for index in wide]
    reach = [cuts[index][1].kerf / 2.0 for index in wide]
    found[wide] = buffered(middles, reach, quad_segs=_FINE)
    return found


def _shape(points: FloatArray) -> BaseGeometry:
    if len(points) == 1:
        return shapely.Point(points[0])
    return shapely.Polygon(points) if is_closed(points) else shapely.LineString(points)


def _parts(shapes: NDArray[np.object_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return for each shape a number that those which touch, through others too, share, and how
    many others it meets; both (n,).
    """
    alone = np.arange(len(shapes))
    meeting = np.vstack([np.empty((0, 2), np.int64), *_meeting(shapes)])
    linked = connected(np.vstack([np.column_stack([alone, alone]), meeting]))
    return linked, np.bincount(meeting.ravel(), minlength=len(shapes))


def _meeting(shapes: NDArray[np.object_]) -> Iterator[NDArray[np.int64]]:
    """Give the pairs of shapes that meet, (k, 2), the lower number first, some shapes at a time."""
    tree = shapely.STRtree(shapes)
    for begin in range(0, len(shapes), _AT_ONCE):
        one, other = tree.query(shapes[begin : begin + _AT_ONCE], "intersects")
        pairs = np.column_stack([one + begin, other])
        yield pairs[pairs[:, 0] < pairs[:, 1]]


def _named(stroke: Stroke, shape: BaseGeometry) -> str:
    at = shape.centroid
    return f"the {stroke.mark} at x {at.x:.1f} mm, y {at.y:.1f} mm"
