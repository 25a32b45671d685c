"""What changed between two versions of a set, in a patternmaker's terms."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields

from plotout.finish.derive import all_pieces
from plotout.pattern.model import PatternSet, Seam, Side
from plotout.pattern.settings import Defaults, OnCards
from plotout.rack.change import Change, alike, became, paired
from plotout.rack.piece_changes import piece_changes

_HEAD = ("name", "style", "size", "date", "version", "sizes")


def compare(old: PatternSet, new: PatternSet) -> tuple[Change, ...]:
    """Return what changed from `old` to `new`: pieces in the new set's order, dropped ones last.

    Derived pieces are compared as made, and by how they are derived. Left out is what only follows
    from the rest (notes, what truings moved) and what is not of this size (its growth to others).
    """
    before = {piece.name: piece for piece in all_pieces(old)}
    pieces = all_pieces(new)
    after = {piece.name for piece in pieces}
    marked = {p.name: p.parent for p in new.pieces if p.derive is not None and p.derive.marked}
    changes = [Change("", "set", words) for words in _head(old, new)]
    for piece in pieces:
        if piece.name in before:
            changes += piece_changes(before[piece.name], piece)
        else:
            changes.append(Change(piece.name, "added", "piece added"))
    changes += _seams(old, new)
    for name in before:
        if name in marked:
            detail = f"it is marked on the card of '{marked[name]}' and has none of its own now"
            changes.append(Change(name, "dropped", detail))
        elif name not in after:
            changes.append(Change(name, "dropped", "piece dropped"))
    return tuple(changes)


def _head(old: PatternSet, new: PatternSet) -> Iterator[str]:
    """Give the changes of what the whole set has."""
    for name in _HEAD:
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            yield became(name, was, now)
    yield from _text("caution", old.cautions, new.cautions)
    if old.say.language != new.say.language:
        yield became("language", old.say.language, new.say.language)
    if old.say.inches != new.say.inches:
        units = ["in" if s.inches else "mm" for s in (old.say, new.say)]
        yield became("unit", *units)
    yield from _defaults(old.defaults, new.defaults)


def _text(what: str, old: tuple[str, ...], new: tuple[str, ...]) -> Iterator[str]:
    _, gone, come = paired(old, new, str.__eq__)
    yield from (f"{what} '{text}' dropped" for text in gone)
    yield from (f"{what} '{text}' added" for text in come)
    if not (gone or come) and old != new:
        yield f"{what}s: their order changed"


def _defaults(old: Defaults, new: Defaults) -> Iterator[str]:
    """Give the changes of settings by their keys in the set file."""
    for field in fields(Defaults):
        key, was, now = field.name.replace("_", "-"), *(getattr(d, field.name) for d in (old, new))
        if isinstance(was, OnCards) or field.name == "notch":
            for inner in fields(was):
                pair = getattr(was, inner.name), getattr(now, inner.name)
                if not alike(*pair):
                    yield became(f"defaults: {key}: {inner.name.replace('_', '-')}", *pair)
        elif not alike(was, now):
            yield became(f"defaults: {key}", was, now, "" if key == "mitre-limit" else "mm")


def _seams(old: PatternSet, new: PatternSet) -> Iterator[Change]:
    """Give the changes of seams: which edges are sewn together, and with how much ease."""
    before = {seam.name: seam for seam in old.seams}
    for seam in new.seams:
        was = before.pop(seam.name, None)
        if was is None:
            yield Change("", "seam", f"seam '{seam.name}' added")
        else:
            yield from _seam(was, seam)
    for name in before:
        yield Change("", "seam", f"seam '{name}' dropped")


def _seam(was: Seam, now: Seam) -> Iterator[Change]:
    name = f"seam '{now.name}'"
    if not alike(was.ease, now.ease):
        least, most = (f"{low:g} to {high:g} mm" for low, high in (was.ease, now.ease))
        off = max(abs(a - b) for a, b in zip(was.ease, now.ease, strict=True))
        yield Change("", "seam", f"{name}: ease {least} is now {most}", off)
    if not alike(was.stretches, now.stretches):
        eases = [_stretches(seam) for seam in (was, now)]
        yield Change("", "seam", f"{name}: ease of its stretches: {eases[0]} is now {eases[1]}")
    for which, old, new in (("first", was.first, now.first), ("second", was.second, now.second)):
        if old.edges != new.edges:
            yield Change("", "seam", f"{name}: {which} side: {_walked(old)} is now {_walked(new)}")
        if old.times != new.times:
            times = [side.times or "as many as are cut" for side in (old, new)]
            words = f"{name}: {which} side: times: {times[0]} is now {times[1]}"
            yield Change("", "seam", words)


def _stretches(seam: Seam) -> str:
    return ", ".join(f"{low:g} to {high:g} mm" for low, high in seam.stretches) or "none"


def _walked(side: Side) -> str:
    return ", ".join(
        f"'{edge}' of '{piece}'" + (" backwards" if back else "")
        for piece, edge, back in side.edges
    )
