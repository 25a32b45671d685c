"""The set file: TOML in, what it says out, with every slip told by its line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from plotout.errors import Place, UserError, nearest
from plotout.pattern.model import Defaults
from plotout.pattern.spec import PieceSpec, SeamSpec, SetFile
from plotout.pattern.tables import SET
from plotout.pattern.toml_lines import lines_of
from plotout.pattern.values import At, Source

MOST_BYTES = 4 * 1024 * 1024


def load(path: Path) -> SetFile:
    """Read a set file. Its drawings are not opened yet.

    Raises UserError with file, line and what to do for anything that it can't hold.
    """
    text = _text(path)
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise _syntax(path, text, str(fault)) from None
    except RecursionError:
        raise UserError("it is nested too deeply", place=Place(file=path)) from None
    top = At(raw, (), Source(path, lines_of(text)))
    got: dict[str, Any] = SET.read(top)
    head = got["set"]
    made = SetFile(
        file=path,
        name=head["name"],
        style=head["style"],
        size=head.get("size", ""),
        date=head.get("date", ""),
        cautions=head.get("cautions", ()),
        defaults=got.get("defaults", Defaults()),
        pieces=got["piece"],
        seams=got.get("seam", ()),
    )
    _unique((piece.name, piece.place) for piece in made.pieces)
    _check_parents(made.pieces)
    _check_seams(made)
    return made


def _text(path: Path) -> str:
    try:
        data = path.read_bytes()
    except OSError as fault:
        raise UserError(
            f"can't read the set file: {fault.strerror}",
            fix="Is the path right? It is the set's TOML file.",
            place=Place(file=path),
        ) from None
    if len(data) > MOST_BYTES:
        raise UserError(
            f"a set file of {len(data) >> 20} MiB is no set file", place=Place(file=path)
        )
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise UserError(
            "it is not UTF-8 text", fix="Save it as UTF-8.", place=Place(file=path, line=line)
        ) from None


def _syntax(path: Path, text: str, message: str) -> UserError:
    """A table's misspelt name may be what breaks the TOML after it: it is told first."""
    tables = tuple(SET.schema["properties"])
    for nth, row in enumerate(text.split("\n"), 1):
        named = re.match(r"\s*\[{1,2}\s*([\w-]+)", row)
        if named and named[1] not in tables and "cannot overwrite" in message.lower():
            return UserError(
                f"there is no table '{named[1]}'",
                fix=nearest(named[1], tables),
                place=Place(file=path, line=nth),
            )
    found = re.search(r"at line (\d+)", message)
    line = int(found[1]) if found else text.count("\n") + 1
    words = re.sub(r"\s*\(at (line.*|end of document)\)", "", message)
    words = words[:1].lower() + words[1:]
    return UserError(
        f"it is not TOML: {words}",
        fix="Text stands in quotes; a table's name in [brackets].",
        place=Place(file=path, line=line),
    )


def _unique(names: Iterable[tuple[str, Place]]) -> None:
    seen: dict[str, Place] = {}
    for name, place in names:
        if name in seen:
            raise UserError(
                f"there are two called '{name}'; the first is on line {seen[name].line}",
                fix="Give each a name of its own.",
                place=place,
            )
        seen[name] = place


def _check_parents(pieces: tuple[PieceSpec, ...]) -> None:
    """Each derived piece has a parent, and none derives from itself through others."""
    by_name = {piece.name: piece for piece in pieces}
    for piece in pieces:
        chain, each = [piece.name], piece
        while each.derive is not None:
            parent = each.derive.parent
            if parent.name not in by_name:
                raise UserError(
                    f"there is no piece '{parent.name}'",
                    fix=nearest(parent.name, by_name),
                    place=parent.place,
                )
            if parent.name in chain:
                raise UserError(
                    f"'{piece.name}' derives from itself: {' from '.join([*chain, parent.name])}",
                    fix="One of them needs a drawing.",
                    place=piece.derive.parent.place if piece.derive else piece.place,
                )
            chain.append(parent.name)
            each = by_name[parent.name]


def _check_seams(made: SetFile) -> None:
    names = [piece.name for piece in made.pieces]
    _unique((seam.name, seam.place) for seam in made.seams)
    for seam in made.seams:
        for side in (seam.first, seam.second):
            if side.piece.name not in names:
                raise UserError(
                    f"there is no piece '{side.piece.name}'",
                    fix=nearest(side.piece.name, names),
                    place=side.piece.place,
                )
        _check_apart(seam)


def _check_apart(seam: SeamSpec) -> None:
    """An edge can't be sewn twice in one seam."""
    chains = [
        (side.piece.name, ref.name, ref.place)
        for side in (seam.first, seam.second)
        for ref, _ in side.edges
    ]
    for nth, (piece, edge, place) in enumerate(chains):
        if (piece, edge) in [each[:2] for each in chains[:nth]]:
            raise UserError(f"seam '{seam.name}' has edge '{edge}' of '{piece}' twice", place=place)
