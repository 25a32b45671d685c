"""Lines that lie on one another are worked once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray, NotchKind
from plotout.route.line import Line

Ints: TypeAlias = NDArray[np.int64]

_AT_ONCE = 500
_PARTS = 8

Kind: TypeAlias = tuple[str, str, float, NotchKind | None, str]


def worked_once(lines: Sequence[Line], tolerance: float) -> list[Line]:
    """Return the lines without what an earlier one of the same kind already covers.

    tolerance: mm. A line that doubles back on itself (a slit) stays as it is. What is left out
    is named in the sources of the line that covers it.
    """
    kept = _without_doubles(lines, tolerance)
    groups: dict[Kind, list[int]] = {}
    for nth, line in enumerate(kept):
        if line.long:
            groups.setdefault(_kind(line), []).append(nth)
    result: list[list[Line]] = [[line] for line in kept]
    for group in groups.values():
        _uncover(kept, group, result, tolerance)
    return [line for parts in result for line in parts]


def _kind(line: Line) -> Kind:
    stroke = line.stroke
    return stroke.work.value, stroke.mark.value, stroke.size, stroke.notch, stroke.layer


def _without_doubles(lines: Sequence[Line], tolerance: float) -> list[Line]:
    found: dict[tuple[Kind, bytes], int] = {}
    kept: list[Line] = []
    more: dict[int, list[int]] = {}
    for line in lines:
        cells = np.round(line.points / tolerance) + 0.0
        key = (_kind(line), min(cells.tobytes(), cells[::-1].tobytes()))
        nth = found.setdefault(key, len(kept))
        if nth == len(kept):
            kept.append(line)
        else:
            more.setdefault(nth, []).extend(line.sources)
    for nth, sources in more.items():
        kept[nth] = kept[nth].also(tuple(sources))
    return kept


def _uncover(
    lines: Sequence[Line], group: Sequence[int], result: list[list[Line]], tolerance: float
) -> None:
    """Cut away from each line of the group what earlier ones cover; `result` is put right."""
    heads = np.vstack([lines[nth].points[:-1] for nth in group])
    tails = np.vstack([lines[nth].points[1:] for nth in group])
    counts = [len(lines[nth].points) - 1 for nth in group]
    owner = np.repeat(np.array(group), counts)
    place = np.concatenate([np.arange(count) for count in counts])
    covered: dict[int, dict[int, list[tuple[float, float]]]] = {}
    coverers: dict[int, set[int]] = {}
    for early, late, low, high in _overlaps(heads, tails, owner, tolerance):
        nth = int(owner[late])
        covered.setdefault(nth, {}).setdefault(int(place[late]), []).append((low, high))
        coverers.setdefault(nth, set()).add(int(owner[early]))
    for nth in sorted(covered):
        parts = _left_over(lines[nth].points, covered[nth], tolerance)
        result[nth] = [lines[nth].along(part) for part in parts]
        if parts:
            continue
        for other in sorted(coverers[nth]):
            if result[other]:
                result[other][0] = result[other][0].also(lines[nth].sources)
                break


def _overlaps(
    heads: FloatArray, tails: FloatArray, owner: FloatArray, tolerance: float
) -> list[tuple[int, int, float, float]]:
    """Pairs of segments of different lines that overlap: earlier, later, part of the later.

    Where an overlap begins and ends, an end of one of the two lies on the other: so only the ends
    are looked for, and lines that merely cross cost nothing.
    """
    count = len(heads)
    pieces, whole = _pieces(heads, tails)
    tree = shapely.STRtree(pieces)
    ends = np.asarray(shapely.points(np.vstack([heads, tails])))
    found: list[tuple[int, int, float, float]] = []
    for first in range(0, len(ends), _AT_ONCE):
        end, piece = tree.query(
            ends[first : first + _AT_ONCE], predicate="dwithin", distance=tolerance
        )
        one, other = (end + first) % count, whole[piece]
        keep = owner[one] != owner[other]
        one, other = one[keep], other[keep]
        swap = owner[one] > owner[other]
        early, late = np.where(swap, other, one), np.where(swap, one, other)
        early, late = np.divmod(np.unique(early * count + late), count)
        side = tails[late] - heads[late]
        size = np.hypot(*side.T)
        keep = size > tolerance
        late, early, side, size = late[keep], early[keep], side[keep], size[keep]
        way = side / size[:, None]
        a, b = heads[early] - heads[late], tails[early] - heads[late]
        along = np.stack([(a * way).sum(axis=1), (b * way).sum(axis=1)])
        off = np.stack([way[:, 0] * v[:, 1] - way[:, 1] * v[:, 0] for v in (a, b)])
        low = np.clip(along.min(axis=0), 0.0, size)
        high = np.clip(along.max(axis=0), 0.0, size)
        run = np.where(np.abs(along[1] - along[0]) > 1e-12, along[1] - along[0], 1.0)
        slope = (off[1] - off[0]) / run
        off_low = np.abs(off[0] + (low - along[0]) * slope)
        off_high = np.abs(off[0] + (high - along[0]) * slope)
        keep = (high - low > 2.0 * tolerance) & (np.maximum(off_low, off_high) <= tolerance)
        found += zip(
            early[keep].tolist(),
            late[keep].tolist(),
            low[keep].tolist(),
            high[keep].tolist(),
            strict=True,
        )
    return found


def _pieces(heads: FloatArray, tails: FloatArray) -> tuple[NDArray[np.object_], Ints]:
    """Segments as geometries, slanting ones in parts whose boxes are small, and whose part each is.

    A box round a long slanting segment would hold much that is far from it.
    """
    slant = np.abs(tails - heads).min(axis=1)
    parts = np.clip(slant / max(float(slant.mean()) / _PARTS, 1e-9), 1, 8 * _PARTS).astype(np.int64)
    whole = np.repeat(np.arange(len(heads)), parts)
    nth = np.arange(len(whole)) - np.repeat(np.cumsum(parts) - parts, parts)
    side = (tails - heads)[whole]
    size = parts[whole][:, None]
    begin = heads[whole] + side * (nth[:, None] / size)
    end = heads[whole] + side * ((nth[:, None] + 1) / size)
    return np.asarray(shapely.linestrings(np.stack([begin, end], axis=1))), whole


def _left_over(
    points: FloatArray, covered: dict[int, list[tuple[float, float]]], tolerance: float
) -> list[FloatArray]:
    """The stretches of a line that no interval of its segments covers."""
    parts: list[list[FloatArray]] = []
    is_open = False
    for nth in range(len(points) - 1):
        head, side = points[nth], points[nth + 1] - points[nth]
        size = float(np.hypot(*side))
        for low, high in _gaps(covered.get(nth, []), size, tolerance):
            begin = head if low == 0.0 else head + side * (low / size)
            end = points[nth + 1] if high >= size else head + side * (high / size)
            if is_open and low == 0.0:
                parts[-1].append(end)
            else:
                parts.append([begin, end])
            is_open = high >= size
        if nth in covered and not _reaches_end(covered[nth], size, tolerance):
            continue
        if nth in covered:
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
    """What of 0..size the intervals leave, slivers within the tolerance left out."""
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
