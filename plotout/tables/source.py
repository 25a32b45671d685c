"""Reads a TOML or JSON file: limited in size, as UTF-8, every value with its line."""

from __future__ import annotations

import codecs
import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from plotout.errors import Place, UserError, nearest_file
from plotout.files import read_whole
from plotout.tables.json_lines import json_lines
from plotout.tables.lines import Steps, lines_of, nesting
from plotout.tables.looks import is_damaged, looks_like
from plotout.tables.slips import syntax_fault

MOST_BYTES = 1024 * 1024
"""A larger file is not a set file, stock or profile: the sample set has 6 KiB."""
MOST_BYTES_OF_JSON = 8 * MOST_BYTES
"""A card in a lay takes some 200 bytes."""
MOST_NESTING = 32
"""Brackets within brackets, and names in a dotted key."""
MOST_ENTRIES = 10_000
"""Tables and values of a TOML file."""


class Text(str):
    """Text of a file that knows its place."""

    __slots__ = ("place",)
    place: Place


class Table(dict[str, Any]):
    """A table of a file that knows its place."""

    __slots__ = ("place",)
    place: Place


@dataclass(frozen=True, slots=True)
class Source:
    """The contents of a file. top: its values; lines: their lines, by path.

    owner: the list of named tables whose names are given with faults in them ("piece").
    remedy: what to do about any fault of a file that plotout wrote.
    """

    file: Path
    top: Table
    lines: Mapping[Steps, int] = field(default_factory=dict)
    owner: str = ""
    remedy: str = ""

    def place(self, path: Steps) -> Place:
        """Return a value's place: its line, or that of the nearest table around it."""
        line = next((self.lines[path[:n]] for n in range(len(path), 0, -1) if path[:n] in self.lines), None)  # fmt: skip  # noqa: E501
        return Place(self.file, line, _owner(self.top, path, self.owner))


def read_toml(
    path: Path,
    what: str,
    *,
    tables: Sequence[str] = (),
    several: Sequence[str] = (),
    owner: str = "",
    hints: Mapping[str, str] = MappingProxyType({}),
) -> Source:
    """Read a TOML file. Raises UserError with file, line and remedy if it is not TOML.

    what: the file in words, "set file". tables: names that its tables can have; several: of
    those of which there can be several. hints: what to write for a key that is a value and a table.
    """
    text = text_of(path, what)
    return parse_toml(text, path, tables=tables, several=several, owner=owner, hints=hints)


def parse_toml(
    text: str,
    path: Path,
    *,
    tables: Sequence[str] = (),
    several: Sequence[str] = (),
    owner: str = "",
    hints: Mapping[str, str] = MappingProxyType({}),
) -> Source:
    """Return the contents of a TOML text; see `read_toml`."""
    deep, line, entries = nesting(text)
    if deep > MOST_NESTING:
        raise UserError(
            f"tables, lists or names are nested more than {MOST_NESTING} deep",
            fix="Reduce the nesting: no file of plotout needs it.",
            place=Place(path, line),
        )
    if entries > MOST_ENTRIES:
        raise UserError(
            f"it has {entries} tables and values, more than {MOST_ENTRIES}",
            fix="Check that it is the right file; divide a set in two.",
            place=Place(path),
        )
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise syntax_fault(path, text, str(fault), tables, several, hints) from None
    except (ValueError, RecursionError) as fault:  # a whole number of more than 4,300 digits
        problem = f"it is not TOML: {str(fault)[:80]}"
        raise UserError(problem, fix="Write a number that can be.", place=Place(path)) from None
    lines = lines_of(text)
    source = Source(path, Table(raw), lines, owner)
    return Source(path, _placed(raw, (), source), lines, owner)


_OF_JSON = (
    ("Expecting value", "a value is missing or misspelt"),
    ("Expecting property name", "a name in double quotes is missing"),
    ("Expecting ',' delimiter", "a comma or a closing bracket is missing"),
    ("Expecting ':' delimiter", "a colon is missing after a name"),
    ("Illegal trailing comma", "a comma is followed by nothing"),
    ("Unterminated string", "a text has no closing quotation mark"),
    ("Extra data", "something follows its end"),
    ("Invalid control character", "a text holds a control character"),
    ("Invalid \\", "a text holds a backslash that means nothing"),
)  # the beginnings of what Python's json says, in words


