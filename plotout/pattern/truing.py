"""Truing: what a patternmaker checks with a square, a straightedge and a tape.

Everything is measured in mm on the stitching line, and corrected only where asked: the first edge
named is moved, its neighbours' ends follow, and nothing moves further than the tolerance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
from shapely.geometry import LineString

from plotout.errors import UserError
from plotout.geometry.fitting import StraightLine
from plotout.geometry.polyline import distances, length, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.findings import Trued
from plotout.pattern.kinds import Ref
from plotout.pattern.outline import Named
from plotout.pattern.part_spec import TrueSpec

REACH = 25.0  # mm of a curve against which a square is held (common practice: about an inch)
_BEND = 60.0  # mm of a curve over which its end is bent to square
_STRAIGHT = 0.05
_RIGHT = 1e-6  # mm: nothing is truer than this
_AGREED = 0.01  # mm: what stays further off after all rounds conflicts with the rest
_ROUNDS = 1000
_TRIES = 8  # of naming other edges first
_STALLED = 60  # rounds without getting nearer by a hundredth


def true(
    edges: Sequence[Named],
    asked: Sequence[TrueSpec],
    tolerance: float,
    grain: FloatArray | None = None,
) -> tuple[list[Named], tuple[Trued, ...]]:
    """Measure the truings and correct those to be put right. Returns edges and results.

    All corrections are made together: one after another, round after round, until none is off;
    then everything is measured again, as `after`. Truings that conflict are left as near as
    possible, and their details say so.
    grain: the grain line, (2, 2); upright by default.
    Where a correction would move a point further than the tolerance, nothing is corrected, and the
    result is `refused`.
    """
    limits = [tolerance if truing.tolerance is None else truing.tolerance for truing in asked]
    now, agreed = _all_put_right(
        list(edges), [truing for truing in asked if truing.put_right], grain
    )
    way_out = "" if agreed else _way_out(edges, asked, limits, grain)
    found = []
    for truing, limit in zip(asked, limits, strict=True):
        before, detail = measure(edges, truing, grain)
        after, _ = measure(now, truing, grain)
        names = tuple(ref.name for ref in truing.edges)
        moved, refused = 0.0, ""
        if truing.put_right and before > _RIGHT:
            moved = _moved(_line(edges, names[0]), _line(now, names[0]))
            most = max(
                at for other, at in zip(asked, limits, strict=True)
                if other.put_right and other.edges[0].name == names[0]
            )  # fmt: skip
            if agreed and moved > most + 1e-6:
                refused = (
                    f"putting '{names[0]}' right ({truing.kind}) would move it {moved:.2f} "
                    f"mm, more than the tolerance of {most:g} mm"
                )
        if truing.put_right and after > _AGREED:
            detail = f"{detail}, " if detail else ""
            detail += f"which conflicts with the other truings{way_out}"
        found.append(Trued(truing.kind, names, before, after, limit, detail, moved, refused))
    if any(result.refused for result in found):
        kept = [replace(result, after=result.before, moved=0.0) for result in found]
        return list(edges), tuple(kept)
    return now, tuple(found)


def _way_out(
    edges: Sequence[Named],
    asked: Sequence[TrueSpec],
    limits: Sequence[float],
    grain: FloatArray | None,
) -> str:
    """Return in words how conflicting truings could all be true: by moving other edges; or "".

    One or two of them are tried with their second edge named first.
    """
    put = [n for n, truing in enumerate(asked) if truing.put_right]
    both = [n for n in put if len(asked[n].edges) == 2]
    tries = [*((n,) for n in both), *combinations(both, 2)][:_TRIES]
    for some in tries:
        tried = [asked[n].other_first() if n in some else asked[n] for n in put]
        now, agreed = _all_put_right(list(edges), tried, grain)
        names = {truing.edges[0].name for truing in tried}
        moves = [_moved(_line(edges, name), _line(now, name)) for name in names]
        if agreed and max(moves) <= min(limits[n] for n in put):
            words = " and ".join(
                f"'{asked[n].edges[1].name}' is named first in {asked[n].kind}" for n in some
            )
            return f"; all can be true if {words}"
    return ", as the edges named first are moved"


def _all_put_right(
    edges: list[Named], asked: Sequence[TrueSpec], grain: FloatArray | None
) -> tuple[list[Named], bool]:
    """Correct one after another until none is off; else return the best round.

    Alternating projections (von Neumann 1950; Bregman 1965): every step moves an edge as little as
    its own truing needs. Returns the edges, and whether all became true.
    """
    now = best = edges
    least = float("inf")
    since = 0
    for _ in range(_ROUNDS):
        off = max((measure(now, truing, grain)[0] for truing in asked), default=0.0)
        since = 0 if off < 0.99 * least else since + 1
        if off < least:
            best, least = now, off
        if least < _RIGHT or since > _STALLED:
            break
        for truing in asked:
            if measure(now, truing, grain)[0] > _RIGHT / 2.0:
                now = _put_right(now, truing, grain)
    return best, least < _AGREED


def _moved(before: FloatArray, after: FloatArray) -> float:
    """Return how far any point of an edge was moved, mm."""
    if len(before) == len(after):
        return float(np.hypot(*(after - before).T).max())
    return float(LineString(before).hausdorff_distance(LineString(after)))


def measure(
    edges: Sequence[Named], asked: TrueSpec, grain: FloatArray | None = None
) -> tuple[float, str]:
    """Return how far off it is, in mm and in words."""
    lines = [_line(edges, ref.name) for ref in asked.edges]
    match asked.kind:
        case "straight":
            return bow(lines[0]), ""
        case "equal":
            long = [length(line) for line in lines]
            return abs(long[0] - long[1]), f"{long[0]:.2f} and {long[1]:.2f} mm"
        case "parallel":
            return _parallel(*lines)
        case "on-grain":
            return _parallel(lines[0], _grainwise(lines[0], grain))
        case "square":
            return _square(lines[0], lines[1], asked)
        case _:
            detail = f"about {asked.axis.name}" if isinstance(asked.axis, Ref) else "about its axis"
            off, _ = _asymmetry(lines[0], lines[1], _axis(edges, asked))
            return off, detail if asked.axis else ""


def bow(line: FloatArray) -> float:
    """Return how far the line deviates from the chord between its ends, in mm."""
    direction = line[-1] - line[0]
    size = float(np.hypot(*direction))
    if size == 0.0:
        return float(np.hypot(*(line - line[0]).T).max())
    across = np.array([-direction[1], direction[0]]) / size
    return float(np.abs((line - line[0]) @ across).max())


def _line(edges: Sequence[Named], name: str) -> FloatArray:
    return next(points for edge, points in edges if edge == name)


def _inward(line: FloatArray, *, last: bool) -> tuple[FloatArray, float]:
    """Return the unit direction from an end into the edge, and how far a square reaches along it.

    On a curve it is that of the cubic nearest to the part along the square (least squares), so that
    a ripple of a few hundredths of a mm at a fitted curve's end doesn't count as an angle.
    """
    points = line[::-1] if last else line
    whole = length(points)
    if bow(points) <= _STRAIGHT:
        direction, reach = points[-1] - points[0], whole
    else:
        reach = min(REACH, whole)
        along = np.linspace(0.0, reach, 101)
        direction = np.polyfit(along, _at(points, along / whole), 3)[-2]
    return np.asarray(direction / np.hypot(*direction)), reach


def _corner(first: FloatArray, second: FloatArray, asked: TrueSpec) -> tuple[bool, bool]:
    """Return at which ends the two edges meet: (at first's last?, at second's last?)."""
    if (first[-1] == second[0]).all():
        return True, False
    if (first[0] == second[-1]).all():
        return False, True
    names = " and ".join(ref.name for ref in asked.edges)
    raise UserError(
        f"{names} don't meet at a corner", fix="Name adjacent edges.", place=asked.place
    )


def _off_square(first: FloatArray, second: FloatArray, asked: TrueSpec) -> tuple[float, float]:
    """Return the turn in degrees that would square the first edge, and the square's reach."""
    first_last, second_last = _corner(first, second, asked)
    one, reach = _inward(first, last=first_last)
    other, _ = _inward(second, last=second_last)
    angle = np.degrees(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))
    return float(angle - np.copysign(90.0, angle)), reach


