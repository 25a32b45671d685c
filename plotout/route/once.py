"""Works coincident lines only once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.polyline import all_go_somewhere
from plotout.geometry.strokes import FloatArray, NotchKind
from plotout.route.line import RouteLine
from plotout.route.sides import Sides, TooManyError, beside_others, lying

_PAIRS = 40
"""Coincident pairs per line above which lines are settled part by part."""
Kind: TypeAlias = tuple[str, str, float, NotchKind | None, str]


def worked_once(lines: Sequence[RouteLine], tolerance: float) -> list[RouteLine]:
    """Return the lines without the parts covered by an earlier line of the same kind.

    tolerance: mm. A line that doubles back on itself (a slit) is kept whole. Lines left out are
    added to the sources of the line that covers them.
    """
    kept = _without_doubles(lines, tolerance)
    groups: dict[Kind, list[int]] = {}
    long = all_go_somewhere([line.points for line in kept])
    for index, line in enumerate(kept):
        if long[index]:
            groups.setdefault(_kind(line), []).append(index)
    result: list[list[RouteLine]] = [[line] for line in kept]
    for group in groups.values():
        _uncover(kept, group, result, tolerance)
    return [line for parts in result for line in parts]


def _kind(line: RouteLine) -> Kind:
    stroke = line.stroke
    return stroke.work, stroke.mark, stroke.size, stroke.notch, stroke.layer


def _without_doubles(lines: Sequence[RouteLine], tolerance: float) -> list[RouteLine]:
    found: dict[tuple[Kind, bytes], int] = {}
    kept: list[RouteLine] = []
    more: dict[int, list[int]] = {}
    cells, alone = _cells(lines, tolerance)
    for line, own, single in zip(lines, cells, alone.tolist(), strict=True):
        index = len(kept)
        if not single:
            key = (_kind(line), min(own.tobytes(), own[::-1].tobytes()))
            index = found.setdefault(key, index)
        if index == len(kept):
            kept.append(line)
        else:
            more.setdefault(index, []).extend(line.sources)
    for index, sources in more.items():
        kept[index] = kept[index].also(tuple(sources))
    return kept


def _cells(
    lines: Sequence[RouteLine], tolerance: float
) -> tuple[list[FloatArray], NDArray[np.bool_]]:
    """Return the lines' points in steps of the tolerance, and which lines can have no double.

    Doubles have as many points as one another, with the same sum.
    """
    if not lines:
        return [], np.empty(0, np.bool_)
    count = np.array([len(line.points) for line in lines])
    first = np.cumsum(count) - count
    grid = np.round(np.concatenate([line.points for line in lines]) / tolerance) + 0.0
    marks = np.column_stack([count, np.add.reduceat(grid, first)])
    rank = np.lexsort(marks.T)
    same = (marks[rank[1:]] == marks[rank[:-1]]).all(axis=1)
    alone = np.empty(len(lines), np.bool_)
    alone[rank] = ~(np.append(same, False) | np.append(False, same))
    ends = zip(first.tolist(), (first + count).tolist(), strict=True)
    return [grid[begin:end] for begin, end in ends], alone


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """What is left of a line: its points, and the number of the line."""

    points: FloatArray
    line: int


def _sides_of(parts: Sequence[_Part]) -> Sides:
    """Return the sides of these parts."""
    counts = [len(part.points) - 1 for part in parts]
    line = np.repeat(np.arange(len(parts), dtype=np.int64), counts)
    first = np.cumsum([0, *counts]).astype(np.int64)
    heads = np.concatenate([part.points[:-1] for part in parts])
    tails = np.concatenate([part.points[1:] for part in parts])
    return Sides(heads, tails, line, np.arange(len(line)) - first[line])


def _uncover(
    lines: Sequence[RouteLine],
    group: Sequence[int],
    result: list[list[RouteLine]],
    tolerance: float,
) -> None:
    """Cut from the lines of the group what earlier ones cover; `result` is updated."""
    parts = [_Part(lines[index].points, index) for index in group]
    covering: dict[int, int] = {}
    left: dict[int, list[RouteLine]] = {}
    settled = _settled(parts, tolerance, covering)
    if settled is parts:
        return
    for part in settled:
        left.setdefault(part.line, []).append(lines[part.line].along(part.points))
    for index in group:
        whole = left.get(index, [])
        if len(whole) != 1 or whole[0].points is not lines[index].points:
            result[index] = whole
    more: dict[int, list[int]] = {}
    for index in group:
        if not result[index]:
            other = covering[index]
            while not result[other]:
                other = covering[other]
            more.setdefault(other, []).extend(lines[index].sources)
    for index, sources in more.items():
        result[index][0] = result[index][0].also(tuple(sources))


def _settled(parts: Sequence[_Part], tolerance: float, covering: dict[int, int]) -> Sequence[_Part]:
    """Return the parts without what an earlier one covers. covering: extended by line.

    If very many coincide, the first eighth is settled first, which leaves little.
    """
    if len(parts) < 2:
        return parts
    whole = _sides_of(parts)
    sides = beside_others(whole, tolerance)
    if not len(sides.line):
        return parts
    try:
        one, other = lying(sides, sides, _PAIRS * len(parts) + len(whole.line), tolerance)
    except TooManyError:
        part = max(len(parts) // 8, 1)
        first = _settled(parts[:part], tolerance, covering)
        second = _without(first, parts[part:], tolerance, covering)
        return [*first, *_settled(second, tolerance, covering)]
    early, late = np.minimum(one, other), np.maximum(one, other)
    early, late = np.divmod(np.unique(early * len(sides.line) + late), len(sides.line))
    keep = sides.line[early] != sides.line[late]
    return _cut_away(parts, sides.some(early[keep]), sides.some(late[keep]), tolerance, covering,
                     parts)  # fmt: skip


def _without(
    early: Sequence[_Part], late: Sequence[_Part], tolerance: float, covering: dict[int, int]
) -> Sequence[_Part]:
    """Return the late parts without what the early ones cover."""
    if not early or not late:
        return late
    old, new = _sides_of(early), _sides_of(late)
    (a, b), (d, c) = lying(old, new, None, tolerance), lying(new, old, None, tolerance)
    pair = np.unique(np.concatenate([a, c]) * len(new.line) + np.concatenate([b, d]))
    one, other = np.divmod(pair, len(new.line))
    return _cut_away(late, old.some(one), new.some(other), tolerance, covering, early)


def _cut_away(
    parts: Sequence[_Part],
    early: Sides,
    late: Sides,
    tolerance: float,
    covering: dict[int, int],
    coverers: Sequence[_Part],
) -> Sequence[_Part]:
    """Return `parts` without what the early sides of pairs cover of the late ones."""
    keep, low, high = _shared(early, late, tolerance)
    covered: dict[int, dict[int, list[tuple[float, float]]]] = {}
    first: dict[int, int] = {}
    for index, place, by, *span in zip(
        late.line[keep].tolist(),
        late.place[keep].tolist(),
        early.line[keep].tolist(),
        low.tolist(),
        high.tolist(),
        strict=True,
    ):
        covered.setdefault(index, {}).setdefault(place, []).append((span[0], span[1]))
        first[index] = min(by, first.get(index, by))
    if not covered:
        return parts
    left: list[_Part] = []
    for index, part in enumerate(parts):
        if index not in covered:
            left.append(part)
            continue
        covering.setdefault(part.line, coverers[first[index]].line)
        stretches = _left_over(part.points, covered[index], tolerance)
        left += [_Part(points, part.line) for points in stretches]
    return left


def _shared(
    early: Sides, late: Sides, tolerance: float
) -> tuple[NDArray[np.bool_], FloatArray, FloatArray]:
    """Return which pairs of sides overlap, and the range on the late one, mm from its head."""
    side, size = late.tails - late.heads, late.size
    direction = side / np.maximum(size, 1e-300)[:, None]
    a, b = early.heads - late.heads, early.tails - late.heads
    along = np.stack([(a * direction).sum(axis=1), (b * direction).sum(axis=1)])
    off = np.stack([direction[:, 0] * v[:, 1] - direction[:, 1] * v[:, 0] for v in (a, b)])
    low = np.clip(along.min(axis=0), 0.0, size)
    high = np.clip(along.max(axis=0), 0.0, size)
    run = np.where(np.abs(along[1] - along[0]) > 1e-12, along[1] - along[0], 1.0)
    slope = (off[1] - off[0]) / run
    off_low = np.abs(off[0] + (low - along[0]) * slope)
    off_high = np.abs(off[0] + (high - along[0]) * slope)
    # at a narrow angle two sides that share an end stay near for a while, but don't coincide
    alike = np.abs(slope) * np.minimum(size, early.size) <= 2.0 * tolerance
    keep = (high - low > 2.0 * tolerance) & (np.maximum(off_low, off_high) <= tolerance) & alike
    return keep, low[keep], high[keep]


def _left_over(
    points: FloatArray, covered: dict[int, list[tuple[float, float]]], tolerance: float
) -> list[FloatArray]:
    """Return the stretches of a line that no interval of its segments covers."""
    parts: list[list[FloatArray]] = []
    is_open = False
    for index in range(len(points) - 1):
        head, side = points[index], points[index + 1] - points[index]
        size = float(np.hypot(*side))
        for low, high in _gaps(covered.get(index, []), size, tolerance):
            begin = head if low == 0.0 else head + side * (low / size)
            end = points[index + 1] if high >= size else head + side * (high / size)
            if is_open and low == 0.0:
                parts[-1].append(end)
            else:
                parts.append([begin, end])
            is_open = high >= size
        if index in covered and not _reaches_end(covered[index], size, tolerance):
            continue
        if index in covered:
            is_open = False
    joined = [np.array(part) for part in parts]
    if len(joined) > 1 and bool((points[0] == points[-1]).all()):
        first, last = joined[0], joined[-1]
        if bool((first[0] == points[0]).all() and (last[-1] == points[-1]).all()):
            joined = [np.vstack([last, first[1:]]), *joined[1:-1]]
    return joined


def _reaches_end(covered: list[tuple[float, float]], size: float, tolerance: float) -> bool:
    return max(high for _, high in covered) >= size - tolerance


def _gaps(
    covered: list[tuple[float, float]], size: float, tolerance: float
) -> list[tuple[float, float]]:
    """Return what the intervals leave of 0..size, without slivers within the tolerance."""
    if not covered:
        return [(0.0, size)]
    left, reached = [], 0.0
    for low, high in sorted(covered):
        if low - reached > tolerance:
            left.append((reached, low))
        reached = max(reached, high)
    if size - reached > tolerance:
        left.append((reached, size))
    return left
