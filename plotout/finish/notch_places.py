"""Where the notches of a piece lie on its cutting line, and in which direction they go in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import LineString, Point

from plotout.errors import Place, UserError
from plotout.finish.bare_card import PlacedNotch
from plotout.finish.opened import Line, shown_edge
from plotout.finish.relabel import lengthened
from plotout.finish.unfold import OTHER
from plotout.geometry.end_heading import end_heading
from plotout.geometry.polyline import direction_at, is_closed, length, point_at, rotated, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.adjacent import seam_ends_at
from plotout.pattern.model import Edge, Notch, Piece, Seam
from plotout.pattern.past_corner import past_corner, turned_up
from plotout.pattern.settings import NotchStyle
from plotout.pattern.sides import sewn_edges

CORNER = 20.0  # degrees: below this turn a seam's ends meet square to the stitching line
SMOOTH = 8.0  # degrees: a join that turns less is not the end of a seam unless a seam says so
ALIKE = 0.9  # cosine of the greatest angle between notches of a double, on a curve
_DOUBLE = 2.0  # times the spacing of a double: notches so near to each other may be taken for one
_NEAR = 0.3  # mm by which half a facet may displace the end of an allowance
_AT_CORNER = 0.5  # mm from an edge's end at which a notch is meant to be there: the usual tolerance
_OFF = 0.05  # mm by which facets and changing allowances may displace a mouth


def placed_notches(
    piece: Piece, outline: FloatArray, style: NotchStyle, seams: Sequence[Seam] = ()
) -> tuple[list[PlacedNotch], list[str]]:
    """Return the match notches, then the seam notches of every corner; and notes for the user.

    outline: the cutting line, closed, (n, 2), mm. style: of seam notches. seams: of the set.
    A match notch lies square to the stitching line at its place. A seam notch lies where the
    stitching line, extended past its corner, meets the cutting line, and goes in square to the
    stitching line that the cutting line belongs to there. Raises UserError for a match notch
    beyond its edge. A seam notch is left out where a match notch stands at the same corner, as one
    does where a side of a seam goes from piece to piece: both would read as a double.
    """
    ring = shown_edge(piece, outline)
    notes: list[str] = []
    found: list[PlacedNotch] = []
    at_ends: list[PlacedNotch] = []
    for notch in piece.notches:
        for along in _each_of(notch, piece, notes):
            made = list(_match(notch, along, piece, ring, notes))
            found += made
            if min(along, length(piece.edge(notch.edge).points) - along) < _AT_CORNER:
                at_ends += made
    for ending in seam_notches(piece, ring, style, seams, notes):
        if not any(_as_one(ending, match) for match in at_ends):
            found.append(ending)
    notes += _read_as_double(found, piece, seams)
    return found, list(dict.fromkeys(notes))


def _read_as_double(
    found: Sequence[PlacedNotch], piece: Piece, seams: Sequence[Seam]
) -> Iterator[str]:
    """Yield the sewn edges so short that the seam notches at both ends read as a double.

    That one stands for a back is common practice, so that a front would be sewn to it.
    """
    sewn = {edge for name, edge in sewn_edges(seams) if name in (piece.name, piece.parent)}
    ends = [notch for notch in found if notch.seam and notch.edge.removesuffix(OTHER) in sewn]
    for one, other in combinations(ends, 2):
        apart = _across(one.at, other.at)
        if one.edge != other.edge or one.inward @ other.inward < ALIKE:
            continue
        if _OFF < apart <= _DOUBLE * one.style.spacing + _OFF:
            yield (
                f"{one.what} and {other.what} are only {apart:.1f} mm apart on '{one.edge}': they "
                "read as a double notch, which usually means a back; seam-notches = false of the "
                "edge on either side leaves one out"
            )


def _as_one(ending: PlacedNotch, match: PlacedNotch) -> bool:
    """Return whether a seam notch stands so near to a match notch that it reads as its double."""
    near = _across(ending.at, match.at) <= min(ending.style.spacing, match.style.spacing)
    return near and float(ending.inward @ match.inward) >= ALIKE


def _each_of(notch: Notch, piece: Piece, notes: list[str]) -> list[float]:
    """Return where the notches of a single, double or triple lie along their edge, mm.

    All stay on the edge. Those beyond the fold are left out: they are the mirror images.
    """
    edge = piece.edge(notch.edge)
    size = length(edge.points)
    if not -0.01 <= notch.along <= size + 0.01:
        raise UserError(
            f"a notch at {notch.along:.1f} mm lies beyond edge '{edge.name}', "
            f"which is {size:.1f} mm long",
            fix='Measure it from the edge\'s start (or say from = "end").',
            place=Place(piece=piece.name),
        )
    shifts = np.arange(notch.count) - (notch.count - 1) / 2.0
    places = notch.along + shifts * notch.style.spacing
    for end, fold in zip((0.0, size), _on_fold(piece, edge), strict=True):
        if fold and abs(notch.along - end) < _OFF:
            return [float(place) for place in places if -_OFF <= place <= size + _OFF]
    if np.ptp(places) > size:
        apart = size / (notch.count + 1)
        notes.append(
            f"the notches of {_what(notch)} are {apart:.1f} mm apart, not {notch.style.spacing:g} "
            f"mm: the edge is only {size:.1f} mm long"
        )
        return [float(place) for place in size / 2.0 + shifts * apart]
    moved = max(0.0, -float(places[0])) - max(0.0, float(places[-1]) - size)
    if abs(moved) > 0.01:
        notes.append(
            f"{_what(notch)} is moved {abs(moved):.1f} mm along the edge: "
            "part of it would lie beyond the corner"
        )
    return [float(place) for place in np.clip(places + moved, 0.0, size)]


def _what(notch: Notch) -> str:
    many = {1: "notch", 2: "double notch", 3: "triple notch"}[notch.count]
    return f"the {many} at {notch.along:.0f} mm on '{notch.edge}'"


def _on_fold(piece: Piece, edge: Edge) -> tuple[bool, bool]:
    """Return whether the edge begins, and ends, on the piece's fold."""
    if piece.fold is None or piece.fold == edge.name:
        return False, False
    fold = piece.edge(piece.fold).points
    return _across(fold[-1], edge.points[0]) < 1e-6, _across(fold[0], edge.points[-1]) < 1e-6


