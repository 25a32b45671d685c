"""A set as one file, for import into another rack: a ZIP with a list of hashes.

The list (`rack.json`) holds every file's size and SHA-256. A file from elsewhere is rejected as a
whole if anything in it differs from the list, leads outside the set, or is too large. A style in
several sizes is one such file that holds another for each size.
"""

from __future__ import annotations

import hashlib
import io
import json
import sqlite3
import struct
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from pathlib import PurePosixPath
from typing import Any

from plotout.errors import UserError, is_text
from plotout.rack.putting import Entry
from plotout.rack.record import Found, content_of, details_of, files_of
from plotout.tables.looks import looks_like

FORM = "plotout set 1"
STYLE_FORM = "plotout style 1"
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
    }
    return _packed(listing, parts)


def export_all(rack: sqlite3.Connection, sets: Sequence[Found]) -> bytes:
    """Return several sizes of a style, at least one, as one file."""
    if len(sets) == 1:
        return export(rack, sets[0])
    parts = {f"{index:02d}.zip": export(rack, found) for index, found in enumerate(sets, start=1)}
    return _packed({"form": STYLE_FORM}, parts)


def _packed(listing: Mapping[str, Any], parts: Mapping[str, bytes]) -> bytes:
    """Return the parts and a list of them as one file."""
    files = {
        name: {"size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for name, data in sorted(parts.items())
    }
    listed = json.dumps({**listing, "files": files}, ensure_ascii=False, indent=1, sort_keys=True)
    packed = {**parts, LIST: listed.encode()}
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name in sorted(packed):
            bundle.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), packed[name],
                            zipfile.ZIP_DEFLATED)  # fmt: skip
    return target.getvalue()


def brought(data: bytes) -> Entry:
    """Return the set in an exported file. Raises UserError when any of it is unsound."""
    return _entry(_unpacked(data, MOST_BYTES))


def all_brought(data: bytes) -> list[Entry]:
    """Return the set in an exported file, or a style's in all its sizes. Raises as `brought`."""
    parts = _unpacked(data, MOST_BYTES)
    listing = _list_in(parts)
    if not (isinstance(listing, dict) and listing.get("form") == STYLE_FORM):
        return [_entry(parts)]
    if not _is_map(listing.get("files"), dict):
        raise _unsound("this plotout does not know its form of list")
    _must_match(listing, parts)
    entries, room = [], MOST_BYTES
    for name in sorted(listing["files"]):
        inner = _unpacked(parts[name], room)
        room -= sum(map(len, inner.values()))
        entries.append(_entry(inner))
    sizes = [(entry.style, entry.size) for entry in entries]
    if len(set(sizes)) < len(sizes) or len({style for style, _ in sizes}) != 1:
        raise _unsound("its sets are not different sizes of one style")
    return entries


_ZIP = b"PK\x03\x04"  # APPNOTE 6.3.10, 4.3.7
_DAMAGED = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, OSError, NotImplementedError,
            RuntimeError, LookupError, ValueError)  # fmt: skip
"""What zipfile raises for damaged files."""


def _unpacked(data: bytes, room: int) -> dict[str, bytes]:
    """Return the files in it, by name. room: how many bytes they may take."""
    known = looks_like(data)
    if known and not data.startswith(_ZIP):
        raise _unsound(f"it is {known}, not an exported set")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as bundle:
            return _parts(bundle, room)
    except _DAMAGED as fault:
        raise _unsound("it is damaged, or no exported set") from fault


def _parts(bundle: zipfile.ZipFile, room: int) -> dict[str, bytes]:
    infos = bundle.infolist()
    if len(infos) > MOST_FILES:
        raise _unsound(f"it holds {len(infos)} files; at most {MOST_FILES} are accepted")
    if sum(info.file_size for info in infos) > room:
        raise _unsound(f"it unpacks to more than {MOST_BYTES // 2**20} MiB")
    parts: dict[str, bytes] = {}
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
    _must_match(listing, parts)
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


def _must_match(listing: Mapping[str, Any], parts: Mapping[str, bytes]) -> None:
    """Raise UserError unless the files are those that are listed."""
    if set(listing["files"]) != set(parts) - {LIST}:
        raise _unsound("its list and its files differ")
    for name, said in listing["files"].items():
        data = parts[name]
        if len(data) != said.get("size") or hashlib.sha256(data).hexdigest() != said.get("sha256"):
            raise _unsound(f"'{name}' does not match its hash")


def _list_in(parts: Mapping[str, bytes]) -> object:
    try:
        return json.loads(parts[LIST])
    except (KeyError, ValueError, RecursionError) as fault:
        raise _unsound("it has no list of its contents") from fault


def _listing(parts: Mapping[str, bytes]) -> dict[str, Any]:
    listing = _list_in(parts)
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
    assert isinstance(listing, dict)
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
