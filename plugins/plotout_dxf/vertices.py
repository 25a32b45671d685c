"""Polylines of many vertices: ezdxf writes the first vertex, and the others are written like it.

A vertex is an entity in DXF, which as an object of ezdxf costs many times its text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Any

from plotout import FloatArray

if TYPE_CHECKING:
    from ezdxf.layouts.base import BaseLayout

ENCODING = "cp1252"  # ezdxf's for the version being written
_VERTEX = "  0\nVERTEX\n"
_END = "  0\nSEQEND\n"
_HANDLE = re.compile(r"^  5\n(.*)\n", re.MULTILINE)
_PLACE = re.compile(r"^ 10\n.*\n 20\n.*\n", re.MULTILINE)
_AT_ONCE = 10_000


@dataclass(frozen=True, slots=True, eq=False)
class Rest:
    """A polyline's vertices after the first, (n, 2); `handle` is that of the first of them."""

    points: FloatArray
    handle: int


def add_polyline(
    space: BaseLayout, points: FloatArray, *, close: bool, look: Mapping[str, Any]
) -> tuple[str, Rest]:
    """Add a polyline with its first point; return that vertex's handle, and the rest.

    look: its attributes, layer and colour.
    """
    polyline = space.add_polyline2d(points[:1].tolist(), close=close, dxfattribs=dict(look))
    assert space.doc is not None
    handles = space.doc.entitydb.handles
    rest = Rest(points[1:], int(str(handles), 16))
    handles.reset(f"{rest.handle + len(rest.points):X}")
    return str(polyline.vertices[0].dxf.handle), rest


def filled(text: str, rests: Mapping[str, Rest]) -> bytes:
    """Return a file's text with the rest of every polyline inserted, encoded."""
    parts = text.split(_VERTEX)
    return b"".join(chain([_encoded(parts[0])], *(_polyline(part, rests) for part in parts[1:])))


def _polyline(part: str, rests: Mapping[str, Rest]) -> Iterator[bytes]:
    """Give the text after the opening of a vertex, with the vertices that follow it."""
    first, end, after = part.partition(_END)
    handle = _HANDLE.search(first)
    assert handle is not None
    rest = rests[handle[1]]
    yield _encoded(_VERTEX + first)
    like = _HANDLE.sub("  5\n%X\n", _VERTEX + first.replace("%", "%%"), count=1)
    like = _PLACE.sub(" 10\n%r\n 20\n%r\n", like, count=1)
    for begin in range(0, len(rest.points), _AT_ONCE):
        x, y = rest.points[begin : begin + _AT_ONCE].T.tolist()
        numbers = range(rest.handle + begin, rest.handle + begin + len(x))
        yield _encoded(like * len(x) % tuple(chain.from_iterable(zip(numbers, x, y, strict=True))))
    yield _encoded(end + after)


def _encoded(text: str) -> bytes:
    return text.encode(ENCODING, "dxfreplace")
