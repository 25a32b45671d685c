"""What changed between two versions of a set, in a patternmaker's terms."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from plotout.pattern.model import PatternSet, Piece

SMALLEST = 0.01  # mm: less than this is rounding, not a change


@dataclass(frozen=True, slots=True)
class Change:
    """One difference. what: "added", "dropped", "moved", "allowance", "cut", "notches", "set".

    amount: mm where it has one (how far the line moved at most, the change of allowance), else 0.
    """

    piece: str
    what: str
    words: str
    amount: float = 0.0


def compare(old: PatternSet, new: PatternSet) -> tuple[Change, ...]:
    """Return what changed from `old` to `new`, pieces in the order of the new set, dropped last."""
    before = {piece.name: piece for piece in old.pieces}
    after = {piece.name for piece in new.pieces}
    changes: list[Change] = []
    for field in ("name", "date"):
        was, now = getattr(old, field), getattr(new, field)
        if was != now:
            changes.append(Change("", "set", f"{field}: '{was}' is now '{now}'"))
    for piece in new.pieces:
        if piece.name in before:
            changes += _piece_changes(before[piece.name], piece)
        else:
            changes.append(Change(piece.name, "added", "piece added"))
    changes += [
        Change(p.name, "dropped", "piece dropped") for p in old.pieces if p.name not in after
    ]
    return tuple(changes)


def _piece_changes(old: Piece, new: Piece) -> list[Change]:
    return [*_moved(old, new), *_allowances(old, new), *_cuts(old, new), *_notches(old, new)]


def _moved(old: Piece, new: Piece) -> list[Change]:
    """The furthest that the stitching line moved: the Hausdorff distance of the two outlines."""
    if not (old.edges and new.edges):
        return []  # a derived piece's line follows its parent's
    lines = shapely.LineString(old.outline), shapely.LineString(new.outline)
    distance = float(shapely.hausdorff_distance(*lines, densify=0.01))
    if distance <= SMALLEST:
        return []
    return [Change(new.name, "moved", f"line moved by up to {distance:.2f} mm", distance)]


def _allowances(old: Piece, new: Piece) -> list[Change]:
    before = {edge.name: edge.allowance for edge in old.edges}
    changes = []
    for edge in new.edges:
        was = before.get(edge.name)
        if was is None:
            continue
        by = max((edge.allowance[0] - was[0], edge.allowance[1] - was[1]), key=abs)
        if abs(by) > SMALLEST:
            words = f"allowance of '{edge.name}': {_width(was)} is now {_width(edge.allowance)}"
            changes.append(Change(new.name, "allowance", words, by))
    return changes


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
        [f"notch on '{e}' at {a:g} mm gone" for e, a, _ in gone]
        + [f"notch on '{e}' at {a:g} mm new" for e, a, _ in come]
    )
    return [Change(new.name, "notches", words)]
