"""Notices that the coded pictures in a HEIC file are damaged, as far as their form shows it.

The file's boxes are those of ISO/IEC 14496-12; the coded units those of ITU-T H.265, in the form of
ISO/IEC 14496-15: each with its length before it.
"""

from __future__ import annotations

from collections.abc import Iterator
from struct import error, unpack_from

CODED = b"hvc1"
IN_FILE = 0  # what is stored in the file itself, not within its boxes
NEVER = (b"\0\0\0", b"\0\0\1", b"\0\0\2")  # within a unit (H.265, 7.4.2.2)
_LENGTHS = 21  # byte of a decoder's configuration that states how long lengths are


def damage_of_heic(data: bytes) -> str:
    """Return what is wrong with the pictures in a HEIC file, "" if nothing is seen."""
    try:
        meta = dict(_boxes(data, 0, len(data)))[b"meta"]
        boxes = dict(_boxes(data, meta[0] + 4, meta[1]))
        inner = dict(_boxes(data, *boxes[b"iprp"]))
        parts = dict(_boxes(data, *inner[b"ipco"]))
        wide = (data[parts[b"hvcC"][0] + _LENGTHS] & 3) + 1
        coded = _coded(data, *boxes[b"iinf"])
        places = [place for item, place in _places(data, boxes[b"iloc"][0]) if item in coded]
    except (KeyError, IndexError, error):
        return ""  # of another kind: its decoder is left to judge it
    for nth, (first, last) in enumerate(places, start=1):
        fault = _damage_of_units(data[first:last], wide)
        if fault:
            return f"part {nth} of the picture: {fault}"
    return ""


def _boxes(data: bytes, first: int, last: int) -> Iterator[tuple[bytes, tuple[int, int]]]:
    """Yield the kinds of boxes, and where what they hold begins and ends."""
    while first + 8 <= last:
        size, kind = unpack_from(">I4s", data, first)
        head = 8
        if size == 1:
            (size,), head = unpack_from(">Q", data, first + 8), 16
        end = first + size if size else last
        if end < first + head:
            return
        yield kind, (first + head, end)
        first = end


def _coded(data: bytes, first: int, last: int) -> set[int]:
    """Return the numbers of the items that are coded pictures: a whole one, or its tiles."""
    first += 6 if data[first] == 0 else 8
    found = set()
    for _, (at, _) in _boxes(data, first, last):
        number = ">H" if data[at] < 3 else ">I"
        after = at + 4 + (2 if data[at] < 3 else 4)
        if data[after + 2 : after + 6] == CODED:
            found.add(unpack_from(number, data, at + 4)[0])
    return found


def _places(data: bytes, at: int) -> Iterator[tuple[int, tuple[int, int]]]:
    """Yield the number of every item that is stored in the file, and where it begins and ends."""
    version = data[at]
    sizes = data[at + 4 : at + 6]
    offset, length, base, index = sizes[0] >> 4, sizes[0] & 15, sizes[1] >> 4, sizes[1] & 15
    number = 2 if version < 2 else 4
    at += 6

    def taken(size: int) -> int:
        nonlocal at
        at += size
        return int.from_bytes(data[at - size : at], "big")

    for _ in range(taken(number)):
        item = taken(number)
        where = taken(2) & 15 if version else IN_FILE
        taken(2)
        start = taken(base)
        extents = []
        for _ in range(taken(2)):
            taken(index if version else 0)
            first = start + taken(offset)
            extents.append((first, first + taken(length)))
        if where == IN_FILE and len(extents) == 1:
            yield item, extents[0]


def _damage_of_units(coded: bytes, wide: int) -> str:
    """Return what is wrong with coded units, each behind its length of so many bytes."""
    at = 0
    while at < len(coded):
        size = int.from_bytes(coded[at : at + wide], "big")
        unit = coded[at + wide : at + wide + size]
        if not size or len(unit) < size:
            return "a coded unit is longer than what holds it"
        if any(bytes_ in unit for bytes_ in NEVER):
            return "bytes that no coded unit has"
        at += wide + size
    return ""