def read_json(path: Path, what: str, fix: str) -> Source:
    """Read a JSON file that plotout wrote; null values are left out.

    Raises UserError with `fix` for anything else.
    """
    text = text_of(path, what, MOST_BYTES_OF_JSON)
    if not text.strip():
        raise UserError(f"the file is empty, not a {what}", fix=fix, place=Place(path))
    try:
        raw = json.loads(text, parse_constant=_no_number, object_pairs_hook=_once)
    except json.JSONDecodeError as fault:
        why = next((ours for theirs, ours in _OF_JSON if fault.msg.startswith(theirs)), fault.msg)
        problem = f"this is not a {what}: {why} (column {fault.colno})"
        raise UserError(problem, fix=fix, place=Place(path, fault.lineno)) from None
    except RecursionError:
        problem = f"this is not a {what}: it is nested too deep"
        raise UserError(problem, fix=fix, place=Place(path)) from None
    except ValueError as fault:  # a whole number of more than 4,300 digits; NaN
        problem = f"this is not a {what}: {str(fault)[:80]}"
        raise UserError(problem, fix=fix, place=Place(path)) from None
    if not isinstance(raw, dict):
        raise UserError(f"this is not a {what}", fix=fix, place=Place(path))
    lines = json_lines(text)
    source = Source(path, Table(raw), lines)
    return Source(path, _placed(_without_null(raw), (), source), lines, remedy=fix)


def _without_null(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _without_null(item) for key, item in value.items() if item is not None}
    return [_without_null(item) for item in value] if isinstance(value, list) else value


def text_of(path: Path, what: str, most: int = MOST_BYTES) -> str:
    """Return the text of a file. Raises UserError if it can't be read or is too large."""
    data = read_whole(path, what, most, fix="" if path.is_file() else _meant(path))
    check_text(data, path, what)
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or b"\0" in data[:2]:
        raise UserError(
            "it is UTF-16 text",
            fix="Save it as UTF-8: an editor asks for the encoding under 'Save as'.",
            place=Place(path),
        )
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
        if "\r" in text and "\n" not in text:
            raise UserError(
                "its lines end with a carriage return only",
                fix="Save it with the line ends LF, or CR LF.",
                place=Place(path),
            )
        return text
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise UserError(
            "it is not UTF-8 text", fix="Save it as UTF-8.", place=Place(path, line)
        ) from None


def check_text(data: bytes, path: Path, what: str) -> None:
    """Raise UserError for a file that is plainly something other than a text."""
    if known := looks_like(data):
        raise UserError(
            f"it is {known}, not a {what}", fix=f"Name the {what} itself.", place=Place(path)
        )
    if is_damaged(data):
        raise UserError(
            "it holds NUL bytes: it is damaged, or no text",
            fix="Take it from a copy, or write it again.",
            place=Place(path),
        )


def _meant(path: Path) -> str:
    """Return a remedy for a file that can't be read: the one beside it with nearly its name."""
    try:
        names = [entry.name for entry in path.parent.iterdir() if entry.suffix == path.suffix]
        names += [entry.name for entry in path.parent.iterdir() if entry.stem == path.stem]
    except (OSError, ValueError):
        names = []
    hint = nearest_file(path.name, (name for name in names if name != path.name))
    return hint if hint.startswith("Did") else "Is the path right?"


def _placed(value: Any, path: Steps, source: Source) -> Any:
    if isinstance(value, dict):
        table = Table((key, _placed(item, (*path, key), source)) for key, item in value.items())
        table.place = source.place(path)
        return table
    if isinstance(value, list):
        return [_placed(item, (*path, index), source) for index, item in enumerate(value)]
    if isinstance(value, str):
        text = Text(value)
        text.place = source.place(path)
        return text
    return value


def _owner(top: Mapping[str, Any], path: Steps, owner: str) -> str | None:
    if not owner or len(path) < 2 or path[0] != owner or not isinstance(path[1], int):
        return None
    listed = top.get(owner)
    table = listed[path[1]] if isinstance(listed, list) and path[1] < len(listed) else None
    name = table.get("name") if isinstance(table, dict) else None
    return str(name)[:80] if isinstance(name, str) else None


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is not a number")


def _once(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    """Return the fields of a JSON object. Raises ValueError for one that is in it twice."""
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise ValueError(f"'{name[:60]}' is in one place twice")
        found[name] = value
    return found
