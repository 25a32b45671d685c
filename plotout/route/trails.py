"""Joins strokes whose ends meet, so that every network is covered with the fewest lifts.

The meeting places are the nodes of a graph and the strokes its edges. A connected part with 2k odd
nodes needs k trails, or one if it has none (L. Euler 1736; found as by C. Hierholzer 1873).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.nearest import clusters, connected
from plotout.geometry.polyline import all_bounds, all_go_somewhere, length, part, tips
from plotout.geometry.region import line_shapes
from plotout.geometry.strokes import FloatArray, Work
from plotout.route.line import RouteLine, laid_together
from plotout.route.touch import begun_at

Step: TypeAlias = tuple[int, bool]

_PART = 4.0
"""Mean distances of lines: longer ones are compared in parts."""
_LOOPS_JOIN = (Work.DRAW, Work.SCORE)


def joined(lines: Sequence[RouteLine], tolerance: float) -> list[RouteLine]:
    """Return the lines with those of one work, mark, notch kind and card joined where they meet.

    Closed lines stay separate if cut or punched; drawn or scored ones are joined to lines that
    touch or cross them. tolerance: mm between ends that meet.
    """
    groups: dict[tuple[object, ...], list[RouteLine]] = {}
    result: list[RouteLine] = []
    long = all_go_somewhere([line.points for line in lines])
    for line, is_long in zip(lines, long, strict=True):
        stroke = line.stroke
        if not is_long or (stroke.closed and stroke.work not in _LOOPS_JOIN):
            result.append(line)
        else:
            key = (
                stroke.work, stroke.mark, stroke.card, stroke.size, stroke.notch, stroke.layer
            )  # fmt: skip
            groups.setdefault(key, []).append(line)
    edges = [line for group in groups.values() for line in group]
    group = np.repeat(np.arange(len(groups)), [len(group) for group in groups.values()])
    node = _nodes(edges, group, tolerance)
    split = _split_at_loops(edges, group, node, tolerance)
    if split is not None:
        edges, group = split
        node = _nodes(edges, group, tolerance)
    return result + _trails(edges, node, tolerance)


def _trails(
    edges: Sequence[RouteLine], node: NDArray[np.int64], tolerance: float
) -> list[RouteLine]:
    """Return the lines joined to trails. node: (n, 2), where they begin and end."""
    found = []
    for trail in euler_trails(node):
        line = edges[trail[0][0]]
        if len(trail) > 1:
            parts = [
                edges[index].points[::-1] if back else edges[index].points for index, back in trail
            ]
            points = laid_together(parts, tolerance)
            line = line.also(tuple(k for index, _ in trail[1:] for k in edges[index].sources))
            line = line.along(points)
        found.append(line)
    return found


def _nodes(
    lines: Sequence[RouteLine], group: NDArray[np.int64], tolerance: float
) -> NDArray[np.int64]:
    """Return the nodes where the lines begin and end, (n, 2); those of one group share none."""
    ends = tips([line.points for line in lines]).reshape(-1, 2)
    apart = np.repeat(4.0 * tolerance * group, 2)[:, None]
    return clusters(np.hstack([ends, apart]), tolerance).reshape(-1, 2)


def _alone(node: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return which edges, (m,), meet no other; node: (m, 2)."""
    there = np.bincount(node.ravel())[node]
    return np.asarray((there == 1 + (node[:, :1] == node[:, 1:])).all(axis=1))


def euler_trails(node: NDArray[np.int64]) -> list[list[Step]]:
    """Return the fewest trails that cover every edge once: edges, and whether they are reversed.

    node: (m, 2), the nodes joined by the edges.
    """
    real = len(node)
    edges: list[list[int]] = node.tolist()
    alone = _alone(node)
    lone = set(np.flatnonzero(alone).tolist())  # most lines of letters
    if len(lone) == real:
        return [[(index, True)] for index in range(real)]
    label = connected(node).tolist()
    degree: dict[int, int] = {}
    for name in node[~alone].ravel().tolist():
        degree[name] = degree.get(name, 0) + 1
    waiting: dict[int, int] = {}
    for name, count in degree.items():  # join odd nodes in pairs by lifts, so that none stays odd
        if count % 2:
            other = waiting.pop(label[name], None)
            if other is None:
                waiting[label[name]] = name
            else:
                edges.append([other, name])
    at: dict[int, list[Step]] = {}
    for index, (a, b) in enumerate(edges):
        if index not in lone:
            at.setdefault(a, []).append((index, False))
            at.setdefault(b, []).append((index, True))
    used = [False] * len(edges)
    trails: list[list[Step]] = []
    for index, (a, _) in enumerate(edges):
        if index in lone:
            trails.append([(index, True)])
        elif not used[index]:
            trails += _between_lifts(_circuit(a, at, used, edges), real)
    return trails


def _circuit(
    start: int, at: dict[int, list[Step]], used: list[bool], edges: list[list[int]]
) -> list[Step]:
    """Return one closed walk over all edges reachable from `start`."""
    stack: list[tuple[int, Step | None]] = [(start, None)]
    walk: list[Step] = []
    while stack:
        name, came_by = stack[-1]
        leaving = at[name]
        while leaving and used[leaving[-1][0]]:
            leaving.pop()
        if leaving:
            index, back = leaving.pop()
            used[index] = True
            stack.append((edges[index][0 if back else 1], (index, back)))
        else:
            stack.pop()
            if came_by is not None:
                walk.append(came_by)
    return walk[::-1]


