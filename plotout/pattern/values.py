"""Kinds of value that a set file can hold: how each is read, and how JSON Schema says it."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any

from plotout import units
from plotout.errors import Place, UserError, nearest
from plotout.pattern.spec import Along, Ref

LONGEST_NAME = 120
MOST_LENGTH = 20_000.0  # mm: a longer one is a slip of the unit


_WRITTEN = r"[-+]?\s*(\d+\s+\d+/\d+|\d+/\d+|\d+(\.\d*)?|\.\d+)\s*"  # 1 1/4, 1/2, 12.7
_LENGTH_SCHEMA = {"type": ["number", "string"], "pattern": rf"^\s*{_WRITTEN}[A-Za-z\"]*\s*$"}


@dataclass(frozen=True, slots=True)
class Source:
    """The file that is being read, and the line of each of its values."""

    file: Path
    lines: Mapping[tuple[str | int, ...], int]


@dataclass(frozen=True, slots=True)
class At:
    """A value in the set file, and where it stands. piece: whose it is, for messages."""

    value: Any
    path: tuple[str | int, ...]
    source: Source
    piece: str | None = None

    @property
    def place(self) -> Place:
        """Where it stands: its own line, or that of the nearest table around it."""
        for size in range(len(self.path), 0, -1):
            if self.path[:size] in self.source.lines:
                line = self.source.lines[self.path[:size]]
                return Place(file=self.source.file, line=line, piece=self.piece)
        return Place(file=self.source.file, piece=self.piece)

    @property
    def label(self) -> str:
        """Its name as the user wrote it."""
        names = [part for part in self.path if isinstance(part, str)]
        return names[-1] if names else "the file"

    def child(self, key: str | int) -> At:
        """Return the value within this one; within `[[piece]]`, it is that piece's."""
        value, path, piece = self.value[key], (*self.path, key), self.piece
        if self.path == ("piece",) and isinstance(value, dict):
            name = value.get("name")
            piece = name if isinstance(name, str) else None
        return At(value, path, self.source, piece)

    def wrong(self, problem: str, fix: str = "") -> UserError:
        """Return the error for this value."""
        return UserError(problem, fix=fix, place=self.place)


