"""The rack's file: one SQLite database, opened, migrated and checked.

Contents are kept by their SHA-256, compressed, and never overwritten. WAL with full
synchronisation: what was put before a power cut survives it (sqlite.org, "Write-Ahead Logging"
and PRAGMA synchronous).
"""

from __future__ import annotations

import contextlib
import hashlib
import sqlite3
import time
import zlib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

from plotout.errors import MachineError, Place, UserError, clean

_UNWRITTEN = ("SQLITE_IOERR_WRITE", "SQLITE_IOERR_SHM", "SQLITE_IOERR_FSYNC", "SQLITE_IOERR_TRUNC")
"""How SQLite names what can't be written (sqlite.org, "Result and Error Codes")."""
APPLICATION = 0x504C4F54  # in the file's header, so that no other database is taken for a rack
MIGRATIONS = (
    "schema-1.sql",
    "schema-2.sql",
    "schema-3.sql",
)  # in order; the file's user_version counts those applied
BUSY_MS = 10_000
MOST_CONTENT = 1 << 29  # bytes of one file on the rack


@contextlib.contextmanager
def opened(path: Path, *, create: bool = False) -> Iterator[sqlite3.Connection]:
    """Give a connection to the rack at `path`, migrated to this version; closed at the end.

    Raises UserError when there is no rack and `create` is False, or it is something else;
    MachineError when it can't be opened, is busy for too long, or is damaged.
    """
    if not _is_there(path) and not create:
        raise UserError(
            "there is no rack here yet",
            fix="Put a set on it first: plotout rack put SET",
            place=Place(file=path),
        )
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = sqlite3.connect(path, timeout=BUSY_MS / 1000, isolation_level=None)
    except (OSError, sqlite3.Error) as fault:
        raise MachineError(
            f"can't open the rack: {fault}",
            fix="Check your permissions for that folder, or name another rack with --at.",
            place=Place(file=path),
        ) from fault
    try:
        _settle(connection, path, create=create)
        yield connection
    except (sqlite3.Error, UnicodeDecodeError) as fault:  # or text that is not UTF-8
        name = getattr(fault, "sqlite_errorname", "")
        if name == "SQLITE_NOTADB":
            raise _no_rack(path) from fault
        if name == "SQLITE_FULL" or name.startswith(_UNWRITTEN):
            raise MachineError(
                "can't write the rack: the disk is full, or can't be written",
                fix="Make room there; the rack is as it was.",
                place=Place(file=path),
            ) from fault
        if name.startswith("SQLITE_READONLY"):
            raise MachineError(
                "can't write the rack: its file or its disk is only to be read",
                fix="Change the permissions, or name another rack with --at.",
                place=Place(file=path),
            ) from fault
        if name == "SQLITE_CORRUPT" or isinstance(fault, UnicodeDecodeError):
            raise MachineError(
                f"the rack is damaged: {fault}",
                fix="Restore a back-up. Keep this file until you have looked at what that holds.",
                place=Place(file=path),
            ) from fault
        raise MachineError(
            f"the rack can't be used: {fault}",
            fix="If this persists, run: plotout rack check. If it is damaged, restore a back-up.",
            place=Place(file=path),
        ) from fault
    except (AttributeError, TypeError, ValueError) as fault:
        if not wrong_types(connection):
            raise
        raise MachineError(
            "the rack is damaged: a value in it is of the wrong type",
            fix="To see which: plotout rack check. Then restore a back-up.",
            place=Place(file=path),
        ) from fault
    finally:
        connection.close()


def _is_there(path: Path) -> bool:
    """Return whether a file is there. Raises UserError where it can't be a rack."""
    try:
        there, ordinary = path.exists(), path.is_file()
    except OSError as fault:
        raise UserError(
            f"can't look for the rack: {fault.strerror}",
            fix="Name the rack's file with --at, or by PLOTOUT_RACK.",
        ) from fault
    if there and not ordinary:
        raise UserError(
            "this is a folder, not a rack" if path.is_dir() else "this is not a file",
            fix="Name the rack's file with --at, or leave that out for the usual one.",
            place=Place(file=path),
        )
    return there


