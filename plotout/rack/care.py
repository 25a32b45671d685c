"""Maintenance of the rack: check it for damage, back it up while it is in use."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import tempfile
import time
from pathlib import Path

from plotout.errors import MachineError, Place, UserError
from plotout.rack.store import unpacked

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


def back_up(rack: sqlite3.Connection, target: Path) -> None:
    """Copy the rack to `target`, even while it is in use; the target is replaced in one step.

    A damaged rack is not backed up, so that an older copy stays; and a new copy replaces it only
    once it has been checked. Uses SQLite's online backup (sqlite.org, "SQLite Backup API"). Raises
    UserError for a target that is the rack itself, MachineError for what fails.
    """
    own = rack.execute("PRAGMA database_list").fetchone()["file"]
    if own and target.exists() and target.samefile(own):
        raise UserError(
            "this is the rack itself", fix="Name another file.", place=Place(file=target)
        )
    if faults := damage(rack):
        raise MachineError(
            f"the rack is damaged, so nothing was backed up: {faults[0]}",
            fix="The target is unchanged. To list all damage: plotout rack check",
            place=Place(file=target),
        )
    _clear(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
    except OSError as fault:
        raise MachineError(f"can't write it: {fault.strerror}", place=Place(file=target)) from fault
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
