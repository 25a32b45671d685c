"""Notices that a picture's file is damaged where its decoder would only make the best of it.

What is stored without any check, such as the plain pixels of a TIFF, shows no damage.
"""

from __future__ import annotations

import os
import tempfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import simplejpeg

from plotout import Place, UserError
from plotout_photo.heic import damage_of_heic

DAMAGED = ("Corrupt JPEG data", "Premature end")  # libjpeg's words (jerror.h), not of mere oddities
# of a TIFF (TIFF 6.0, and its Technical Notes of 1995 and 2002)
_WIDTH, _HEIGHT, _BITS, _COMPRESSION, _SAMPLES, _PLANAR = 256, 257, 258, 259, 277, 284
_ROWS, _STRIPS, _TILES, _TILE, _TABLES = 278, (273, 279), (324, 325), (322, 323), 347
_JPEG, _DEFLATE, _PACKED = 7, (8, 32946), 32773
_STANDARD_ERROR, _ODD = 2, b"Warning"  # where libtiff writes, and its word for what is no damage
_APART = 2  # colours that are stored one after another
_NOTHING = 128  # of packed bytes: no bytes follow


@contextmanager
def heard() -> Iterator[list[str]]:
    """Collect what a decoder writes to standard error, but for what is merely odd.

    That is all that libtiff does about damage in what a fax machine would send (TIFF 6.0,
    sections 10 and 11).
    """
    said = list[str]()
    with tempfile.TemporaryFile() as file:
        kept = os.dup(_STANDARD_ERROR)
        os.dup2(file.fileno(), _STANDARD_ERROR)
        try:
            yield said
        finally:
            os.dup2(kept, _STANDARD_ERROR)
            os.close(kept)
            file.seek(0)
            said += [line.decode("utf-8", "replace").strip().rstrip(".")
                     for line in file if _ODD not in line]  # fmt: skip


def check(data: bytes, file: Any, said: list[str], place: Place) -> None:
    """Raise UserError for a file whose decoder goes on behind damaged bytes.

    file: the picture, as opened by Pillow. said: what its decoder wrote (`heard`).
    """
    fault = said[0] if said else ""
    if file.format in ("JPEG", "MPO"):
        fault = _damage_of_jpeg(data, file.mode)
    elif file.format == "TIFF" and not fault:
        fault = _damage_of_tiff(data, file.tag_v2)
    elif file.format == "HEIF":
        fault = damage_of_heic(data)
    if fault:
        raise UserError(
            f"the file is damaged ({fault}): parts of the picture are false",
            fix="Send it again from the camera, the telephone or the scanner, as a file, or take "
            "it again.",
            place=place,
        )


def _damage_of_jpeg(data: bytes, mode: str = "L") -> str:
    """Return what is wrong with a JPEG, "" if nothing is. mode: as Pillow names it."""
    try:
        simplejpeg.decode_jpeg(data, "CMYK" if mode == "CMYK" else "GRAY", strict=True)
    except ValueError as fault:
        if any(words in str(fault) for words in DAMAGED):
            return str(fault)
    return ""


def _damage_of_tiff(data: bytes, tags: Any) -> str:
    """Return what is wrong with a TIFF whose strips are whole, "" if nothing is."""
    how = tags.get(_COMPRESSION)
    for nth, part, size in _parts(data, tags):
        fault = ""
        if how in _DEFLATE:
            try:
                zlib.decompress(part)
            except zlib.error as wrong:
                fault = str(wrong)
        elif how == _JPEG:
            tables = tags.get(_TABLES, b"")
            fault = _damage_of_jpeg(tables[:-2] + part[2:] if tables else part)
        elif how == _PACKED and _unpacked(part) != size:
            fault = f"{_unpacked(part)} bytes of {size}"
        if fault:
            return f"part {nth}: {fault}"
    return ""


def _parts(data: bytes, tags: Any) -> Iterator[tuple[int, bytes, int]]:
    """Yield the strips or tiles of a TIFF: their numbers, bytes, and sizes when unpacked, bytes."""
    high = tags[_HEIGHT]
    rows = tags.get(_TILE[1], min(tags.get(_ROWS, high), high))
    wide = tags.get(_TILE[0], tags[_WIDTH])
    samples = 1 if tags.get(_PLANAR) == _APART else tags.get(_SAMPLES, 1)
    row = (wide * samples * tags.get(_BITS, (1,))[0] + 7) // 8
    tiled = _TILES[0] in tags
    down = -(-high // rows)
    offsets, counts = (tags.get(name, ()) for name in (_TILES if tiled else _STRIPS))
    for nth, (first, count) in enumerate(zip(offsets, counts, strict=False)):
        last = not tiled and nth % down == down - 1
        yield (
            nth + 1,
            data[first : first + count],
            row * (high - rows * (down - 1) if last else rows),
        )


def _unpacked(packed: bytes) -> int:
    """Return how many bytes packed ones stand for (TIFF 6.0, section 9)."""
    at, size, end = 0, 0, len(packed)
    while at < end:
        count = packed[at]
        if count < _NOTHING:
            at, size = at + count + 2, size + min(count + 1, end - at - 1)
        else:
            at, size = at + 1 + (count > _NOTHING), size + (257 - count) * (count > _NOTHING)
    return size