def _square(first: FloatArray, second: FloatArray, asked: TrueSpec) -> tuple[float, str]:
    off, reach = _off_square(first, second, asked)
    detail = f"{abs(off):.2f} degrees off square, over {reach:.0f} mm"
    return float(abs(np.sin(np.radians(off))) * reach), detail


def _slant(first: FloatArray, second: FloatArray) -> float:
    """Return the least turn in degrees that makes the first chord parallel to the second."""
    one, other = first[-1] - first[0], second[-1] - second[0]
    angle = np.degrees(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))
    return float((angle + 90.0) % 180.0 - 90.0)


def _parallel(first: FloatArray, second: FloatArray) -> tuple[float, str]:
    slant = _slant(first, second)
    size = float(np.hypot(*(first[-1] - first[0])))
    return abs(float(np.sin(np.radians(slant)))) * size, f"{abs(slant):.2f} degrees"


def _grainwise(line: FloatArray, grain: FloatArray | None) -> FloatArray:
    """Return the grain line or its perpendicular, whichever is nearer to the line's direction."""
    along = np.array([[0.0, 0.0], [0.0, 1.0]]) if grain is None else grain
    return along if abs(_slant(line, along)) <= 45.0 else _turned(along, along[0], 90.0)


def _axis(edges: Sequence[Named], asked: TrueSpec) -> StraightLine | None:
    """Return the named axis: through two points, or through an edge's ends."""
    if asked.axis is None:
        return None
    ref = asked.axis
    ends = _line(edges, ref.name)[[0, -1]] if isinstance(ref, Ref) else np.array(ref)
    if (ends[0] == ends[1]).all():
        raise UserError(
            "a closed edge can't be an axis",
            fix="Take an edge that leads from one corner to another, or two points.",
            place=asked.place,
        )
    return StraightLine(ends[0], unit(ends[1] - ends[0]))


