"""The lines of a journal: one record each, with its checksum."""

from __future__ import annotations

import contextlib
import json
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from plotout.errors import Place, UserError
from plotout.tables import Free, ListOf, Name, Number, Source, Table, Words, read_table, table

_FARTHEST = 1e9  # of a place
_COUNTS = ("begun", "settled", "sent", "done", "n")


@table
@dataclass(frozen=True, slots=True)
class Job:
    """A journal's first record: what is to be sent where."""

    file: Annotated[str, Words("The file's path.")] = ""
    digest: Annotated[str, Name("Its SHA-256, in hex.")] = ""
    machine: Annotated[str, Name("The machine's name.")] = ""
    port: Annotated[str, Words("Where it was sent to.")] = ""
    settings: Annotated[dict[str, Any] | None, Free("How the machine was connected.")] = None
    step: Annotated[float, Number("The machine's step, mm.", 0.0, 10.0, above=True)] = 0.025
    bed: Annotated[
        tuple[float, ...],
        ListOf("Its bed, in its own mm.", of=Number("", -1e6, 1e6), least=4, most=4),
    ] = ()
    profile: Annotated[str, Words("Where its profile is, if it is a file of the user's own.")] = ""
    usb: Annotated[str, Words("The device behind the port.")] = ""
    zero: Annotated[str, Words("Where the zero of its work lies.")] = ""
    says: Annotated[tuple[str, ...], ListOf("What it says of itself.", of=Words(""))] = ()


def line_of(record: dict[str, Any]) -> bytes:
    """Return the line of a record."""
    body = json.dumps(record, sort_keys=True)
    return f"{zlib.crc32(body.encode()):08x} {body}\n".encode()


def record_of(line: bytes, path: Path, number: int, fix: str) -> dict[str, Any]:
    """Return one record. Raises UserError for one that isn't a journal's."""
    try:
        record = json.loads(line[9:])
    except (ValueError, RecursionError):
        record = None
    sound = isinstance(record, dict) and all(
        type(record[key]) is int and 0 <= record[key] < 1 << 40 for key in _COUNTS if key in record
    )
    flags = ("adrift", "partly")
    sound = sound and all(isinstance(record.get(key, False), bool) for key in flags)
    doubt = record.get("doubt", []) if sound else None
    rested = record.get("rested", []) if sound else None
    left = record.get("left", []) if sound else None
    if (
        not isinstance(left, list)
        or not all(isinstance(pair, list) and [*map(type, pair)] == [int, int] for pair in left)
        or not isinstance(doubt, list)
        or not all(type(value) is int for value in doubt)
        or not isinstance(rested, list)
        or not all(type(value) in (int, float) and abs(value) < _FARTHEST for value in rested)
    ):
        raise UserError(
            "this is not a journal's record",
            fix=f"Another version may have written it. {fix}",
            place=Place(path, number),
        )
    if number == 1 and "job" in record:
        read_table(Job, record["job"], Source(path, Table(record)), ("job",))
    return dict(record)


def sound_lines(data: bytes) -> Iterator[bytes]:
    """Yield the lines before the first one that is incomplete or damaged."""
    for line in data.splitlines(keepends=True):
        if not line.endswith(b"\n") or line[8:9] != b" ":
            return
        if b"%08x" % zlib.crc32(line[9:-1]) != line[:8]:
            return
        yield line


def last_number(lines: list[bytes]) -> int:
    """Return the number of a journal's last record."""
    with contextlib.suppress(ValueError, LookupError, TypeError):
        return int(json.loads(lines[-1][9:])["n"])
    return len(lines)