@dataclass(frozen=True, slots=True)
class Kind:
    """A sort of value. read: raises UserError for what is not one. schema: JSON Schema for it."""

    read: Callable[[At], Any]
    schema: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a table: its kind, what it is for, and whether it must be there."""

    kind: Kind
    says: str
    needed: bool = False


def table(fields: Mapping[str, Field], build: Callable[[At, dict[str, Any]], Any]) -> Kind:
    """A table with these fields only; `build` makes of it what the set file says."""

    def read(at: At) -> Any:
        if not isinstance(at.value, dict):
            raise at.wrong(f"'{at.label}' must be a table", "Write { field = value, ... }.")
        for key in at.value:
            if key not in fields:
                raise at.child(key).wrong(f"there is no field '{key}'", nearest(key, fields))
        for key, field in fields.items():
            if field.needed and key not in at.value:
                raise at.wrong(f"'{key}' is missing", field.says)
        got = {key: fields[key].kind.read(at.child(key)) for key in fields if key in at.value}
        return build(at, got)

    schema: dict[str, Any] = {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            key: {"description": field.says, **field.kind.schema} for key, field in fields.items()
        },
    }
    needed = [key for key, field in fields.items() if field.needed]
    if needed:
        schema["required"] = needed
    return Kind(read, schema)


def many(kind: Kind, *, least: int = 0, most: int = 10_000) -> Kind:
    """A list of one kind, as a tuple."""

    def read(at: At) -> tuple[Any, ...]:
        if not isinstance(at.value, list):
            raise at.wrong(f"'{at.label}' must be a list", "Write [ ... , ... ].")
        if not least <= len(at.value) <= most:
            raise at.wrong(f"'{at.label}' has {len(at.value)} values, not {_span(least, most)}")
        return tuple(kind.read(at.child(nth)) for nth in range(len(at.value)))

    schema: dict[str, Any] = {"type": "array", "items": dict(kind.schema)}
    if least:
        schema["minItems"] = least
    if most < 10_000:
        schema["maxItems"] = most
    return Kind(read, schema)


def either(test: Callable[[Any], bool], yes: Kind, no: Kind) -> Kind:
    """One kind or another, as `test` of the raw value says."""
    return Kind(
        lambda at: (yes if test(at.value) else no).read(at),
        {"anyOf": [dict(yes.schema), dict(no.schema)]},
    )


def choice(words: type[StrEnum]) -> Kind:
    """One of a few words."""

    def read(at: At) -> StrEnum:
        if at.value not in [str(word) for word in words]:
            raise at.wrong(
                f"'{at.label}' can't be {at.value!r}", nearest(str(at.value), map(str, words))
            )
        return words(at.value)

    return Kind(read, {"enum": [str(word) for word in words]})


def length(least: float = 0.0, most: float = MOST_LENGTH, *, above: bool = False) -> Kind:
    """A length in mm; with `above`, greater than `least`."""

    def read(at: At) -> float:
        try:
            value = units.length(at.value)
        except UserError as fault:
            raise at.wrong(f"'{at.label}': {fault.problem}", fault.fix) from None
        if not least <= value <= most or (above and value == least):
            what = f"more than {least:g}" if above else f"at least {least:g}"
            raise at.wrong(f"'{at.label}' is {value:g} mm: it must be {what} and at most {most:g}")
        return value

    return Kind(read, _LENGTH_SCHEMA)


def number(least: float, most: float) -> Kind:
    """A plain number."""

    def read(at: At) -> float:
        bad = isinstance(at.value, bool) or not isinstance(at.value, int | float)
        if bad or not math.isfinite(at.value) or not least <= at.value <= most:
            raise at.wrong(
                f"'{at.label}' can't be {at.value!r}: it is a number from {least:g} to {most:g}"
            )
        return float(at.value)

    return Kind(read, {"type": "number", "minimum": least, "maximum": most})


def count(most: int) -> Kind:
    """A whole number from 1."""

    def read(at: At) -> int:
        if isinstance(at.value, bool) or not isinstance(at.value, int):
            raise at.wrong(f"'{at.label}' must be a whole number, not {at.value!r}")
        if not 1 <= at.value <= most:
            raise at.wrong(f"'{at.label}' is {at.value}: it must be from 1 to {most}")
        return int(at.value)

    return Kind(read, {"type": "integer", "minimum": 1, "maximum": most})


def _flag(at: At) -> bool:
    if not isinstance(at.value, bool):
        raise at.wrong(f"'{at.label}' must be true or false, not {at.value!r}")
    return at.value


def _words(at: At) -> str:
    if not isinstance(at.value, str):
        raise at.wrong(f"'{at.label}' must be text, not {at.value!r}", "Put it in quotes.")
    return at.value


def _name(at: At) -> str:
    text = _words(at)
    if not text.strip():
        raise at.wrong(f"'{at.label}' is empty", "Give it a name.")
    if len(text) > LONGEST_NAME:
        raise at.wrong(f"'{at.label}' has {len(text)} letters, more than {LONGEST_NAME}")
    return text.strip()


def _edge_name(at: At) -> Ref:
    name = _name(at)
    if name.startswith("-"):
        raise at.wrong(f"an edge can't be called '{name}'", "A '-' turns an edge round in a seam.")
    return Ref(name, at.place)


def _walked(at: At) -> tuple[Ref, bool]:
    name = _name(at)
    turned = name.startswith("-")
    return Ref(name[1:].strip() if turned else name, at.place), turned


def _date(at: At) -> str:
    if isinstance(at.value, datetime.date):
        return at.value.isoformat()
    try:
        return datetime.date.fromisoformat(_words(at)).isoformat()
    except ValueError:
        raise at.wrong(f"{at.value!r} is no date", "Write it as 2026-04-11.") from None


def _along(at: At) -> Along:
    if isinstance(at.value, str) and at.value.strip().endswith("%"):
        try:
            share = float(at.value.strip()[:-1]) / 100.0
        except ValueError:
            raise at.wrong(f"{at.value!r} is no percentage", 'Write "40 %".') from None
        if not 0.0 <= share <= 1.0:
            raise at.wrong(f"{at.value!r} lies beyond the edge", "From 0 % to 100 %.")
        return Along(share=share)
    return Along(mm=float(LENGTH.read(at)))


def _place_length(at: At) -> float:
    return float(length(-MOST_LENGTH).read(at))


def _point(at: At) -> tuple[float, float]:
    if not isinstance(at.value, list) or len(at.value) != 2:
        raise at.wrong(f"'{at.label}' must be a point", "Write [x, y], in mm.")
    return _place_length(at.child(0)), _place_length(at.child(1))


def _span(least: int, most: int) -> str:
    return f"{least}" if least == most else f"{least} to {most}"


_NAMED = {"type": "string", "minLength": 1, "maxLength": LONGEST_NAME}
LENGTH = length()
SOME_LENGTH = length(above=True)
SIGNED_LENGTH = Kind(_place_length, _LENGTH_SCHEMA)
FLAG = Kind(_flag, {"type": "boolean"})
WORDS = Kind(_words, {"type": "string"})
NAME = Kind(_name, _NAMED)
EDGE = Kind(_edge_name, {**_NAMED, "pattern": "^[^-]"})
WALKED = Kind(_walked, _NAMED)
REF = Kind(lambda at: Ref(_name(at), at.place), _NAMED)
DATE = Kind(_date, {"type": "string", "format": "date"})
ALONG = Kind(
    _along, {"type": ["number", "string"], "pattern": rf"^\s*{_WRITTEN}([A-Za-z\"]*|%)\s*$"}
)
POINT = Kind(_point, {"type": "array", "items": _LENGTH_SCHEMA, "minItems": 2, "maxItems": 2})
