"""Reads the set file, and reports all its faults with their lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TypeVar
from unicodedata import normalize

from plotout.errors import Place, UserError, all_of, nearest
from plotout.pattern.derivation import cycle_fault
from plotout.pattern.grade_check import check_growth
from plotout.pattern.growth_table import with_growth
from plotout.pattern.spec import PieceSpec, SeamSpec, SetFile
from plotout.tables import Source, read, read_table, read_toml
from plotout.tables.model import in_order

T = TypeVar("T")
_HINTS = {"line": 'A cutting line is set by outline = "cutting"; [[piece.line]] is a line inside.'}
SEVERAL = ("piece", "seam", "grade")
TABLES = ("set", "defaults", "sizes", "grade", "piece", "seam")


def load(path: Path) -> SetFile:
    """Read a set file, and its growth table if it has one. Its drawings are not opened yet.

    Raises UserError with file, line and what to do for all that they can't hold.
    """
    read = of(
        read_toml(path, "set file", tables=TABLES, several=SEVERAL, owner="piece", hints=_HINTS)
    )
    return check_growth(with_growth(read))


def of(source: Source) -> SetFile:
    """Return the set file in a source. Raises UserError with all faults."""
    wrong: list[UserError] = []
    made = None
    try:
        made = read(SetFile, source, file=source.file)
        pieces, seams = made.pieces, made.seams
    except UserError as fault:
        wrong += getattr(fault, "errors", (fault,))
        pieces = tuple(_sound(PieceSpec, source, "piece"))  # the readable ones are checked too
        seams = tuple(_sound(SeamSpec, source, "seam"))
    names = {piece.name for piece in pieces} | set(_names(source))
    wrong += _twice((piece.name, piece.place) for piece in pieces)
    wrong += _twice((seam.name, seam.place) for seam in seams)
    wrong += _orphans(pieces, names)
    wrong += _lost_sides(seams, names)
    if made is None or wrong:
        raise all_of(in_order(wrong))
    return made


def _sound(model: type[T], source: Source, key: str) -> Iterator[T]:
    """Give the tables of a list that have no faults."""
    listed = source.top.get(key)
    for index, table in enumerate(listed if isinstance(listed, list) else ()):
        try:
            yield read_table(model, table, source, (key, index))
        except UserError:
            continue


def _names(source: Source) -> Iterator[str]:
    listed = source.top.get("piece")
    for table in listed if isinstance(listed, list) else ():
        name = table.get("name") if isinstance(table, dict) else None
        if isinstance(name, str):
            yield name.strip()


def _twice(names: Iterable[tuple[str, Place]]) -> Iterator[UserError]:
    seen: dict[str, Place] = {}
    for name, place in names:
        read = normalize("NFC", name)  # an accent may be a letter's part, or a sign after it
        if read in seen:
            yield UserError(
                f"two are called '{name}'; the first is on line {seen[read].line}",
                fix="Rename one of them.",
                place=place,
            )
        seen.setdefault(read, place)


def _orphans(pieces: tuple[PieceSpec, ...], names: set[str]) -> Iterator[UserError]:
    """Give a fault for derived pieces without a parent, or that derive from themselves."""
    parents = {piece.name: piece.derive.parent.name for piece in pieces if piece.derive}
    for piece in pieces:
        if piece.derive is None:
            continue
        parent = piece.derive.parent
        if parent.name not in names:
            yield _no_piece(parent.name, names, parent.place)
        if fault := cycle_fault(piece.name, parents, parent.place):
            yield fault


def _lost_sides(seams: tuple[SeamSpec, ...], names: set[str]) -> Iterator[UserError]:
    for seam in seams:
        for side in (*seam.first, *seam.second):
            if side.piece.name not in names:
                yield _no_piece(side.piece.name, names, side.piece.place)


def _no_piece(name: str, names: set[str], place: Place) -> UserError:
    return UserError(f"there is no piece '{name}'", fix=nearest(name, sorted(names)), place=place)
