"""Maintenance of the rack: check it for damage, back it up while it is in use."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import tempfile
import time
from pathlib import Path

from plotout.errors import MachineError, Place, UserError, counted
from plotout.files import cannot_write
from plotout.rack.store import APPLICATION, unpacked, wrong_types

LEFT_AFTER = 86_400.0  # s: no back-up takes that long


def damage(rack: sqlite3.Connection) -> list[str]:
    """Return every fault found, in words; empty when the rack is undamaged.

    Runs PRAGMA integrity_check and foreign_key_check, unpacks all content and checks the hashes.
    """
    faults = [row[0] for row in rack.execute("PRAGMA integrity_check") if row[0] != "ok"]
    faults += [
        f"table {row[0]}, row {row[1]}: it refers to a missing row of {row[2]}"
        for row in rack.execute("PRAGMA foreign_key_check")
    ]
    faults += wrong_types(rack)
    for row in rack.execute("SELECT hash, size, packed FROM content ORDER BY hash"):
        try:
            unpacked(row["packed"], row["size"], row["hash"])
        except MachineError as fault:
            faults.append(fault.problem + _users(rack, row["hash"]))
    return faults


def _users(rack: sqlite3.Connection, digest: str) -> str:
    rows = rack.execute(
        "SELECT pattern.style, pattern.size, version.number, drawing.path FROM drawing"
        " JOIN version ON version.id = drawing.version JOIN pattern ON pattern.id = version.pattern"
        " WHERE drawing.hash = ?",
        (digest,),
    )
    places = [f"{r['path']} of {r['style']}:{r['size']}:{r['number']}" for r in rows]
    return f" ({', '.join(places)})" if places else ""


def _clear(target: Path) -> None:
    """Remove what an interrupted back-up left beside its target more than a day ago."""
    for left in target.parent.glob(f".{target.name}.*"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > LEFT_AFTER:
                left.unlink()


def _check_target(rack: sqlite3.Connection, target: Path) -> None:
    """Raise UserError if `target` exists and isn't a back-up that this rack may replace."""
    place = Place(file=target)
    if target.is_dir():
        fix = f"Name a file in it: {target / 'rack.sqlite'}"
        raise UserError("this is a folder", fix=fix, place=place)
    if not target.exists():
        return
    if not _is_rack(target):
        raise UserError(
            "this file is not a back-up of a rack, so it stays as it is",
            fix="Name another file.",
            place=place,
        )
    if target.with_name(f"{target.name}-wal").exists():  # would be applied to the new copy
        raise UserError(
            "this is a rack in use",
            fix="Close what uses it, or name another file.",
            place=place,
        )
    if lacking := _versions_in(target) - _versions(rack):
        style, size, number, _ = min(lacking, key=str)
        raise UserError(
            f"this back-up holds {counted(len(lacking), 'version')} of sets that the rack lacks, "
            f"such as {style}:{size}:{number}",
            fix="Name another file. If the rack should have them, restore this back-up.",
            place=place,
        )


def _is_rack(path: Path) -> bool:
    """Tell a rack by the header of its file (sqlite.org, "Database File Format", 1.3)."""
    if not path.is_file():
        return False
    try:
        with path.open("rb") as file:
            header = file.read(100)
    except OSError as fault:
        raise UserError(
            f"can't read it: {fault.strerror}", fix="Name another file.", place=Place(file=path)
        ) from fault
    return header.startswith(b"SQLite format 3\0") and header[68:72] == APPLICATION.to_bytes(
        4, "big"
    )


def _versions(rack: sqlite3.Connection) -> set[tuple[str, str, int, str]]:
    """Return what identifies every version. None is ever removed, so a back-up has no others."""
    rows = rack.execute(
        "SELECT style, size, number, put_at FROM version JOIN pattern ON pattern.id = pattern"
    )
    return set(map(tuple, rows))


def _versions_in(target: Path) -> set[tuple[str, str, int, str]]:
    """Return the versions in a back-up; none if it is too damaged to read."""
    uri = f"{target.resolve().as_uri()}?mode=ro&immutable=1"
    try:
        with contextlib.closing(sqlite3.connect(uri, uri=True)) as earlier:
            return _versions(earlier)
    except sqlite3.Error:
        return set()


def back_up(rack: sqlite3.Connection, target: Path) -> None:
    """Copy the rack to `target`, even while it is in use; the target is replaced in one step.

    A damaged rack is not backed up, so that an older copy stays; and a new copy replaces it only
    once it has been checked. Uses SQLite's online backup (sqlite.org, "SQLite Backup API"). Raises
    UserError for a target that is the rack itself or no earlier back-up, MachineError for what
    fails.
    """
    own = rack.execute("PRAGMA database_list").fetchone()["file"]
    if own and target.exists() and target.samefile(own):
        raise UserError(
            "this is the rack itself", fix="Name another file.", place=Place(file=target)
        )
    _check_target(rack, target)
    if faults := damage(rack):
        raise MachineError(
            f"the rack is damaged, so nothing was backed up: {faults[0]}",
            fix="The target is unchanged. To list all damage: plotout rack check",
            place=Place(file=target),
        )
    try:
        target = target.resolve()  # a link stays one
    except (OSError, RuntimeError) as fault:
        raise UserError(
            "this link leads nowhere", fix="Name another file.", place=Place(file=target)
        ) from fault
    _clear(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
    except OSError as fault:
        raise cannot_write(target, fault) from fault
    os.close(handle)
    try:
        copy = sqlite3.connect(beside)
        try:
            rack.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, without companions
            copy.row_factory = sqlite3.Row
            if faults := damage(copy):
                raise MachineError(f"the copy is damaged: {faults[0]}", place=Place(file=target))
        finally:
            copy.close()
        Path(beside).replace(target)
    except (OSError, sqlite3.Error) as fault:
        raise MachineError(f"the back-up failed: {fault}", place=Place(file=target)) from fault
    finally:
        Path(beside).unlink(missing_ok=True)
