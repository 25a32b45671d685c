"""A set as one file, for import into another rack: a ZIP with a list of hashes.

The list (`rack.json`) holds every file's size and SHA-256. A file from elsewhere is rejected as a
whole if anything in it differs from the list, leads outside the set, or is too large.
"""

from __future__ import annotations

import hashlib
import io
import json
import sqlite3
import zipfile
from collections.abc import Mapping
from pathlib import PurePosixPath
from typing import Any

from plotout.errors import UserError, is_text
from plotout.rack.record import Entry, Found, content_of, details_of, files_of

FORM = "plotout set 1"
LIST = "rack.json"
MOST_FILES = 1_000
MOST_BYTES = 256 * 1024 * 1024
_TOLD = ("style", "size", "name", "date", "put_at", "set_file", "maker", "place", "stock",
         "machine", "notes")  # fmt: skip


def export(rack: sqlite3.Connection, found: Found) -> bytes:
    """Return a version of a set as one file. The same version gives the same bytes."""
    parts = {f"set/{path}": data for path, data in files_of(rack, found).items()}
    for column in ("picture", "profile"):
        data = content_of(rack, found, column)
        if data is not None:
            parts[column] = data
    listing = {
        "form": FORM,
        "told": {field: getattr(found, field) for field in _TOLD},
        "pieces": [
            row[0]
            for row in rack.execute(
                "SELECT name FROM piece WHERE version = ? ORDER BY name", (found.id,)
            )
        ],
        "details": details_of(rack, found),
        "changes": found.changes,
        "files": {
            name: {"size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            for name, data in sorted(parts.items())
        },
    }
    parts[LIST] = json.dumps(listing, ensure_ascii=False, indent=1, sort_keys=True).encode()
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name in sorted(parts):
            bundle.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), parts[name],
                            zipfile.ZIP_DEFLATED)  # fmt: skip
    return target.getvalue()


def brought(data: bytes) -> Entry:
    """Return the set in an exported file. Raises UserError when any of it is unsound."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as bundle:
            parts = _parts(bundle)
    except (zipfile.BadZipFile, EOFError, OSError, NotImplementedError, RuntimeError) as fault:
        raise _unsound(f"it is damaged: {fault}") from fault
    except Exception as fault:
        if isinstance(fault, UserError):
            raise
        raise _unsound(f"it can't be unpacked: {fault}") from fault
    return _entry(parts)


def _parts(bundle: zipfile.ZipFile) -> dict[str, bytes]:
    infos = bundle.infolist()
    if len(infos) > MOST_FILES:
        raise _unsound(f"it holds {len(infos)} files; at most {MOST_FILES} are accepted")
    if sum(info.file_size for info in infos) > MOST_BYTES:
        raise _unsound(f"it unpacks to more than {MOST_BYTES // 2**20} MiB")
    parts: dict[str, bytes] = {}
    room = MOST_BYTES
    for info in infos:
        _check_name(info.filename)
        if info.filename in parts:
            raise _unsound(f"'{info.filename}' is in it twice")
        with bundle.open(info) as file:
            parts[info.filename] = file.read(room + 1)  # its stated size may be wrong
        room -= len(parts[info.filename])
        if room < 0:
            raise _unsound(f"it unpacks to more than {MOST_BYTES // 2**20} MiB")
    return parts


def _check_name(name: str) -> None:
    path = PurePosixPath(name)
    unsafe = path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name or "\0" in name
    if unsafe or str(path) != name:
        raise _unsound(f"'{name}' would lead outside the set")


def _entry(parts: dict[str, bytes]) -> Entry:
    listing = _listing(parts)
    if set(listing["files"]) != set(parts) - {LIST}:
        raise _unsound("its list and its files differ")
    for name, said in listing["files"].items():
        data = parts[name]
        if len(data) != said.get("size") or hashlib.sha256(data).hexdigest() != said.get("sha256"):
            raise _unsound(f"'{name}' does not match its hash")
    files = {n.removeprefix("set/"): d for n, d in parts.items() if n.startswith("set/")}
    entry = listing["told"]
    if entry["set_file"] not in files:
        raise _unsound("its set file is missing")
    return Entry(
        **entry,
        files=files,
        pieces=tuple(listing["pieces"]),
        profile=parts.get("profile"),
        picture=parts.get("picture"),
        details=listing["details"],
        changes=tuple(listing["changes"]),
    )


def _listing(parts: Mapping[str, bytes]) -> dict[str, Any]:
    try:
        listing = json.loads(parts[LIST])
    except (KeyError, ValueError, RecursionError) as fault:
        raise _unsound("it has no list of its contents") from fault
    sound = (
        isinstance(listing, dict)
        and listing.get("form") == FORM
        and _is_map(listing.get("told"), str)
        and set(listing["told"]) == set(_TOLD)
        and _is_map(listing.get("files"), dict)
        and _is_list(listing.get("pieces"))
        and _is_list(listing.get("changes"))
        and _are_details(listing.get("details"))
    )
    if not sound:
        raise _unsound("this plotout does not know its form of list")
    return dict(listing)


def _are_details(value: object) -> bool:
    """Return whether it is what `sets` keeps: cards, seams, cautions, sizes, nothing else."""
    if not isinstance(value, dict) or not set(value) <= {"cards", "seams", "cautions", "sizes"}:
        return False
    cards, seams = value.get("cards", []), value.get("seams", [])
    return (
        _is_list(value.get("cautions", []))
        and _is_list(value.get("sizes", []))
        and isinstance(cards, list)
        and isinstance(seams, list)
        and all(_is_row(card, {"id": str, "title": str, "orders": list}) for card in cards)
        and all(_is_row(seam, _SEAM) for seam in seams)
    )


_SEAM: Mapping[str, type | tuple[type, ...]] = {
    "name": str,
    "first_mm": (int, float),
    "second_mm": (int, float),
    "faults": list,
}


def _is_row(value: object, kinds: Mapping[str, type | tuple[type, ...]]) -> bool:
    return (
        isinstance(value, dict)
        and set(value) == set(kinds)
        and all(isinstance(value[key], kind) for key, kind in kinds.items())
        and all(is_text(item) if isinstance(item, str) else True for item in value.values())
        and all(_is_list(item) for item in value.values() if isinstance(item, list))
    )


def _is_map(value: object, kind: type) -> bool:
    return isinstance(value, dict) and all(
        is_text(item) if kind is str else isinstance(item, kind) for item in value.values()
    )


def _is_list(value: object) -> bool:
    return isinstance(value, list) and all(map(is_text, value))


def _unsound(why: str) -> UserError:
    return UserError(f"this file can't be imported: {why}",
                     fix="Nothing was imported. Have it exported and sent again.")  # fmt: skip
