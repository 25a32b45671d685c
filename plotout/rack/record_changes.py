"""What changed between two versions besides their patterns: their records and their files."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import Any

RECORD = ("maker", "place", "stock", "machine", "notes")
"""Columns of a version that the user fills."""


def changes_between(rack: sqlite3.Connection, old: int, new: int) -> tuple[list[str], list[str]]:
    """Return, in words, what of the record of two versions differs, and which of their files.

    old, new: row ids.
    """
    was, now = (
        dict(rack.execute("SELECT * FROM version WHERE id = ?", (version,)).fetchone())
        for version in (old, new)
    )
    return record_differences(was, now), file_differences(
        hashes_of(rack, old), hashes_of(rack, new)
    )


def record_differences(was: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """Return in words what differs of two records, each with its `profile`'s hash."""
    words = [
        f"{field}: '{was[field]}' is now '{now[field]}'"
        for field in RECORD
        if was[field] != now[field]
    ]
    if was["machine"] == now["machine"] and was["profile"] != now["profile"]:
        words.append(f"machine: the profile of '{now['machine']}' or its calibration changed")
    return words


def hashes_of(rack: sqlite3.Connection, version: int) -> dict[str, str]:
    """Return the hash of every file of a version, by its path."""
    rows = rack.execute("SELECT path, hash FROM drawing WHERE version = ?", (version,))
    return dict(map(tuple, rows))


def file_differences(was: Mapping[str, str], now: Mapping[str, str]) -> list[str]:
    """Return in words which files differ."""
    paths = sorted(path for path in was.keys() | now.keys() if was.get(path) != now.get(path))
    return [f"files that differ: {', '.join(paths)}"] if paths else []
