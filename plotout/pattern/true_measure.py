"""How far edges are from true: what a square, a straightedge and a tape show.

Everything is measured in mm on the stitching line.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.errors import UserError
from plotout.geometry.fitting import StraightLine
from plotout.geometry.polyline import at_shares, distances, length, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.kinds import Ref
from plotout.pattern.outline import Named
from plotout.pattern.part_spec import TrueSpec

REACH = 25.0  # mm of a curve against which a square is held (common practice: about an inch)
BEND = 60.0  # mm of a curve over which its end is bent to square
STRAIGHT = 0.05  # mm of bow: no curve


def measure(
    edges: Sequence[Named], asked: TrueSpec, grain: FloatArray | None = None
) -> tuple[float, str]:
    """Return how far off it is, in mm and in words."""
    lines = [line_of(edges, ref.name) for ref in asked.edges]
    match asked.kind:
        case "straight":
            return bow(lines[0]), ""
        case "equal":
            long = [length(line) for line in lines]
            return abs(long[0] - long[1]), f"{long[0]:.2f} and {long[1]:.2f} mm"
        case "parallel":
            return _parallel(*lines)
        case "on-grain":
            return _parallel(lines[0], grainwise(lines[0], grain))
        case "square":
            return _square(lines[0], lines[1], asked)
        case _:
            detail = f"about {asked.axis.name}" if isinstance(asked.axis, Ref) else "about its axis"
            off, _ = asymmetry(lines[0], lines[1], axis_of(edges, asked))
            return off, detail if asked.axis else ""


def bow(line: FloatArray) -> float:
    """Return how far the line deviates from the chord between its ends, in mm."""
    direction = line[-1] - line[0]
    size = float(np.hypot(*direction))
    if size == 0.0:
        return float(np.hypot(*(line - line[0]).T).max())
    across = np.array([-direction[1], direction[0]]) / size
    return float(np.abs((line - line[0]) @ across).max())


def line_of(edges: Sequence[Named], name: str) -> FloatArray:
    """Return the edge of that name, (n, 2)."""
    return next(points for edge, points in edges if edge == name)


def inward(line: FloatArray, *, last: bool) -> tuple[FloatArray, float]:
    """Return the unit direction from an end into the edge, and how far a square reaches along it.

    On a curve it is that of the cubic nearest to the part along the square (least squares), so that
    a ripple of a few hundredths of a mm at a fitted curve's end doesn't count as an angle.
    """
    points = line[::-1] if last else line
    whole = length(points)
    if bow(points) <= STRAIGHT:
        direction, reach = points[-1] - points[0], whole
    else:
        reach = min(REACH, whole)
        along = np.linspace(0.0, reach, 101)
        direction = np.polyfit(along, at_shares(points, along / whole), 3)[-2]
    return np.asarray(direction / np.hypot(*direction)), reach


def corner(first: FloatArray, second: FloatArray, asked: TrueSpec) -> tuple[bool, bool]:
    """Return at which ends the two edges meet: (at first's last?, at second's last?)."""
    if (first[-1] == second[0]).all():
        return True, False
    if (first[0] == second[-1]).all():
        return False, True
    names = " and ".join(ref.name for ref in asked.edges)
    raise UserError(
        f"{names} don't meet at a corner", fix="Name adjacent edges.", place=asked.place
    )


def off_square(first: FloatArray, second: FloatArray, asked: TrueSpec) -> tuple[float, float]:
    """Return the turn in degrees that would square the first edge, and the square's reach."""
    first_last, second_last = corner(first, second, asked)
    one, reach = inward(first, last=first_last)
    other, _ = inward(second, last=second_last)
    angle = np.degrees(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))
    return float(angle - np.copysign(90.0, angle)), reach


def _square(first: FloatArray, second: FloatArray, asked: TrueSpec) -> tuple[float, str]:
    off, reach = off_square(first, second, asked)
    detail = f"{abs(off):.2f} degrees off square, over {reach:.0f} mm"
    return float(abs(np.sin(np.radians(off))) * reach), detail


