"""Fits notches to the card: none reaches the stitching line, runs into another, or is lost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import LinearRing, LineString, MultiLineString, Point, Polygon

from plotout.finish.bare_card import PlacedNotch
from plotout.finish.notch_changes import Changes
from plotout.finish.notch_places import ALIKE
from plotout.finish.notch_shapes import is_open, profile, shaped
from plotout.geometry.polyline import mirrored
from plotout.geometry.strokes import FloatArray, NotchKind
from plotout.pattern.settings import NotchStyle

SHORT = 1.0  # mm of allowance left between a notch's foot and the stitching line
LEAST = 1.5  # mm: a shallower notch can't be seen in card, so it is drawn (common practice)
_SAME = 1.0  # mm: a seam notch this near to another shows the same place
_APART = 1.0  # mm of card between two notches
_MOUTH = 0.2  # mm within the mouth: the card's edge is no longer that of the mouth itself
_TORN = 2.0  # mm of card between two slits that soon tears out (common practice)
_ROUNDS = 12  # halvings of a depth until two notches are apart


def fitted(
    placed: Sequence[PlacedNotch], outline: FloatArray, fold: FloatArray | None = None
) -> tuple[tuple[PlacedNotch, ...], tuple[str, ...]]:
    """Return the notches as they can be cut, in the same order, and the changes in words.

    outline: the cutting line, closed, (n, 2), mm. fold: of a half, (2, 2). A notch that is too deep
    for its allowance, would cut off a sharp corner, or would run into another within the card, is
    shortened; one that could not be seen then, or has no allowance to be cut into, is drawn. A T
    that would run into another becomes a slit, and a slit along the card's own edge half a V.
    """
    changes = Changes()
    card = Polygon(outline)
    ring = card.exterior
    within = _off_blunt_tips([_within(notch, changes) for notch in placed], ring, changes)
    kept: dict[int, PlacedNotch] = {}
    for index, (notch, near) in enumerate(zip(within, _earlier_near(within), strict=True)):
        along_none = _along_no_edge(notch, ring, changes)
        added = _added(_through_no_tip(along_none, card, changes), kept, near, changes)
        if added is not None:
            kept[index] = added
    fit = list(kept.values())
    if fold is not None:
        fit = [_off_its_image(notch, fold, changes) for notch in fit]
    return tuple(fit), (*changes.sentences(), *dict.fromkeys(_read_as_double(fit)))


def _earlier_near(placed: Sequence[PlacedNotch]) -> list[list[int]]:
    """Return, for each notch, which of those before it are near enough to run into it."""
    reach = max((notch.style.depth + notch.style.width for notch in placed), default=0.0)
    near: list[list[int]] = [[] for _ in placed]
    for one, other in _pairs_within(placed, 2.0 * reach):
        near[other].append(one)
    return near


def _pairs_within(notches: Sequence[PlacedNotch], far: float) -> list[list[int]]:
    """Return the pairs of notches at most that far apart, mm, the first before the second."""
    if len(notches) < 2:
        return []
    places = shapely.points([notch.at for notch in notches])
    one, other = shapely.STRtree(places).query(places, predicate="dwithin", distance=far)
    return sorted(np.column_stack([one, other])[one < other].tolist())


def _off_its_image(notch: PlacedNotch, fold: FloatArray, changes: Changes) -> PlacedNotch:
    """Keep a notch of a half from running into its mirror image over the fold."""
    at, foot = mirrored(np.array([notch.at, notch.at + notch.inward]), fold[0], fold[-1])
    image = replace(notch, at=at, inward=foot - at, what="its mirror image")
    on_fold = float(np.hypot(*(at - notch.at))) < 0.05
    if not notch.style.cut or on_fold or _beside(image, notch) or _apart(notch, image):
        return notch
    return _shortened(notch, image, changes)[0]


def _read_as_double(kept: Sequence[PlacedNotch]) -> Iterator[str]:
    """Yield the notches that were asked for singly, and stand as near as those of a double.

    In an inner corner two that point elsewhere may meet at the card's edge.
    """
    far = max((notch.style.spacing for notch in kept), default=0.0)
    for pair in _pairs_within(kept, max(far, _TORN)):
        one, other = (kept[index] for index in pair)
        asked = one.what == other.what or (one.seam and other.seam)
        if asked or _beside(other, one):
            continue
        alike = one.inward @ other.inward >= ALIKE
        apart = float(np.hypot(*(one.at - other.at)))
        if apart <= (min(one.style.spacing, other.style.spacing) if alike else _TORN):
            yield f"{one.what} is only {apart:.1f} mm from {other.what}: they read as a double"


def _within(notch: PlacedNotch, changes: Changes) -> PlacedNotch:
    """Keep the notch off the stitching line."""
    style = notch.style
    if not style.cut or style.depth <= notch.room - SHORT + 1e-6:
        return notch
    if notch.room <= 1e-6:
        changes.other("drawn, not cut: there is no allowance there", notch.what)
        return replace(notch, style=replace(style, cut=False))
    why = (
        f"from cutting to stitching line it is {notch.room:.1f} mm there, and a notch stays clear "
        "of that line"
    )
    return _shorter(notch, notch.room - SHORT, why, changes)


def _shorter(notch: PlacedNotch, depth: float, why: str, changes: Changes) -> PlacedNotch:
    if depth < LEAST:
        changes.depths.pop(notch.what, None)
        changes.other(f"drawn, not cut: {why}", notch.what)
        drawn = min(notch.style.depth, max(notch.room, 1.0))
        return replace(notch, style=replace(notch.style, cut=False, depth=drawn))
    changes.depth(notch.what, depth, notch.style.depth, why)
    return replace(notch, style=replace(notch.style, depth=depth))


def _off_blunt_tips(
    placed: Sequence[PlacedNotch], ring: LinearRing, changes: Changes
) -> list[PlacedNotch]:
    """Leave out both seam notches of a sharp corner that would eat its tip away, or tear it off.

    Both run along the edge in which the card ends there, and towards each other; between them, less
    of that edge would be left than they cut away.
    """
    ends = [n for n in placed if n.seam and n.style.cut and _along_edge(n, ring, _TORN)]
    gone: list[PlacedNotch] = []
    for one, other in combinations(ends, 2):
        far = float(np.hypot(*(one.at - other.at)))
        if one.inward @ other.inward < 0.0 and far < 2.0 * (one.style.depth + other.style.depth):
            gone += [one, other]
    if gone:
        change = "left out: they would run along the edge of the card's tip and spoil it"
        changes.left_out(change, *(notch.what for notch in gone))
    return [notch for notch in placed if not any(notch is other for other in gone)]


def _along_no_edge(notch: PlacedNotch, ring: LinearRing, changes: Changes) -> PlacedNotch:
    """Turn a slit that runs along the card's own edge, where it would not show, into half a V."""
    if notch.style.cut and is_open(notch.style) and _along_edge(notch, ring, _APART):
        change = f"cut as half a V: a {notch.style.kind} would run along the card's own edge"
        changes.other(change, notch.what)
        return replace(notch, style=replace(notch.style, kind=NotchKind.V))
    return notch


