"""Several sizes on one lay, with the number of garments per size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from plotout.errors import UserError
from plotout.finish.derive import cut_pieces
from plotout.pattern.model import PatternSet

_MOST = 1_000  # garments of a size


def read_ratio(text: str) -> dict[str, int]:
    """Return the garments per size of a ratio such as `S:1,M:2`. Raises UserError."""
    ratio: dict[str, int] = {}
    for part in text.split(","):
        size, colon, count = part.rpartition(":")
        size = size.strip()
        if not colon or not size or ":" in size or not count.strip().isdecimal():
            raise UserError(
                f"'{part.strip()}' is not a size with a number", fix="Write S:1,M:2,L:1"
            )
        if size in ratio:
            raise UserError(f"size '{size}' is given twice", fix="Add up its numbers.")
        if not 1 <= int(count) <= _MOST:
            raise UserError(
                f"{int(count)} garments of size '{size}' can't be laid",
                fix=f"Write a number from 1 to {_MOST}.",
            )
        ratio[size] = int(count)
    return ratio


def combined(sets: Mapping[str, PatternSet], ratio: Mapping[str, int]) -> PatternSet:
    """Return one set of everything cut for those garments; pieces are named with their size."""
    first = next(iter(sets.values()))
    pieces = [
        replace(
            piece,
            name=f"{piece.name}, size {size}",
            cuts=tuple(replace(cut, count=cut.count * ratio[size]) for cut in piece.cuts),
            parent=None,
            derive=None,
            areas=(),  # areas that are cut are separate pieces by now
        )
        for size, one in sets.items()
        for piece in cut_pieces(one)
    ]
    sizes = ", ".join(f"{count} x {size}" for size, count in ratio.items())
    return replace(first, size=sizes, pieces=tuple(pieces), seams=())
