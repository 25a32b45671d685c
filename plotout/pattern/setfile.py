"""The set file: TOML in, what it says out, with all that is wrong told, each by its line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TypeVar

from plotout.errors import Place, UserError, all_of, nearest
from plotout.pattern.spec import PieceSpec, SeamSpec, SetFile
from plotout.tables import Source, read, read_table, read_toml
from plotout.tables.model import in_order

T = TypeVar("T")
TABLES = ("set", "defaults", "sizes", "grade", "piece", "seam")


def load(path: Path) -> SetFile:
    """Read a set file. Its drawings are not opened yet.

    Raises UserError with file, line and what to do for all that it can't hold.
    """
    return of(read_toml(path, "set file", tables=TABLES, owner="piece"))


def of(source: Source) -> SetFile:
    """Return the set file that a source holds. Raises UserError with all that is wrong."""
    wrong: list[UserError] = []
    made = None
    try:
        made = read(SetFile, source, file=source.file)
        pieces, seams = made.pieces, made.seams
    except UserError as fault:
        wrong += getattr(fault, "errors", (fault,))
        pieces = tuple(_sound(PieceSpec, source, "piece"))  # what can be read is looked at too
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
    """Give those tables of a list that have nothing wrong in them."""
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
        if name in seen:
            yield UserError(
                f"there are two called '{name}'; the first is on line {seen[name].line}",
                fix="Give each a name of its own.",
                place=place,
            )
        seen.setdefault(name, place)


def _orphans(pieces: tuple[PieceSpec, ...], names: set[str]) -> Iterator[UserError]:
    """Give the derived pieces that have no parent, or derive from themselves through others."""
    by_name = {piece.name: piece for piece in pieces}
    for piece in pieces:
        chain, ancestor = [piece.name], piece
        while ancestor.derive is not None:
            parent = ancestor.derive.parent
            if parent.name not in names and ancestor is piece:
                yield _no_piece(parent.name, names, parent.place)
            if parent.name in chain:
                yield UserError(
                    f"'{piece.name}' derives from itself: {' from '.join([*chain, parent.name])}",
                    fix="One of them needs a drawing.",
                    place=piece.derive.parent.place if piece.derive else piece.place,
                )
                break
            chain.append(parent.name)
            if parent.name not in by_name:
                break
            ancestor = by_name[parent.name]


def _lost_sides(seams: tuple[SeamSpec, ...], names: set[str]) -> Iterator[UserError]:
    for seam in seams:
        for side in (*seam.first, *seam.second):
            if side.piece.name not in names:
                yield _no_piece(side.piece.name, names, side.piece.place)


def _no_piece(name: str, names: set[str], place: Place) -> UserError:
    return UserError(f"there is no piece '{name}'", fix=nearest(name, sorted(names)), place=place)
