"""Names the stretches of a new outline after the edges that they lie on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString

from plotout.geometry.end_heading import end_heading
from plotout.geometry.polyline import length, without_stubs
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge, Notch, Piece

INNER = "inner edge"
"""Name of the edge of a facing or fusing that its parent doesn't have."""

_AT_CORNER = 0.05  # mm


def edges_of(
    ring: FloatArray,
    lines: Sequence[tuple[Edge, FloatArray]],
    other: str,
    reach: float,
    run_on: float = 0.0,
) -> tuple[Edge, ...]:
    """Return a closed ring as edges, beginning with the first of `lines` on it.

    lines: the edges and where they lie now. A stretch more than `reach` mm from all of them is an
    edge named `other`, without allowance. run_on: mm by which `lines` may have been lengthened at
    their ends, along their tangents. Repeated names are numbered.
    """
    middles = np.asarray(shapely.points((ring[:-1] + ring[1:]) / 2.0))
    away = np.array([_distance(middles, line, run_on) for _, line in lines])
    owner = np.where(away.min(axis=0) <= reach, away.argmin(axis=0), len(lines))
    turns = np.flatnonzero(owner != np.roll(owner, 1))
    if not len(turns):
        turns = np.array([0])
    first = min(range(len(turns)), key=lambda k: (owner[turns[k]], turns[k]))
    turns = np.roll(turns, -first)
    opened = ring[:-1]
    found: list[Edge] = []
    for index, start in enumerate(turns):
        end = turns[(index + 1) % len(turns)]
        size = (end - start - 1) % len(opened) + 1
        points = without_stubs(opened[(start + np.arange(size + 1)) % len(opened)])
        if owner[start] == len(lines):
            least = max((edge for edge, _ in lines), key=lambda edge: edge.known_to, default=None)
            edge = Edge(other, points, (0.0, 0.0), seam_notches=False)
            if least is not None:
                edge = replace(
                    edge,
                    known_to=least.known_to,
                    unproved=least.unproved,
                    otherwise=least.otherwise,
                )
        else:
            edge = _kept(lines[owner[start]], points)
        names = [one.name for one in found]
        if edge.name in names:
            edge = replace(
                edge, name=f"{edge.name} {sum(n.startswith(edge.name) for n in names) + 1}"
            )
        found.append(edge)
    return tuple(found)


def _distance(middles: NDArray[np.object_], line: FloatArray, run_on: float) -> FloatArray:
    """Return the points' distances from the lengthened line; its own stretch counts first."""
    near = shapely.distance(middles, LineString(line))
    if run_on <= 0.0:
        return np.asarray(near)
    longer = LineString(lengthened(line, run_on))
    return np.asarray(shapely.distance(middles, longer) + 1e-3 * near)


def lengthened(points: FloatArray, reach: float) -> FloatArray:
    """Return the line extended straight by `reach` mm at both ends."""
    start = points[0] - end_heading(points, last=False).direction * reach
    end = points[-1] + end_heading(points, last=True).direction * reach
    return np.vstack([start, points, end])


def _kept(source: tuple[Edge, FloatArray], points: FloatArray) -> Edge:
    """Return the edge cut down to `points`, with its allowance there."""
    edge, line = source
    whole = LineString(line)
    shares = [whole.project(shapely.Point(points[k])) / whole.length for k in (0, -1)]
    first, last = edge.allowance
    start, end = (first + (last - first) * share for share in shares)
    return replace(edge, points=points, allowance=(start, end))


def follow_notches(child: Piece, parent: Piece) -> tuple[Notch, ...]:
    """Return the parent's match notches beside an edge of the child with the same name.

    One at a corner is left out: the child's own corner shows it, though it may lie a little off.
    """
    found: list[Notch] = []
    names = [edge.name for edge in child.edges]
    for notch in parent.notches:
        if notch.edge not in names:
            continue
        whole = parent.edge(notch.edge).points
        at = LineString(whole).interpolate(notch.along)
        edge = LineString(child.edge(notch.edge).points)
        along = edge.project(at)
        beside = edge.distance(at) < 0.05 * length(whole) + 10.0
        if min(notch.along, length(whole) - notch.along) < _AT_CORNER:
            continue
        if beside and 0.0 < along < edge.length:
            found.append(replace(notch, along=float(along)))
    return tuple(found)