def _along_edge(notch: PlacedNotch, ring: LinearRing, near: float) -> bool:
    """Return whether the notch stays nearer than that to the card's edge, mm."""
    inner = [notch.at + notch.inward * notch.style.depth * share for share in (0.5, 1.0)]
    return bool(max(ring.distance(Point(at)) for at in inner) < near)


def _through_no_tip(notch: PlacedNotch, card: Polygon, changes: Changes) -> PlacedNotch:
    """Keep the notch from going out at the other side of a sharp corner, which it would cut off."""
    if not notch.style.cut:
        return notch
    if notch.style.kind is NotchKind.T and _within_tip(notch, card) < notch.style.depth + SHORT:
        slit = replace(notch, style=replace(notch.style, kind=NotchKind.SLIT))
        if _within_tip(slit, card) > _within_tip(notch, card):
            change = "cut as a slit: the bar of its T would cut off the card's corner"
            changes.other(change, notch.what)
            notch = slit
    within = _within_tip(notch, card)
    if within >= notch.style.depth + SHORT:
        return notch
    why = f"deeper, it would cut off the card's corner, which is {within:.1f} mm wide there"
    return _shorter(notch, within - SHORT, why, changes)


def _within_tip(notch: PlacedNotch, card: Polygon) -> float:
    """Return how deep the card is where the notch goes in, mm; infinite if deep enough."""
    foot = np.vstack([line[line[:, 1] > 0.0] for line in profile(notch.style)])[:, 0]
    across = np.array([notch.inward[1], -notch.inward[0]])
    starts = notch.at + np.unique(foot)[:, None] * across + notch.inward * _MOUTH
    clear = shapely.distance(card.exterior, shapely.points(starts)) > _MOUTH / 2.0
    inside = shapely.contains_xy(card, starts) & clear
    if notch.style.kind is NotchKind.T and not inside.all():
        return 0.0
    starts = starts[inside]  # at the fold, half of an opening is in the other half of the piece
    ends = starts + notch.inward * (notch.style.depth + SHORT)
    rays = shapely.linestrings(np.stack([starts, ends], axis=1))
    met = shapely.get_coordinates(shapely.intersection(rays, card.exterior))
    return float(((met - notch.at) @ notch.inward).min()) if len(met) else np.inf


