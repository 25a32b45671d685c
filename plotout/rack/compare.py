"""What changed between two versions of a set, in a patternmaker's terms."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import astuple, dataclass, is_dataclass
from itertools import groupby
from typing import Any

import numpy as np
import shapely

from plotout.finish.derive import all_pieces
from plotout.pattern.model import PatternSet, Piece

SMALLEST = 0.01  # mm: less than this is rounding, not a change


@dataclass(frozen=True, slots=True)
class Change:
    """A difference. what: "added", "dropped", "moved", "allowance", "cut", "notches", "marks",
    "seam", "set".

    amount: mm where there is one (how far the line moved at most, the change of allowance), else 0.
    """

    piece: str
    what: str
    words: str
    amount: float = 0.0


def compare(old: PatternSet, new: PatternSet) -> tuple[Change, ...]:
    """Return what changed from `old` to `new`: pieces in the new set's order, dropped ones last.

    Derived pieces are compared as made.
    """
    before = {piece.name: piece for piece in all_pieces(old)}
    pieces = all_pieces(new)
    after = {piece.name for piece in pieces}
    changes: list[Change] = []
    for field in ("name", "date"):
        was, now = getattr(old, field), getattr(new, field)
        if was != now:
            changes.append(Change("", "set", f"{field}: '{was}' is now '{now}'"))
    for piece in pieces:
        if piece.name in before:
            changes += _piece_changes(before[piece.name], piece)
        else:
            changes.append(Change(piece.name, "added", "piece added"))
    changes += _seams(old, new)
    changes += [
        Change(p.name, "dropped", "piece dropped") for p in before.values() if p.name not in after
    ]
    return tuple(changes)


def _seams(old: PatternSet, new: PatternSet) -> Iterator[Change]:
    """Give the changes of seams: which edges are sewn together, and with how much ease."""
    before = {seam.name: seam for seam in old.seams}
    for seam in new.seams:
        was = before.pop(seam.name, None)
        if was is None:
            yield Change("", "seam", f"seam '{seam.name}' added")
            continue
        if was.ease != seam.ease:
            least, most = (f"{low:g} to {high:g} mm" for low, high in (was.ease, seam.ease))
            off = max(abs(a - b) for a, b in zip(was.ease, seam.ease, strict=True))
            yield Change("", "seam", f"seam '{seam.name}': ease {least} is now {most}", off)
        elif was.stretches != seam.stretches:
            yield Change("", "seam", f"seam '{seam.name}': the ease of its stretches changed")
        if (was.first, was.second) != (seam.first, seam.second):
            yield Change("", "seam", f"seam '{seam.name}' joins other edges")
    for name in before:
        yield Change("", "seam", f"seam '{name}' dropped")


def _piece_changes(old: Piece, new: Piece) -> list[Change]:
    return [
        *_moved(old, new),
        *_allowances(old, new),
        *_cuts(old, new),
        *_notches(old, new),
        *_marks(old, new),
    ]


def _moved(old: Piece, new: Piece) -> list[Change]:
    """Return how far the stitching line moved: the Hausdorff distance of the two outlines."""
    lines = shapely.LineString(old.outline), shapely.LineString(new.outline)
    distance = float(shapely.hausdorff_distance(*lines, densify=0.01))
    if distance <= SMALLEST:
        return []
    return [Change(new.name, "moved", f"line moved by up to {distance:.2f} mm", distance)]


def _allowances(old: Piece, new: Piece) -> list[Change]:
    """Return the changes of allowance; edges that changed alike are listed together."""
    before = {edge.name: edge.allowance for edge in old.edges}
    pairs = [(before.get(edge.name), edge.allowance, edge.name) for edge in new.edges]
    changed = [pair for pair in pairs if pair[0] and _by(pair[0], pair[1])]
    changes = []
    for (was, now), alike in groupby(sorted(changed), key=lambda pair: pair[:2]):
        assert was is not None
        names = ", ".join(f"'{name}'" for _, _, name in alike)
        words = f"allowance of {names}: {_width(was)} is now {_width(now)}"
        changes.append(Change(new.name, "allowance", words, _by(was, now)))
    return changes


def _by(was: tuple[float, float], now: tuple[float, float]) -> float:
    by = max((now[0] - was[0], now[1] - was[1]), key=abs)
    return by if abs(by) > SMALLEST else 0.0


def _width(allowance: tuple[float, float]) -> str:
    start, end = allowance
    return f"{start:g} mm" if start == end else f"{start:g} to {end:g} mm"


def _cuts(old: Piece, new: Piece) -> list[Change]:
    was, now = (", ".join(str(cut) for cut in piece.cuts) for piece in (old, new))
    return [] if was == now else [Change(new.name, "cut", f"'{was}' is now '{now}'")]


def _notches(old: Piece, new: Piece) -> list[Change]:
    def places(piece: Piece) -> list[tuple[str, float, int]]:
        return sorted((n.edge, round(n.along, 2), n.count) for n in piece.notches)

    was, now = places(old), places(new)
    if was == now:
        return []
    gone = [p for p in was if p not in now]
    come = [p for p in now if p not in was]
    words = "; ".join(
        [f"notch on '{e}' at {a:g} mm removed" for e, a, _ in gone]
        + [f"notch on '{e}' at {a:g} mm added" for e, a, _ in come]
    )
    return [Change(new.name, "notches", words)]


_MARKS = {
    "grain": "grain line",
    "fold": "fold",
    "whole": "whole or half",
    "drills": "drill holes",
    "lines": "inner lines",
    "areas": "marked areas",
    "splits": "splits",
    "words": "words",
}


def _marks(old: Piece, new: Piece) -> Iterator[Change]:
    for field, words in _MARKS.items():
        if _plain(getattr(old, field)) != _plain(getattr(new, field)):
            yield Change(new.name, "marks", f"{words} changed")


def _plain(value: Any) -> Any:
    """Return the value without arrays, numbers rounded to a hundredth of a millimetre."""
    if is_dataclass(value) and not isinstance(value, type):
        value = astuple(value)
    if isinstance(value, np.ndarray):
        value = value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return round(value, 2) if isinstance(value, float) else value
