"""Notches made: cut into the card's edge, or drawn on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LinearRing, Polygon

from plotout.finish.bare_card import PlacedNotch
from plotout.geometry.polyline import distances, point_at, unit, without_repeats
from plotout.geometry.region import outer
from plotout.geometry.strokes import FloatArray, Mark, NotchKind, Stroke, Work
from plotout.pattern.model import NotchStyle

_SAME = 1.0  # mm: a seam notch this near to another shows the same place
_APART = 1.0  # mm of edge between two notches
_PAST = 1.0  # mm that an opening runs past the edge, which may curve


def notched(
    outline: FloatArray, notches: Sequence[PlacedNotch]
) -> tuple[FloatArray, tuple[Stroke, ...], tuple[str, ...]]:
    """Return the outline with its notches cut in, the notches that are strokes, and warnings.

    V, U, castle and check notches change the outline; slits and T notches have no width and are
    cuts of their own, from their foot out to the edge. Notches that are not cut are drawn. One
    that would run into another, or reach the stitching line, is told.
    """
    outline = without_repeats(outline)
    ring, whole = LinearRing(outline), float(distances(outline)[-1])
    places: list[tuple[float, PlacedNotch]] = []
    for notch in notches:
        middle = ring.project(shapely.Point(notch.at))
        for k in range(notch.count):
            shift = (k - (notch.count - 1) / 2.0) * notch.style.spacing
            places.append(((middle + shift) % whole, notch))
    places.sort(key=lambda each: each[0])
    kept, warnings = _apart(places, whole)
    strokes: list[Stroke] = []
    openings: list[Polygon] = []
    for along, notch in kept:
        origin, way, inward = _frame(outline, along, whole)
        flat = profile(notch.style)
        lines = [origin + line[:, :1] * way + line[:, 1:] * inward for line in flat]
        if not notch.style.cut or is_open(notch.style):
            work, kind = Work.CUT if notch.style.cut else Work.DRAW, notch.style.kind
            strokes += [Stroke(line, work, Mark.NOTCH, notch=kind) for line in lines]
        else:
            ends = lines[0][[-1, 0]] - inward * _PAST
            openings.append(Polygon(np.vstack([lines[0], ends])))
        if 0.0 < notch.allowance <= notch.style.depth and notch.style.cut:
            warnings.append(
                f"{notch.what} is {notch.style.depth:.1f} mm deep and reaches the stitching line; "
                f"the allowance there is {notch.allowance:.1f} mm"
            )
    if openings:
        outline = outer(Polygon(outline).difference(shapely.union_all(openings)))
    return outline, tuple(strokes), tuple(dict.fromkeys(warnings))


def is_open(style: NotchStyle) -> bool:
    """True for the kinds that are lines, not openings."""
    return style.kind in (NotchKind.SLIT, NotchKind.T)


def profile(style: NotchStyle) -> list[FloatArray]:
    """Return a notch's lines, each (n, 2): x along the edge, y into the card, mm.

    The kinds are those of ASTM D6673 (layers 4 and 80 to 83); their proportions are our own.
    """
    half, depth = style.width / 2.0, style.depth
    match style.kind:
        case NotchKind.SLIT:
            return [np.array([[0.0, depth], [0.0, 0.0]])]
        case NotchKind.T:
            bar = np.array([[-half, depth], [half, depth]])
            return [bar, np.array([[0.0, depth], [0.0, 0.0]])]
        case NotchKind.V:
            return [np.array([[-half, 0.0], [0.0, depth], [half, 0.0]])]
        case NotchKind.CASTLE:
            return [np.array([[-half, 0.0], [-half, depth], [half, depth], [half, 0.0]])]
        case NotchKind.CHECK:
            return [np.array([[0.0, 0.0], [0.0, depth], [style.width, 0.0]])]
        case NotchKind.U:
            radius = min(half, depth)
            turn = np.linspace(np.pi, 0.0, 17)
            arc = np.column_stack([half * np.cos(turn), depth - radius + radius * np.sin(turn)])
            ends = [[-half, 0.0]], [[half, 0.0]]
            return [without_repeats(np.vstack([ends[0], arc, ends[1]]))]


def _apart(
    places: list[tuple[float, PlacedNotch]], whole: float
) -> tuple[list[tuple[float, PlacedNotch]], list[str]]:
    """Drop a seam notch in the place of another; tell of those that would run together.

    Of two openings that would overlap, the first is kept.
    """
    kept: list[tuple[float, PlacedNotch]] = []
    warnings: list[str] = []
    for along, notch in sorted(places, key=lambda each: each[1].seam):  # match notches first
        dropped = False
        for at, other in kept:
            gap = (along - at + whole / 2.0) % whole - whole / 2.0
            if other is notch or not _touch(notch.style, other.style, gap):
                continue
            same = abs(gap) < (_SAME if notch.seam else 0.2)
            if not same:
                told = f"{other.what} and {notch.what} run together ({abs(gap):.1f} mm apart)"
                warnings.append(told)
            dropped = dropped or same or not is_open(notch.style)
        if not dropped:
            kept.append((along, notch))
    return sorted(kept, key=lambda each: each[0]), warnings


def _touch(one: NotchStyle, other: NotchStyle, gap: float) -> bool:
    """True when two notches whose places are `gap` mm apart leave too little edge between them."""
    low, high = _reach(one)
    other_low, other_high = _reach(other)
    return gap + low < other_high + _APART and gap + high > other_low - _APART


def _reach(style: NotchStyle) -> tuple[float, float]:
    along = np.vstack(profile(style))[:, 0]
    return float(along.min()), float(along.max())


def _frame(
    outline: FloatArray, along: float, whole: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the point on the edge, the unit way along it, and the unit way into the card."""
    origin = point_at(outline, along)
    reach = 0.5  # mm each way: the facets of a flattened curve would sway a shorter base
    before, after = (
        point_at(outline, (along - reach) % whole),
        point_at(outline, (along + reach) % whole),
    )
    first, second = origin - before, after - origin
    if first @ second < 0.9 * np.hypot(*first) * np.hypot(*second):
        # beside a corner: square to the side that the notch is on
        nth = int(np.searchsorted(distances(outline), along, side="right"))
        nth = min(max(nth, 1), len(outline) - 1)
        way = unit(outline[nth] - outline[nth - 1])
    else:
        way = unit(after - before)
    return origin, way, np.array([-way[1], way[0]])