@contextlib.contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """Run one transaction: all of it is kept, or none."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def wrong_types(rack: sqlite3.Connection) -> list[str]:
    """Return in words each value whose type is not its column's.

    SQLite keeps a value of any type in any column (sqlite.org, "Datatypes in SQLite").
    """
    tables = rack.execute(
        "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table'"
        " AND name NOT LIKE 'sqlite_%' ORDER BY name"
    ).fetchall()
    found = []
    for (name,) in tables:
        columns = rack.execute("SELECT * FROM pragma_table_info(?)", (name,)).fetchall()
        key = next((column["name"] for column in columns if column["pk"]), None)
        if key is None:
            found.append(f"table {clean(name)} has no key")
            continue
        for column in columns:
            wanted, field = column["type"].lower(), column["name"]
            rows = rack.execute(
                f'SELECT quote("{key}") AS at, typeof("{field}") AS found FROM "{name}"'
                f' WHERE typeof("{field}") NOT IN (?, ?)',
                (wanted, wanted if column["notnull"] else "null"),
            )
            for row in rows:
                at = clean(str(row["at"]))
                found.append(f"table {name}, {key} {at}: '{field}' is {row['found']}, not {wanted}")
    return found


def _settle(connection: sqlite3.Connection, path: Path, *, create: bool) -> None:
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    # Tables first: another process may be making the rack meanwhile.
    tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if application != APPLICATION and (tables or application):
        raise _no_rack(path)
    if not (tables or version or create):
        raise UserError(
            "the rack's file is empty",
            fix="Restore a back-up, or begin anew: plotout rack put SET",
            place=Place(file=path),
        )
    if version > len(MIGRATIONS):
        raise UserError(
            f"the rack was written by a newer plotout (its version is {version})",
            fix="Update plotout.",
            place=Place(file=path),
        )
    _write_ahead(connection)
    connection.execute("PRAGMA synchronous = FULL")
    if version < len(MIGRATIONS):
        _migrate(connection)


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Have it write ahead. SQLite itself does not wait for another process that does the same now:
    its busy handler is left out where both could wait for each other (sqlite.org, C interface).
    """
    until = time.monotonic() + BUSY_MS / 1000
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as fault:
            if not fault.sqlite_errorname.startswith("SQLITE_BUSY") or time.monotonic() > until:
                raise
        time.sleep(0.01)


def _no_rack(path: Path) -> UserError:
    return UserError(
        "this file is not a rack",
        fix="Name the rack's file with --at, or leave that out for the usual one.",
        place=Place(file=path),
    )


def _migrate(connection: sqlite3.Connection) -> None:
    with writing(connection):
        # Read again inside the transaction: another process may have migrated meanwhile.
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        for name in MIGRATIONS[version:]:
            for statement in (files("plotout.rack") / name).read_text().split(";\n"):
                if statement.strip():
                    connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")


def keep(connection: sqlite3.Connection, data: bytes) -> str:
    """Keep `data` once and return its SHA-256 in hex."""
    digest = hashlib.sha256(data).hexdigest()
    connection.execute(
        "INSERT OR IGNORE INTO content (hash, size, packed) VALUES (?, ?, ?)",
        (digest, len(data), zlib.compress(data, 9)),
    )
    return digest


def kept(connection: sqlite3.Connection, digest: str) -> bytes:
    """Return the content of a hash. Raises MachineError when it is missing or damaged."""
    row = connection.execute(
        "SELECT size, packed FROM content WHERE hash = ?", (digest,)
    ).fetchone()
    if row is None:
        raise MachineError(f"the rack has lost content {digest[:12]}", fix=_BACKUP)
    return unpacked(row["packed"], row["size"], digest)


def unpacked(packed: bytes, size: int, digest: str) -> bytes:
    """Return content unpacked and checked against its size and hash. Raises MachineError."""
    if not (isinstance(packed, bytes) and isinstance(size, int) and isinstance(digest, str)):
        raise MachineError("content of the rack is damaged: it is not bytes", fix=_BACKUP)
    unpacker = zlib.decompressobj()
    try:
        data = unpacker.decompress(
            packed, min(max(size, 0), MOST_CONTENT) + 1
        )  # never more than stated
    except zlib.error as fault:
        raise MachineError(f"content {digest[:12]} is damaged: {fault}", fix=_BACKUP) from fault
    if len(data) != size or hashlib.sha256(data).hexdigest() != digest:
        raise MachineError(f"content {digest[:12]} is damaged", fix=_BACKUP)
    return data


_BACKUP = "Restore a back-up of the rack."