def _match(
    notch: Notch, along: float, piece: Piece, ring: Line, notes: list[str]
) -> Iterator[PlacedNotch]:
    edge = piece.edge(notch.edge)
    size = length(edge.points)
    wide = edge.allowance[0] + (edge.allowance[1] - edge.allowance[0]) * along / size
    at = point_at(edge.points, along)
    inward = _along_fold(piece, edge, along)
    if inward is None:
        inward = _inward(_smooth_direction(edge.points, along))
    mouth = _meet(ring, at, -inward, wide)
    what = _what(notch)
    if mouth is None:
        notes.append(
            f"{what} is drawn at the stitching line: in a tight bend or an inner corner the card "
            f"reaches past its allowance of {wide:.1f} mm, so no notch in the card's edge can show "
            "the place"
        )
        drawn = replace(notch.style, cut=False, depth=min(notch.style.depth, wide))
        yield PlacedNotch(at, -inward, drawn, 0.0, what, edge.name)
        return
    yield PlacedNotch(mouth, inward, notch.style, _across(mouth, at), what, edge.name)


def _along_fold(piece: Piece, edge: Edge, along: float) -> FloatArray | None:
    """Return the direction of the fold into the piece, if a place of an edge lies on it: square to
    the edge and its mirror image.
    """
    ends = (0.0, length(edge.points))
    on = [
        fold and abs(along - end) < _OFF
        for end, fold in zip(ends, _on_fold(piece, edge), strict=True)
    ]
    if piece.fold is None or not any(on):
        return None
    start, end = piece.edge(piece.fold).points[[0, -1]]
    return unit(end - start if on[1] else start - end)


def _across(one: FloatArray, other: FloatArray) -> float:
    return float(np.hypot(*(one - other)))


def seam_notches(
    piece: Piece, ring: Line, style: NotchStyle, seams: Sequence[Seam], notes: list[str]
) -> list[PlacedNotch]:
    """Return the notches that show the allowance, at both ends of every seam."""
    found: list[PlacedNotch] = []
    if len(piece.edges) == 1:
        return found
    names = (piece.name, piece.parent or piece.name)
    for index, after in enumerate(piece.edges):
        before = piece.edges[index - 1]
        into = end_heading(before.points, last=True).direction
        out = end_heading(after.points, last=False).direction
        turn = np.degrees(np.arctan2(into[0] * out[1] - into[1] * out[0], into @ out))
        if turn > CORNER:
            for seam, other in ((before, after), (after, before)):
                ends = seam is before
                path = past_corner(
                    seam, other, ends=ends, mirrored=turned_up(before, after) is other
                )
                found += _at_corner(seam, other, path, ring, style, notes, ends=ends)
            continue
        plain = (before.name.removesuffix(OTHER), after.name.removesuffix(OTHER))
        ended = seam_ends_at(seams, names, *plain)
        step = abs(before.allowance[1] - after.allowance[0]) > 0.5
        if ended or (ended is None and (abs(turn) > SMOOTH or step)):
            found += _at_join(before, after, _inward(_joining(before, after, turn)), ring, style)
    return found


def _joining(before: Edge, after: Edge, turn: float) -> FloatArray:
    """Return the direction along a join to which its notch lies square, the same from either side.

    Halfway between the seams; where one's allowance is narrower, its own, since at an outer corner
    its cutting line goes on to where the notch is, and at a step the notch begins at its foot.
    """
    into = end_heading(before.points, last=True).direction
    out = end_heading(after.points, last=False).direction
    wider = before.allowance[1] - after.allowance[0]
    if turn < 0.0 or abs(wider) <= _OFF:
        return into + out
    return out if wider > 0.0 else into