def _between_lifts(circuit: list[Step], real: int) -> list[list[Step]]:
    """Cut a circuit at its lifts: edges numbered from `real` on."""
    lifts = [k for k, (index, _) in enumerate(circuit) if index >= real]
    if not lifts:
        return [circuit]
    turned = circuit[lifts[0] + 1 :] + circuit[: lifts[0] + 1]
    trails: list[list[Step]] = [[]]
    for step in turned:
        if step[0] >= real:
            trails.append([])
        else:
            trails[-1].append(step)
    return [trail for trail in trails if trail]


def _split_at_loops(
    lines: list[RouteLine],
    group: NDArray[np.int64],
    node: NDArray[np.int64],
    tolerance: float,
) -> tuple[list[RouteLine], NDArray[np.int64]] | None:
    """Split lines where a network without odd nodes touches another, so that one trail covers both.

    Elsewhere a split would save no lift. group: (n,) of the lines; only those with a closed line
    are looked at. node: as `_nodes` gives them. Returns the lines and their groups; None where
    nothing is split.
    """
    closed = np.array([line.stroke.closed for line in lines], dtype=np.bool_)
    looked_at = np.isin(group, group[closed])
    if not looked_at.any():
        return None
    part_of_node = connected(node).tolist()
    label = [part_of_node[a] for a in node[:, 0].tolist()]
    odd_node = np.flatnonzero(np.bincount(node.ravel()) % 2).tolist()
    odd = {part_of_node[k] for k in odd_node}
    even = np.flatnonzero([name not in odd for name in label] & looked_at)
    points = [line.points for line in lines]
    shapes = line_shapes(points)
    pairs = _touching(points, even, group, tolerance)
    whole: dict[int, int] = {}

    def root(k: int) -> int:
        while whole.get(k, k) != k:
            k = whole[k]
        return k

    cuts: dict[int, list[FloatArray]] = {}
    for a, b in pairs:
        first, second = root(label[a]), root(label[b])
        if first == second or (first in odd and second in odd):
            continue
        meeting = shapely.get_coordinates(shapely.shortest_line(shapes[a], shapes[b]))
        cuts.setdefault(a, []).append(meeting[0])
        cuts.setdefault(b, []).append(meeting[1])
        whole[second] = first
        if second in odd:
            odd.add(first)
    if not cuts:
        return None
    stretches = [
        [line.along(some) for some in _cut(line.points, cuts[index], tolerance)]
        if index in cuts
        else [line]
        for index, line in enumerate(lines)
    ]
    many = [len(some) for some in stretches]
    return [stretch for some in stretches for stretch in some], np.repeat(group, many)


def _touching(
    lines: Sequence[FloatArray], some: NDArray[np.int64], group: NDArray[np.int64], reach: float
) -> list[tuple[int, int]]:
    """Return the pairs of lines of one group within `reach` mm, of which one is among some.

    Long lines are looked at in parts: the boxes of lines around one another all overlap.
    """
    box = all_bounds(lines)
    wide, tall = box[:, 1].max(axis=0) - box[:, 0].min(axis=0)
    far = _PART * max(np.sqrt(wide * tall / len(lines)), max(wide, tall) / len(lines))
    long = (box[:, 1] - box[:, 0]).max(axis=1) > far
    parts = [
        _in_parts(points, far) if is_long else [points]
        for points, is_long in zip(lines, long.tolist(), strict=True)
    ]
    of = np.repeat(np.arange(len(lines)), [len(some_parts) for some_parts in parts])
    shapes = line_shapes([points for some_parts in parts for points in some_parts])
    asked = np.flatnonzero(np.isin(of, some))
    one, other = shapely.STRtree(shapes).query(shapes[asked], predicate="dwithin", distance=reach)
    one, other = of[asked[one]], of[other]
    keep = (one != other) & (group[one] == group[other])
    pairs = np.sort(np.column_stack([one, other])[keep], axis=1)
    return sorted({(a, b) for a, b in pairs.tolist()})


def _in_parts(points: FloatArray, far: float) -> list[FloatArray]:
    """Return a line in parts between its points, one about every `far` mm."""
    reached = np.hypot(*np.diff(points, axis=0).T).cumsum() // far
    ends = np.flatnonzero(np.diff(reached)) + 1
    return [points[a : b + 1] for a, b in pairwise([0, *ends.tolist(), len(points) - 1])]


def _cut(points: FloatArray, places: list[FloatArray], tolerance: float) -> list[FloatArray]:
    """Cut a line at places on it; a closed one is begun at the first of them."""
    if places and bool((points[0] == points[-1]).all()):
        points, places = begun_at(points, places[0]), places[1:]
    parts = [points]
    for place in places:
        shape = shapely.points(place)
        index = min(range(len(parts)), key=lambda k: shapely.LineString(parts[k]).distance(shape))
        line = parts[index]
        along = float(shapely.LineString(line).project(shape))
        if tolerance < along < length(line) - tolerance:
            parts[index : index + 1] = [part(line, 0.0, along), part(line, along, length(line))]
    return parts
