"""Several sizes on one lay: so many garments of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from plotout.errors import UserError
from plotout.finish.derive import cut_pieces
from plotout.pattern.model import PatternSet

_MOST = 1_000  # garments of a size


def read_ratio(text: str) -> dict[str, int]:
    """Return how many garments of each size are laid: `S:1,M:2`. Raises UserError."""
    ratio: dict[str, int] = {}
    for part in text.split(","):
        size, colon, count = part.rpartition(":")
        size = size.strip()
        if not colon or not size or ":" in size or not count.strip().isdecimal():
            raise UserError(f"'{part.strip()}' is not a size and how many", fix="Write S:1,M:2,L:1")
        if size in ratio:
            raise UserError(f"size '{size}' is there twice", fix="Add its numbers up.")
        if not 1 <= int(count) <= _MOST:
            raise UserError(f"{int(count)} garments of size '{size}'", fix=f"From 1 to {_MOST}.")
        ratio[size] = int(count)
    return ratio


def combined(sets: Mapping[str, PatternSet], ratio: Mapping[str, int]) -> PatternSet:
    """Return one set of all that is cut for those garments, each piece named with its size."""
    first = next(iter(sets.values()))
    pieces = [
        replace(
            piece,
            name=f"{piece.name}, size {size}",
            cuts=tuple(replace(cut, count=cut.count * ratio[size]) for cut in piece.cuts),
            parent=None,
            derive=None,
            areas=(),  # those that are cut are pieces of their own by now
        )
        for size, one in sets.items()
        for piece in cut_pieces(one)
    ]
    told = ", ".join(f"{count} x {size}" for size, count in ratio.items())
    return replace(first, size=told, pieces=tuple(pieces), seams=())