def slant(first: FloatArray, second: FloatArray) -> float:
    """Return the least turn in degrees that makes the first chord parallel to the second."""
    one, other = first[-1] - first[0], second[-1] - second[0]
    angle = np.degrees(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))
    return float((angle + 90.0) % 180.0 - 90.0)


def askew(first: FloatArray, second: FloatArray) -> float:
    """Return the degrees that a line is from being parallel, or square, to another."""
    (x, y), (u, v) = first[-1] - first[0], second[-1] - second[0]
    off = np.degrees(np.arctan2(v, u) - np.arctan2(y, x)) % 90.0
    return float(min(off, 90.0 - off))


def _parallel(first: FloatArray, second: FloatArray) -> tuple[float, str]:
    angle = slant(first, second)
    size = float(np.hypot(*(first[-1] - first[0])))
    return abs(float(np.sin(np.radians(angle)))) * size, f"{abs(angle):.2f} degrees"


def grainwise(line: FloatArray, grain: FloatArray | None) -> FloatArray:
    """Return the grain line or its perpendicular, whichever is nearer to the line's direction."""
    along = np.array([[0.0, 0.0], [0.0, 1.0]]) if grain is None else grain
    return along if abs(slant(line, along)) <= 45.0 else turned(along, along[0], 90.0)


def axis_of(edges: Sequence[Named], asked: TrueSpec) -> StraightLine | None:
    """Return the named axis: through two points, or through an edge's ends."""
    if asked.axis is None:
        return None
    ref = asked.axis
    ends = line_of(edges, ref.name)[[0, -1]] if isinstance(ref, Ref) else np.array(ref)
    if (ends[0] == ends[1]).all():
        raise UserError(
            "a closed edge can't be an axis",
            fix="Take an edge that leads from one corner to another, or two points.",
            place=asked.place,
        )
    return StraightLine(ends[0], unit(ends[1] - ends[0]))


def asymmetry(
    first: FloatArray, second: FloatArray, axis: StraightLine | None
) -> tuple[float, FloatArray]:
    """Return how far the first lies from the second's mirror image, and that image.

    The image runs in the first's direction. Without an axis, the best is found by least squares
    over reflections (orthogonal Procrustes, Schoenemann 1966, determinant -1) at 201 points.
    """
    share = np.linspace(0.0, 1.0, 201)
    one, other = at_shares(first, share), at_shares(second[::-1], share)
    if axis is not None:
        exact = axis.mirrored(second[::-1])
        return float(np.hypot(*(at_shares(exact, share) - one).T).max()), exact
    centre, mean = one.mean(axis=0), other.mean(axis=0)
    u, _, vt = np.linalg.svd((other - mean).T @ (one - centre))
    turn = u @ np.diag([1.0, -np.sign(np.linalg.det(u @ vt))]) @ vt
    image = (other - mean) @ turn + centre
    exact = (second[::-1] - mean) @ turn + centre
    return float(np.hypot(*(image - one).T).max()), exact


def turned(points: FloatArray, about: FloatArray, degrees: float) -> FloatArray:
    """Return points, (n, 2), turned about a place."""
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.asarray((points - about) @ np.array([[cos, sin], [-sin, cos]]) + about)


def pulled(points: FloatArray, to: FloatArray) -> FloatArray:
    """Move the line's first point, and the others by an amount fading evenly to zero at its end."""
    reached = distances(points)
    fade = 1.0 - reached / reached[-1]
    moved = points + fade[:, None] * (to - points[0])
    moved[0] = to
    return np.asarray(moved)


def bent(points: FloatArray, angle: float) -> FloatArray:
    """Turn the line's beginning by `angle` radians, fading to zero over the bend's length."""
    reached = distances(points)
    reach = min(BEND, float(reached[-1]))
    near = np.minimum(reached, reach)
    direction = np.gradient(points, reached, axis=0)
    direction /= np.hypot(*direction.T)[:, None]
    away = np.tan(angle) * near * (1.0 - near / reach) ** 2
    return np.asarray(points + away[:, None] * np.column_stack([-direction[:, 1], direction[:, 0]]))
