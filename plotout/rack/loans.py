"""Who has a set off its hook and since when; what was cut from it and when."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence

from plotout.errors import UserError
from plotout.rack.record import Found
from plotout.rack.store import keep, kept, writing


def take_out(rack: sqlite3.Connection, sets: Sequence[Found], who: str, when: str) -> None:
    """Note that `who` took sets at `when`, as the sizes of a style: all of them, or none.

    Raises UserError when somebody has one of them already.
    """
    if not who.strip():
        raise UserError("no borrower is named", fix="Name who takes it: --who NAME")
    with writing(rack):
        for found in sets:
            _take_one(rack, found, who, when)


def _take_one(rack: sqlite3.Connection, found: Found, who: str, when: str) -> None:
    try:
        rack.execute(
            "INSERT INTO loan (pattern, taken, who, since)"
            " SELECT pattern, number, ?, ? FROM version WHERE id = ?",
            (who, when, found.id),
        )
    except sqlite3.IntegrityError as fault:
        raise UserError(
            f"'{found.style}:{found.size}' is out: {found.loan}",
            fix=f"Once it is back: plotout rack back {found.style}:{found.size}",
        ) from fault


def bring_back(rack: sqlite3.Connection, sets: Sequence[Found], when: str) -> None:
    """Note that those of the sets that are out are back. Raises UserError when none was out."""
    with writing(rack):
        ended = [
            rack.execute(
                "UPDATE loan SET back = ? WHERE back IS NULL"
                " AND pattern = (SELECT pattern FROM version WHERE id = ?)",
                (when, found.id),
            ).rowcount
            for found in sets
        ]
    if not any(ended):
        names = ", ".join(f"'{found.style}:{found.size}'" for found in sets)
        raise UserError(
            f"{names} is not out" if len(sets) == 1 else f"none of {names} is out",
            fix="It is on its hook already." if len(sets) == 1 else "They are on their hooks.",
        )


def must_be_that_version(sets: Sequence[Found], ref: str) -> None:
    """Raise UserError when `ref` names a version of a set of which another version is out."""
    for found in sets:
        if ref == found.ref and found.out not in (None, found.number):
            raise UserError(
                f"'{ref}' is not out: {found.loan}",
                fix=f"If that is what is back: plotout rack back {found.style}:{found.size}",
            )


def note_cutting(
    rack: sqlite3.Connection, found: Found, when: str, machine: str, what: str
) -> None:
    """Note that `what` was made of this version for `machine`."""
    with writing(rack):
        rack.execute(
            "INSERT INTO cutting (version, at, machine, what) VALUES (?, ?, ?, ?)",
            (found.id, when, machine, what),
        )


def note_journal(
    rack: sqlite3.Connection, found: Found, when: str, machine: str, what: str,
    *, journal: str, file: str, data: bytes | None,
) -> bool:  # fmt: skip
    """Note what was cut according to a job's journal; keep the file that was sent, if given.

    journal: its name. A journal is noted only once: returns False when it was noted before. A later
    state of the same journal replaces an earlier one.
    """
    with writing(rack):
        digest = keep(rack, data) if data is not None else None
        changed = rack.execute(
            """INSERT INTO cutting (version, at, machine, what, journal, file, hash)
            VALUES (?, ?, ?, ?, ?, ?, ?)
            ON CONFLICT (version, journal) WHERE journal IS NOT NULL
            DO UPDATE SET at = excluded.at, what = excluded.what,
                          hash = coalesce(excluded.hash, hash)
            WHERE what <> excluded.what""",
            (found.id, when, machine, what, journal, file, digest),
        )
    return bool(changed.rowcount)


def cuttings(rack: sqlite3.Connection, found: Found) -> list[dict[str, str]]:
    """Return what was made and cut of this version: at, machine, what; oldest first."""
    rows = rack.execute(
        "SELECT at, machine, what FROM cutting WHERE version = ? ORDER BY id", (found.id,)
    )
    return [dict(row) for row in rows]


def files_cut(rack: sqlite3.Connection, found: Found) -> dict[str, bytes]:
    """Return the files that were sent to machines, name to bytes, as last sent."""
    rows = rack.execute(
        "SELECT file, hash FROM cutting WHERE version = ? AND hash IS NOT NULL ORDER BY id",
        (found.id,),
    )
    return {row["file"]: kept(rack, row["hash"]) for row in rows}