def _added(
    notch: PlacedNotch, kept: dict[int, PlacedNotch], near: Sequence[int], changes: Changes
) -> PlacedNotch | None:
    """Return the notch as it is kept, if at all; shorten it and any near one it would run into."""
    for index in near:
        other = kept.get(index)
        if other is None or _clear(notch, other):
            continue
        kept[index], notch = _without_bars(other, notch, changes)
        if _beside(notch, kept[index]):
            if _lost(notch, kept[index], changes):
                return None
        elif notch.style.cut and other.style.cut and not _apart(notch, kept[index]):
            kept[index], notch = _shortened(kept[index], notch, changes)
    return notch


def _clear(notch: PlacedNotch, other: PlacedNotch) -> bool:
    """Return whether two notches don't run into each other, neither at the edge nor within."""
    far = np.hypot(*(notch.at - other.at))
    if far > notch.style.depth + other.style.depth + notch.style.width + other.style.width:
        return True
    return not _beside(notch, other) and (
        not (notch.style.cut and other.style.cut) or _apart(notch, other)
    )


def _beside(notch: PlacedNotch, other: PlacedNotch) -> bool:
    """Return whether the mouths of two notches on one edge touch."""
    along = _along(notch, other)
    far = np.hypot(*(notch.at - other.at))
    return bool(far < 1.5 * max(abs(along), 0.1) and _touch(other.style, notch.style, along))


def _lost(notch: PlacedNotch, other: PlacedNotch, changes: Changes) -> bool:
    """Return whether the notch is left out, since its mouth touches the other's."""
    same = _same(notch, other)
    lost = notch.style.cut and (notch.seam or not is_open(notch.style))
    if not same:
        left = ", and only the first is cut" if lost else ""
        apart = "apart" if other.what != notch.what else "from the next one"
        far = np.hypot(*(notch.at - other.at))
        changes.other(f"{far:.1f} mm {apart}: they run together{left}", other.what, notch.what)
    return same or lost


def _same(notch: PlacedNotch, other: PlacedNotch) -> bool:
    return abs(_along(notch, other)) < (_SAME if notch.seam else 0.2)


def _without_bars(
    other: PlacedNotch, notch: PlacedNotch, changes: Changes
) -> tuple[PlacedNotch, PlacedNotch]:
    """Make a T a slit: its bar would cut off what stands between it and the next notch."""
    if _same(notch, other):
        return other, notch
    made = []
    for one in (other, notch):
        if one.style.cut and one.style.kind is NotchKind.T:
            change = "cut as a slit: the bar of its T would run into the next notch"
            changes.other(change, one.what)
            made.append(replace(one, style=replace(one.style, kind=NotchKind.SLIT)))
        else:
            made.append(one)
    return made[0], made[1]


def _shortened(
    other: PlacedNotch, notch: PlacedNotch, changes: Changes
) -> tuple[PlacedNotch, PlacedNotch]:
    """Return both as deep as they can be without crossing; drawn where that is too little."""
    low, high = 0.0, 1.0
    for _ in range(_ROUNDS):
        share = (low + high) / 2.0
        if _apart(_scaled(notch, share), _scaled(other, share)):
            low = share
        else:
            high = share
    deep = max(other.style.depth, notch.style.depth) * low
    if deep < LEAST:
        return (
            _shorter(other, deep, "they would cross", changes),
            _shorter(notch, deep, "they would cross", changes),
        )
    for one in (other, notch):
        changes.depth(one.what, low * one.style.depth, one.style.depth, "deeper, they would cross")
    return _scaled(other, low), _scaled(notch, low)


def _scaled(notch: PlacedNotch, share: float) -> PlacedNotch:
    return replace(notch, style=replace(notch.style, depth=notch.style.depth * share))


def _apart(one: PlacedNotch, other: PlacedNotch) -> bool:
    lines = [
        MultiLineString([LineString(line) for line in shaped(notch)]) for notch in (one, other)
    ]
    return bool(lines[0].distance(lines[1]) >= _APART)


def _along(notch: PlacedNotch, other: PlacedNotch) -> float:
    """Return how far the notch is from the other along the other's edge, mm."""
    return float((notch.at - other.at) @ np.array([other.inward[1], -other.inward[0]]))


def _touch(one: NotchStyle, other: NotchStyle, gap: float) -> bool:
    """Return whether two notches with mouths `gap` mm apart leave too little edge between."""
    low, high = _reach(one)
    other_low, other_high = _reach(other)
    return gap + other_low < high + _APART and gap + other_high > low - _APART


def _reach(style: NotchStyle) -> tuple[float, float]:
    along = np.vstack(profile(style))[:, 0]
    return float(along.min()), float(along.max())
