"""Puts sets on the rack. Nothing is overwritten: a change is a new version."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from plotout.errors import UserError
from plotout.rack.record import Found, by_id, content_of, newest_row
from plotout.rack.record_changes import RECORD, file_differences, hashes_of, record_differences
from plotout.rack.store import keep, kept, writing


@dataclass(frozen=True, slots=True)
class Entry:
    """A set to be put on the rack.

    files: path within the set (with `/`) to bytes: the set file and the drawings that it names.
    details: further facts as plain data (pieces, seam walk, counts). changes: in words.
    """

    style: str
    size: str
    name: str
    date: str
    put_at: str
    set_file: str
    files: Mapping[str, bytes]
    pieces: tuple[str, ...]
    maker: str = ""
    place: str = ""
    stock: str = ""
    machine: str = ""
    profile: bytes | None = None
    notes: str = ""
    picture: bytes | None = None
    details: Mapping[str, Any] | None = None
    changes: tuple[str, ...] = ()


def put(rack: sqlite3.Connection, entry: Entry) -> Found:
    """Put a set on the rack and return its version.

    If files, place and machine equal the newest version's, that version is returned unchanged.
    Empty fields (maker, place, stock, machine, notes) are taken from the newest version.
    """
    ((found, _),) = put_all(rack, [entry])
    return found


def put_all(rack: sqlite3.Connection, entries: Sequence[Entry]) -> list[tuple[Found, bool]]:
    """Put several sets on the rack, as the sizes of a style: all of them, or none. See `put`.

    Returns with each version whether it is new.
    """
    with writing(rack):
        newest = rack.execute("SELECT coalesce(max(id), 0) FROM version").fetchone()[0]
        versions = [_put(rack, entry) for entry in entries]
        return [(by_id(rack, version), version > newest) for version in versions]


def _put(rack: sqlite3.Connection, entry: Entry) -> int:
    """Return the row id of the version that the entry now is."""
    rack.execute(
        "INSERT OR IGNORE INTO pattern (style, size) VALUES (?, ?)", (entry.style, entry.size)
    )
    pattern = rack.execute(
        "SELECT id FROM pattern WHERE style = ? AND size = ?", (entry.style, entry.size)
    ).fetchone()[0]
    hashes = {path: keep(rack, data) for path, data in entry.files.items()}
    newest = newest_row(rack, entry.style, entry.size)
    if newest is not None:
        entry = _completed(rack, newest, entry)
        if _same(rack, newest, entry, hashes):
            return int(newest["id"])
        outside = record_differences(dict(newest), _record_of(entry))
        outside += file_differences(hashes_of(rack, newest["id"]), hashes)
        entry = replace(entry, changes=(*entry.changes, *outside))
    return _insert(rack, pattern, newest["number"] + 1 if newest else 1, entry, hashes)


def with_record_of(rack: sqlite3.Connection, there: Found, entry: Entry) -> Entry:
    """Return the entry with place, machine and all else as on the rack, where the set is the same.

    Raises UserError where its files are others.
    """
    hashes = {path: hashlib.sha256(data).hexdigest() for path, data in entry.files.items()}
    if hashes_of(rack, there.id) != hashes:
        raise UserError(
            f"'{entry.style}:{entry.size}' is on the rack already: {there.name}, "
            f"version {there.number}, with other files",
            fix="If this is the same set, changed, add --newest; otherwise give it another "
            "style or size.",
        )
    own = {name: getattr(there, name) for name in RECORD}
    return replace(entry, profile=content_of(rack, there, "profile"), **own)


def _completed(rack: sqlite3.Connection, newest: sqlite3.Row, entry: Entry) -> Entry:
    """Return the entry with its empty fields taken from the newest version."""
    left = {name: newest[name] for name in RECORD if not getattr(entry, name)}
    profile = entry.profile
    if "machine" in left and newest["profile"]:
        profile = kept(rack, newest["profile"])
    return replace(entry, profile=profile, **left)


def _same(
    rack: sqlite3.Connection, newest: sqlite3.Row, entry: Entry, hashes: Mapping[str, str]
) -> bool:
    there = hashes_of(rack, newest["id"])
    return there == dict(hashes) and not record_differences(dict(newest), _record_of(entry))


def _record_of(entry: Entry) -> dict[str, str | None]:
    profile = entry.profile and hashlib.sha256(entry.profile).hexdigest()
    return {**{field: getattr(entry, field) for field in RECORD}, "profile": profile}


def _insert(
    rack: sqlite3.Connection, pattern: int, number: int, entry: Entry, hashes: Mapping[str, str]
) -> int:
    values = {
        "pattern": pattern,
        "number": number,
        "name": entry.name,
        "date": entry.date,
        "put_at": entry.put_at,
        "maker": entry.maker,
        "place": entry.place,
        "stock": entry.stock,
        "machine": entry.machine,
        "profile": keep(rack, entry.profile) if entry.profile is not None else None,
        "notes": entry.notes,
        "set_file": entry.set_file,
        "picture": keep(rack, entry.picture) if entry.picture is not None else None,
        "details": json.dumps(entry.details or {}, ensure_ascii=False),
        "changes": json.dumps(entry.changes, ensure_ascii=False),
    }
    columns, marks = ", ".join(values), ", ".join("?" * len(values))
    version = rack.execute(
        f"INSERT INTO version ({columns}) VALUES ({marks})", tuple(values.values())
    ).lastrowid
    assert version is not None
    rack.executemany(
        "INSERT INTO drawing VALUES (?, ?, ?)", [(version, p, h) for p, h in hashes.items()]
    )
    rack.executemany("INSERT INTO piece VALUES (?, ?)", [(version, name) for name in entry.pieces])
    rack.execute(
        "INSERT INTO words (rowid, style, name, size, pieces, place, notes, date, maker)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (version, entry.style, entry.name, entry.size, " ".join(entry.pieces), entry.place,
         entry.notes, entry.date, entry.maker),
    )  # fmt: skip
    return version
