"""Looking after the rack: check it for damage, back it up while it is in use."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from pathlib import Path

from plotout.errors import MachineError, Place
from plotout.rack.store import unpacked


def damage(rack: sqlite3.Connection) -> list[str]:
    """Return every fault found, in words; empty when the rack is whole.

    Runs PRAGMA integrity_check and foreign_key_check, unpacks all content and checks its hashes.
    """
    faults = [row[0] for row in rack.execute("PRAGMA integrity_check") if row[0] != "ok"]
    faults += [
        f"table {row[0]}, row {row[1]}: what it points to in {row[2]} is gone"
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


def back_up(rack: sqlite3.Connection, target: Path) -> None:
    """Copy the rack to `target` while it may be in use; the target is replaced in one step.

    Uses SQLite's online backup (sqlite.org, "SQLite Backup API"). Raises MachineError.
    """
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
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, with nothing beside it
        finally:
            copy.close()
        Path(beside).replace(target)
    except (OSError, sqlite3.Error) as fault:
        raise MachineError(f"the back-up failed: {fault}", place=Place(file=target)) from fault
    finally:
        Path(beside).unlink(missing_ok=True)
