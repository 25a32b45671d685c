"""What changed in one piece, in a patternmaker's terms."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TypeVar

import numpy as np
import shapely

from plotout.geometry.strokes import FloatArray
from plotout.pattern.findings import Trued
from plotout.pattern.model import Area, Edge, InternalLine, Notch, Piece, Split
from plotout.pattern.settings import NotchStyle
from plotout.rack.change import SMALLEST, Change, alike, became, field_changes, paired, worded

_FIELDS = {
    "fold": "fold",
    "whole": "made unfolded",
    "bias": "on the bias",
    "one_way": "lies one way in the cloth",
    "front": "front end",
}
_OF_EDGES = {
    "corner": "corners",
    "seam_notches": "allowance notches",
    "facing": "fold-over facing",
}
_DERIVED = ("how", "along", "width", "inset", "smaller", "ease", "hem")


Line = TypeVar("Line", InternalLine, Area)


def piece_changes(old: Piece, new: Piece) -> Iterator[Change]:
    """Give what changed from one version of a piece to the other."""
    moved = _distance(old.outline, new.outline)
    if moved > SMALLEST:
        yield Change(new.name, "moved", f"line moved by up to {moved:.2f} mm", moved)
    yield from (Change(new.name, "edges", words) for words in _edges(old, new, moved))
    yield from _allowances(old, new)
    was, now = (", ".join(_order(cut) for cut in piece.cuts) for piece in (old, new))
    if was != now:
        yield Change(new.name, "cut", f"'{was}' is now '{now}'")
    yield from (Change(new.name, "notches", words) for words in _notches(old, new))
    yield from (Change(new.name, "derived", words) for words in _derivation(old, new))
    for read in (_plain, _grain, _drills, _lines, _areas, _splits, _words, _truings):
        yield from (Change(new.name, "marks", words) for words in read(old, new))


def _distance(was: FloatArray, now: FloatArray) -> float:
    """Return how far a line moved at most, mm: the Hausdorff distance."""
    if alike(was, now):
        return 0.0
    lines = shapely.LineString(was), shapely.LineString(now)
    return float(shapely.hausdorff_distance(*lines, densify=0.01))


def _order(cut: object) -> str:
    return f"{cut}" + (", reversed" if getattr(cut, "reversed", False) else "")


def _edges(old: Piece, new: Piece, moved: float) -> Iterator[str]:
    """Give the changes of edges other than their line: which there are, and how they are made."""
    pairs, gone, come = paired(old.edges, new.edges, lambda a, b: a.name == b.name)
    if gone or come:
        was, now = (tuple(edge.name for edge in edges) for edges in (old.edges, new.edges))
        yield became("edges", was, now)
    for field, words in _OF_EDGES.items():
        changed = [
            (worded(getattr(a, field)), worded(getattr(b, field)), b.name)
            for a, b in pairs
            if getattr(a, field) != getattr(b, field)
        ]
        for before, after, names in _grouped(changed):
            yield f"{words} of {names}: {before} is now {after}"
    if moved <= SMALLEST:
        for a, b in pairs:
            if not (alike(a.points[0], b.points[0]) and alike(a.points[-1], b.points[-1])):
                yield f"edge '{b.name}' begins or ends elsewhere on the line"


def _grouped(changed: list[tuple[str, str, str]]) -> Iterator[tuple[str, str, str]]:
    """Give what was, what is, and the names of all that changed so."""
    for (was, now), alike_ in groupby(sorted(changed), key=lambda row: row[:2]):
        yield was, now, ", ".join(f"'{name}'" for _, _, name in alike_)


def _allowances(old: Piece, new: Piece) -> Iterator[Change]:
    """Give the changes of allowance; edges that changed alike are listed together."""
    pairs, _, _ = paired(old.edges, new.edges, lambda a, b: a.name == b.name)
    changed = [(a.allowance, b.allowance, b.name) for a, b in pairs if _by(a, b)]
    for (was, now), same in groupby(sorted(changed), key=lambda row: row[:2]):
        names = ", ".join(f"'{name}'" for _, _, name in same)
        by = max((now[0] - was[0], now[1] - was[1]), key=abs)
        words = f"allowance of {names}: {_width(was)} is now {_width(now)}"
        yield Change(new.name, "allowance", words, by)


def _by(was: Edge, now: Edge) -> bool:
    return not alike(was.allowance, now.allowance)


def _width(allowance: tuple[float, float]) -> str:
    start, end = allowance
    return f"{start:g} mm" if start == end else f"{start:g} to {end:g} mm"


def _notches(old: Piece, new: Piece) -> Iterator[str]:
    def same(a: Notch, b: Notch) -> bool:
        return a.edge == b.edge and alike(a.along, b.along)

    pairs, gone, come = paired(old.notches, new.notches, same)
    yield from (f"notch on {_place(notch)} removed" for notch in gone)
    yield from (f"notch on {_place(notch)} added" for notch in come)
    for was, now in pairs:
        if was.count != now.count:
            yield became(f"notches on {_place(now)}", was.count, now.count)
    for field in NotchStyle.__dataclass_fields__:
        changed = [
            (worded(getattr(a.style, field)), worded(getattr(b.style, field)), _place(b))
            for a, b in pairs
            if not alike(getattr(a.style, field), getattr(b.style, field))
        ]
        for (before, after), rows in groupby(sorted(changed), key=lambda row: row[:2]):
            places = "; ".join(place for _, _, place in rows)
            yield f"{field} of the notch on {places}: {before} is now {after}"


def _place(notch: Notch) -> str:
    return f"'{notch.edge}' at {notch.along:.6g} mm"


def _derivation(old: Piece, new: Piece) -> Iterator[str]:
    if old.parent != new.parent:
        yield became("derived from", old.parent, new.parent)
    if old.derive is not None and new.derive is not None:
        yield from field_changes(old.derive, new.derive, _DERIVED, lambda name: f"derived: {name}")


def _plain(old: Piece, new: Piece) -> Iterator[str]:
    yield from field_changes(old, new, _FIELDS, _FIELDS.__getitem__)


def _grain(old: Piece, new: Piece) -> Iterator[str]:
    was, now = old.grain, new.grain
    if was is None or now is None:
        if was is not now:
            yield f"grain line {'added' if was is None else 'dropped'}"
    elif not alike(was, now):
        turned = math.degrees(math.remainder(_angle(now) - _angle(was), math.tau))
        by = float(np.max(np.hypot(*(now - was).T)))
        text = f"grain line moved by up to {by:.2f} mm"
        yield text + (f", turned by {turned:.2f} degrees" if abs(turned) >= 0.005 else "")


def _angle(grain: FloatArray) -> float:
    x, y = grain[1] - grain[0]
    return math.atan2(y, x)


def _drills(old: Piece, new: Piece) -> Iterator[str]:
    pairs, gone, come = paired(old.drills, new.drills, lambda a, b: alike(a.at, b.at))
    yield from (f"drill hole at {_at(drill.at)} removed" for drill in gone)
    yield from (f"drill hole at {_at(drill.at)} added" for drill in come)
    for was, now in pairs:
        prefix = f"drill hole at {_at(now.at)}: "
        yield from field_changes(was, now, ("size", "cross", "name"), prefix.__add__)


def _at(point: tuple[float, float]) -> str:
    return f"({point[0]:.6g}, {point[1]:.6g})"


def _named(
    what: str,
    old: Sequence[Line],
    new: Sequence[Line],
    fields: tuple[str, ...] = (),
) -> Iterator[str]:
    """Give the changes of lines that have names; those of one name are taken in order."""
    pairs, gone, come = paired(old, new, _same_name)
    yield from (f"{what} '{line.name}' removed" for line in gone)
    yield from (f"{what} '{line.name}' added" for line in come)
    for was, now in pairs:
        name = f"{what} '{now.name}'"
        if not alike(was.points, now.points):
            by = _distance(was.points, now.points)
            if by > SMALLEST:
                yield f"{name} moved by up to {by:.2f} mm"
        yield from field_changes(was, now, fields, f"{name}: ".__add__)


def _same_name(was: Line, now: Line) -> bool:
    return was.name == now.name


def _lines(old: Piece, new: Piece) -> Iterator[str]:
    yield from _named("line", old.lines, new.lines, ("kind", "work"))


def _areas(old: Piece, new: Piece) -> Iterator[str]:
    yield from _named("area", old.areas, new.areas)


def _splits(old: Piece, new: Piece) -> Iterator[str]:
    pairs, gone, come = paired(old.splits, new.splits, lambda a, b: alike(a.line, b.line))
    yield from (f"split {_through(split)} removed" for split in gone)
    yield from (f"split {_through(split)} added" for split in come)
    for was, now in pairs:
        yield from field_changes(was, now, ("underlap",), f"split {_through(now)}: ".__add__)


def _through(split: Split) -> str:
    if split.line is None:
        return "where the stock asks for it"
    return f"through {_at(split.line[0])} and {_at(split.line[1])}"


def _words(old: Piece, new: Piece) -> Iterator[str]:
    if old.words != new.words:
        yield became("words", old.words, new.words)


def _truings(old: Piece, new: Piece) -> Iterator[str]:
    """Give what is measured now, or no more; what was moved for it shows in the line."""

    def same(a: Trued, b: Trued) -> bool:
        return (a.kind, a.edges) == (b.kind, b.edges) and alike(a.tolerance, b.tolerance)

    _, gone, come = paired(old.trued, new.trued, same)
    for done, truings in (("removed", gone), ("added", come)):
        for truing in truings:
            edges, within = worded(truing.edges), f"{truing.tolerance:g} mm"
            yield f"truing '{truing.kind}' of {edges}, within {within}, {done}"
