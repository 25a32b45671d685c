"""Who has a set off its hook, since when; and what was cut from it when."""

from __future__ import annotations

import sqlite3

from plotout.errors import UserError
from plotout.rack.record import Found
from plotout.rack.store import writing


def take_out(rack: sqlite3.Connection, found: Found, who: str, when: str) -> None:
    """Note that `who` took the set at `when`. Raises UserError when somebody has it already."""
    if not who.strip():
        raise UserError("nobody is named", fix="Say who takes it: --who NAME")
    try:
        with writing(rack):
            rack.execute(
                "INSERT INTO loan (pattern, who, since)"
                " SELECT pattern, ?, ? FROM version WHERE id = ?",
                (who, when, found.id),
            )
    except sqlite3.IntegrityError as fault:
        raise UserError(
            f"'{found.style}:{found.size}' is out: {found.who} has it since {found.since}",
            fix=f"When it is back: plotout rack back {found.style}:{found.size}",
        ) from fault


def bring_back(rack: sqlite3.Connection, found: Found, when: str) -> None:
    """Note that the set is back on its hook. Raises UserError when it was not out."""
    with writing(rack):
        ended = rack.execute(
            "UPDATE loan SET back = ? WHERE back IS NULL"
            " AND pattern = (SELECT pattern FROM version WHERE id = ?)",
            (when, found.id),
        )
    if not ended.rowcount:
        raise UserError(f"'{found.style}:{found.size}' is not out", fix="It hangs on its hook.")


def note_cutting(
    rack: sqlite3.Connection, found: Found, when: str, machine: str, what: str
) -> None:
    """Note that `what` was cut from this version on `machine`."""
    with writing(rack):
        rack.execute(
            "INSERT INTO cutting (version, at, machine, what) VALUES (?, ?, ?, ?)",
            (found.id, when, machine, what),
        )


def cuttings(rack: sqlite3.Connection, found: Found) -> list[dict[str, str]]:
    """Return what was cut from this version: at, machine, what; oldest first."""
    rows = rack.execute(
        "SELECT at, machine, what FROM cutting WHERE version = ? ORDER BY id", (found.id,)
    )
    return [dict(row) for row in rows]