def _at_join(
    before: Edge, after: Edge, inward: FloatArray, ring: Line, style: NotchStyle
) -> Iterator[PlacedNotch]:
    """Notch where one seam runs into the next with little or no corner."""
    if not (after.seam_notches and before.seam_notches):
        return
    if min(after.allowance[0], before.allowance[1]) <= 0.0:
        return
    corner = after.points[0]
    inward = inward / np.hypot(*inward)
    wide = min(before.allowance[1], after.allowance[0])
    mouth = _meet(ring, corner, -inward, 1.5 * wide)
    if mouth is not None:
        what = f"the seam notch between '{before.name}' and '{after.name}'"
        room = _across(mouth, corner)
        yield PlacedNotch(mouth, inward, style, room, what, after.name, seam=True)


def _first_met(ring: Line, path: FloatArray) -> FloatArray | None:
    """Return where a path from the stitching line first meets the cutting line."""
    line = LineString(path)
    met = shapely.get_coordinates(ring.intersection(line))
    along = np.array([line.project(Point(point)) for point in met])
    beyond = along > 1e-3
    return np.asarray(met[beyond][np.argmin(along[beyond])]) if beyond.any() else None


def _at_corner(
    seam: Edge,
    other: Edge,
    path: FloatArray,
    ring: Line,
    style: NotchStyle,
    notes: list[str],
    *,
    ends: bool,
) -> Iterator[PlacedNotch]:
    """Notch where `seam`, which goes on past its corner along `path`, meets the cutting line."""
    wide = seam.allowance[1 if ends else 0]
    beyond = other.allowance[0 if ends else 1]
    if not seam.seam_notches or wide <= 0.0 or beyond <= 0.0:
        return
    mouth = _first_met(ring, path)
    what = seam_notch_at("end" if ends else "start", seam)
    if mouth is not None:
        place, inward = _beside(other.points, mouth)
        room = float((place - mouth) @ inward)
        if 0.0 < room <= max(other.allowance) + 10.0 * _OFF:
            yield PlacedNotch(mouth, inward, style, room, what, other.name, seam=True)
            return
    notes.append(f"{what} is left out: it would not lie in the allowance at that corner")


def seam_notch_at(end: str, edge: Edge) -> str:
    """Return what messages call the seam notch at the "start" or the "end" of an edge."""
    return f"the seam notch at the {end} of '{edge.name}'"


def _beside(points: FloatArray, mouth: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the point of an edge, extended past its ends, square to a point; and inward."""
    along = LineString(points).project(Point(mouth))
    size = length(points)
    inward = _inward(_smooth_direction(points, along))
    if 1e-6 < along < size - 1e-6:
        return point_at(points, along), inward
    end = points[0] if along < size / 2.0 else points[-1]
    direction = np.array([inward[1], -inward[0]])
    return end + direction * float((mouth - end) @ direction), inward


def _meet(ring: Line, start: FloatArray, direction: FloatArray, wide: float) -> FloatArray | None:
    """Return where the ray from `start` first leaves the cutting line, within `wide` mm.

    Returns a point on it where they coincide, and None where the ray goes on through the card: it
    would then meet the cutting line of some other place.
    """
    if wide <= 1e-6:
        return np.asarray(ring.interpolate(ring.project(Point(start))).coords[0])
    reach = wide * 1.02 + _OFF
    ray = LineString([start, start + direction * reach])
    hits = shapely.get_coordinates(ring.intersection(ray))
    away = (hits - start) @ direction
    if (away > 1e-3).any():  # at the fold the ray begins on the cutting line and runs along it
        return np.asarray(hits[np.argmin(np.where(away > 1e-3, away, np.inf))])
    wanted = start + direction * wide  # a facet at the fold may take the ray just off the card
    near = np.asarray(ring.interpolate(ring.project(Point(wanted))).coords[0])
    if np.hypot(*(near - wanted)) < _NEAR:
        return near
    return start if len(hits) else None


def _smooth_direction(points: FloatArray, along: float) -> FloatArray:
    """Return the direction over 1 mm around the place, so that facets don't distort it."""
    size = length(points)
    if min(along, size - along) < 0.5:
        closed = is_closed(points)
        heading = end_heading(points, last=along > size / 2.0)
        if heading.bend and not closed:
            turn = heading.bend * (along - (size if along > size / 2.0 else 0.0))
            return rotated(heading.direction, np.degrees(turn))
        longer = np.vstack([points[-2], points, points[1]]) if closed else lengthened(points, 0.5)
        points, along = longer, along + float(np.hypot(*(longer[1] - longer[0])))
        size = length(points)
    step = point_at(points, min(along + 0.5, size)) - point_at(points, max(along - 0.5, 0.0))
    reach = np.hypot(*step)
    return np.asarray(step / reach) if reach > 1e-9 else direction_at(points, along)


def _inward(direction: FloatArray) -> FloatArray:
    return np.array([-direction[1], direction[0]])
