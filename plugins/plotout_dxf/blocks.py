"""The block that holds a piece: found by its name or its piece's, and how it is inserted."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from plotout import Place, UserError
from plotout.kit import nearest
from plotout_dxf.document import texts_in

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

_PIECE_NAME = re.compile(r"\s*PIECE NAME\s*:\s*(.*?)\s*$", re.IGNORECASE)
_SIZE = re.compile(r"\s*SIZE\s*:\s*(.*?)\s*$", re.IGNORECASE)


def block_of(document: Document, pick: Mapping[str, Any], path: Path) -> Any:
    """Return the requested block, by its name, or by its piece's name and its size."""
    asked, size = str(pick["block"]), str(pick.get("size", ""))
    blocks = [block for block in document.blocks if not block.name.startswith("*")]
    same = [block for block in blocks if block.name.upper() == asked.upper()]
    if not same:
        same = [
            block
            for block in blocks
            if _text(document, block, _PIECE_NAME).upper() == asked.upper()
        ]
    named = bool(same)
    if not named:  # FRONT_S, FRONT_M and FRONT_L are the sizes of FRONT
        same = [block for block in blocks if _parts(block)[0].upper() == asked.upper()]
    if not same:
        titles = [title for block in blocks if (title := _text(document, block, _PIECE_NAME))]
        raise UserError(f"there is no block '{asked}'",
                        fix=nearest(asked, [*(block.name for block in blocks), *titles]),
                        place=Place(path))  # fmt: skip
    if named and len(same) == 1:
        return same[0]
    of_size = [block for block in same if size and _is_size(document, block, size)]
    if len(of_size) != 1:
        known = ", ".join(f"'{block.name}'" for block in same)
        problem = f"{len(same)} blocks are called '{asked}': {known}"
        if not named:
            of = f" of size '{size}'" if size else ""
            problem = f"there is no block '{asked}'{of}, only {known}"
        raise UserError(problem, fix='Choose one: add size = "M", or write the block\'s own name.',
                        place=Place(path))  # fmt: skip
    return of_size[0]


def other_size(document: Document, block: Any, pick: Mapping[str, Any]) -> Iterator[str]:
    """Yield that a block says it is of another size than is asked for, in words."""
    asked, sized = str(pick.get("size", "")), _text(document, block, _SIZE)
    if asked and sized and sized.upper() != asked.upper():
        yield f"its block '{block.name}' says that it is of size '{sized}', not '{asked}'"


def _is_size(document: Document, block: Any, size: str) -> bool:
    sized = _text(document, block, _SIZE)
    if sized:
        return sized.upper() == size.upper()
    return _parts(block)[1].upper() == size.upper()


def _parts(block: Any) -> tuple[str, str]:
    """Return a block's name in two, at the last mark in it: ("FRONT", "M"); ("", NAME) without."""
    found = re.fullmatch(r"(.*)[_\s.-](.*)", str(block.name))
    return (found[1], found[2]) if found else ("", str(block.name))


def inserted(document: Document, name: str, path: Path) -> tuple[float, bool]:
    """Return the scale at which a block is inserted, 1 if it isn't, and whether always mirrored.

    Of a block inserted both ways, as a left and a right, the piece is as it is drawn.
    """
    found = _inserts(document).get(name.upper(), [])
    scales = sorted({round(abs(scale), 9) for pair in found for scale in pair}) or [1.0]
    if len(scales) > 1:
        raise UserError(
            f"block '{name}' is inserted at several scales: {', '.join(f'{s:g}' for s in scales)}",
            fix="Insert it once, at one scale.",
            place=Place(path),
        )
    return scales[0], bool(found) and all(x * y < 0.0 for x, y in found)


@lru_cache(maxsize=2)
def _inserts(document: Document) -> dict[str, list[tuple[float, float]]]:
    """Return the scales in x and y at which blocks are inserted, by their names in capitals."""
    found: dict[str, list[tuple[float, float]]] = {}
    for insert in document.modelspace():
        if insert.dxftype() == "INSERT":
            scales = float(insert.dxf.xscale), float(insert.dxf.yscale)
            found.setdefault(str(insert.dxf.name).upper(), []).append(scales)
    return found


def _text(document: Document, block: Any, pattern: re.Pattern[str]) -> str:
    """Return the value of a block's text of that kind, "" without one."""
    found = map(pattern.match, texts_in(document)[block.name])
    return next((entry[1] for entry in found if entry), "")