def _asymmetry(
    first: FloatArray, second: FloatArray, axis: StraightLine | None
) -> tuple[float, FloatArray]:
    """Return how far the first lies from the second's mirror image, and that image.

    The image runs in the first's direction. Without an axis, the best is found by least squares
    over reflections (orthogonal Procrustes, Schoenemann 1966, determinant -1) at 201 points.
    """
    share = np.linspace(0.0, 1.0, 201)
    one, other = _at(first, share), _at(second[::-1], share)
    if axis is not None:
        exact = axis.mirrored(second[::-1])
        return float(np.hypot(*(_at(exact, share) - one).T).max()), exact
    centre, mean = one.mean(axis=0), other.mean(axis=0)
    u, _, vt = np.linalg.svd((other - mean).T @ (one - centre))
    turn = u @ np.diag([1.0, -np.sign(np.linalg.det(u @ vt))]) @ vt
    image = (other - mean) @ turn + centre
    exact = (second[::-1] - mean) @ turn + centre
    return float(np.hypot(*(image - one).T).max()), exact


def _at(line: FloatArray, share: FloatArray) -> FloatArray:
    reached = distances(line)
    along = share * reached[-1]
    return np.column_stack([np.interp(along, reached, line[:, k]) for k in (0, 1)])


def _put_right(edges: list[Named], asked: TrueSpec, grain: FloatArray | None) -> list[Named]:
    names = [name for name, _ in edges]
    index = names.index(asked.edges[0].name)
    line = edges[index][1]
    other = _line(edges, asked.edges[-1].name)
    match asked.kind:
        case "straight":
            new = line[[0, -1]].copy()
        case "symmetric":
            _, new = _asymmetry(line, other, _axis(edges, asked))
        case "equal":
            new = line[0] + (line - line[0]) * (length(other) / length(line))
        case "parallel" | "on-grain":
            if asked.kind == "on-grain":
                other = _grainwise(line, grain)
            new = _turned(line, (line[0] + line[-1]) / 2.0, _slant(line, other))
        case _:
            new = _squared(line, other, asked)
    return _replaced(edges, index, new)


def _squared(line: FloatArray, other: FloatArray, asked: TrueSpec) -> FloatArray:
    """Turn a straight edge about the corner; bend a curve's end to be square there."""
    last, _ = _corner(line, other, asked)
    points = line[::-1] if last else line
    if bow(line) <= _STRAIGHT:
        new = _turned(points, points[0], _off_square(line, other, asked)[0])
    else:
        new = points
        for _ in range(20):  # the bend changes the tangent's own measure a little
            now = new[::-1] if last else new
            off = _off_square(now, other, asked)[0]
            if abs(off) < 1e-4:
                break
            new = _bent(new, np.radians(off))
    return np.asarray(new[::-1] if last else new)


def _bent(points: FloatArray, angle: float) -> FloatArray:
    """Turn the line's beginning by `angle` radians, fading to zero over the bend's length."""
    reached = distances(points)
    reach = min(_BEND, float(reached[-1]))
    near = np.minimum(reached, reach)
    direction = np.gradient(points, reached, axis=0)
    direction /= np.hypot(*direction.T)[:, None]
    away = np.tan(angle) * near * (1.0 - near / reach) ** 2
    return np.asarray(points + away[:, None] * np.column_stack([-direction[:, 1], direction[:, 0]]))


def _turned(points: FloatArray, about: FloatArray, degrees: float) -> FloatArray:
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.asarray((points - about) @ np.array([[cos, sin], [-sin, cos]]) + about)


def _replaced(edges: list[Named], index: int, new: FloatArray) -> list[Named]:
    """Replace a moved edge; the neighbours' ends follow, the move fading along them."""
    now = list(edges)
    now[index] = (now[index][0], new)
    before, after = (index - 1) % len(now), (index + 1) % len(now)
    now[before] = (now[before][0], _pulled(now[before][1][::-1], new[0])[::-1])
    now[after] = (now[after][0], _pulled(now[after][1], new[-1]))
    return now


def _pulled(points: FloatArray, to: FloatArray) -> FloatArray:
    """Move the line's first point, and the others by an amount fading evenly to zero at its end."""
    reached = distances(points)
    fade = 1.0 - reached / reached[-1]
    moved = points + fade[:, None] * (to - points[0])
    moved[0] = to
    return np.asarray(moved)
