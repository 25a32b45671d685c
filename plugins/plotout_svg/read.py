"""Reads one piece from an SVG.

The set file's `from` table assigns elements to roles. A selector is "#id", ".class", or a bare
word: an id or a layer's label; one that names a group selects everything in it. A key takes one
selector or a list.

outline: the piece's outline: one closed shape, or open ones that form it; the ids of open ones
    become the edges' names.
sewing, internal, score, fold, stripe, plaid, cut-out: lines.
grain: its longest straight line is the grain line. drill: circles, or small shapes around the hole.
notch: lines from the edge inwards, or a V. turn: circles or lines around turn points.
layer: read only this group. unit: the drawing's unit (px, mm, cm, in, pt, pc, Q), if its width and
    height have none.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from plotout import Drawing, FloatArray, Place, Role, Shape, UserError
from plotout.kit import (
    grain_shape,
    middle_shapes,
    nearest,
    notch_shape,
    open_ordinary,
    outline_shapes,
)
from plotout_svg.document import Document, bare, load
from plotout_svg.shapes import MOST_POINTS, polylines
from plotout_svg.tree import Drawn, drawn

LINES = {
    "sewing": Role.SEWING,
    "internal": Role.INTERNAL,
    "score": Role.SCORE,
    "fold": Role.FOLD,
    "stripe": Role.STRIPE,
    "plaid": Role.PLAID,
    "cut-out": Role.CUTOUT,
}
MARKS = ("grain", "drill", "turn", "notch")
_NAMELESS = "Nothing drawn has an id yet: give the outline one in the drawing program."


@dataclass(frozen=True, slots=True, eq=False)
class _Picture:
    """What is drawn in a file, or in a layer of it. by_selector: the shapes that each picks."""

    document: Document
    shapes: Sequence[Drawn]
    notes: tuple[str, ...]
    by_selector: Mapping[str, Sequence[Drawn]]


def read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Return the piece that `pick` picks. Raises UserError."""
    with open_ordinary(path, "drawing") as file:
        status = os.fstat(file.fileno())
    unit = pick.get("unit")
    unit = unit if unit is None or isinstance(unit, str) else repr(unit)
    picture = _picture_in(path, unit, status.st_mtime_ns, status.st_size)
    if "layer" in pick:
        shapes = _picked(picture, pick["layer"], "layer")
        picture = replace(picture, shapes=shapes, by_selector=_by_selector(shapes))
    if "outline" not in pick:
        raise UserError(
            "no outline is picked",
            fix=f'Write outline = "#id" or ".class". '
            f"{nearest('', _names(picture.shapes), _NAMELESS)}",
            place=Place(path),
        )
    outline = _outline(picture, _picked(picture, pick["outline"], "outline"))
    lines = {key: _lines(picture, pick, key) for key in (*LINES, *MARKS)}
    made = list(outline)
    for key, role in LINES.items():
        made += [Shape(points, role, name) for name, points in lines[key]]
    if lines["grain"]:
        made.append(grain_shape(lines["grain"]))
    made += middle_shapes(lines["drill"], Role.DRILL) + middle_shapes(lines["turn"], Role.TURN)
    edge = np.vstack([shape.points for shape in outline])
    made += [notch_shape(line, edge) for line in lines["notch"]]
    return Drawing(tuple(made), (*picture.document.notes, *picture.notes))


@lru_cache(maxsize=2)
def _picture_in(path: Path, unit: str | None, _changed: int, _size: int) -> _Picture:
    """Look through it once for all the pieces that are in it, as long as it doesn't change."""
    document = load(path, {} if unit is None else {"unit": unit})
    shapes, notes = drawn(document)
    if not shapes:
        raise UserError(
            "nothing is drawn in it",
            fix="Check that the lines are on a visible layer.",
            place=Place(path),
        )
    return _Picture(document, shapes, notes, _by_selector(shapes))


def _by_selector(shapes: Sequence[Drawn]) -> dict[str, list[Drawn]]:
    """Return what each selector picks, in the order of the drawing."""
    found: dict[str, list[Drawn]] = {}
    for shape in shapes:
        for selector in dict.fromkeys(one for element in shape.line for one in _selectors(element)):
            found.setdefault(selector, []).append(shape)
    return found


def _selectors(element: Any) -> Iterator[str]:
    """Give what picks an element. A bare word never begins as the others do."""
    names = element.get("id"), _label(element)
    if names[0]:
        yield f"#{names[0]}"
    yield from (f".{name}" for name in element.get("class", "").split())
    yield from (name for name in names if name and not name.startswith(("#", ".")))


def _lines(picture: _Picture, pick: Mapping[str, Any], key: str) -> list[tuple[str, FloatArray]]:
    if key not in pick:
        return []
    return list(_polylines(picture.document, _picked(picture, pick[key], key)))


def _polylines(document: Document, shapes: Sequence[Drawn]) -> Iterator[tuple[str, FloatArray]]:
    """Give the lines of shapes, mm, with their names. Raises UserError for too many points."""
    left = MOST_POINTS
    for shape in shapes:
        place = document.place(shape.element)
        for line in polylines(shape.element, shape.matrix, place):
            left -= len(line)
            if not all(window.holds(line) for window in shape.windows):
                raise UserError(
                    "part of this shape is not seen: it lies outside the nested view around it",
                    fix='Draw it within the view, or write overflow="visible" on the <svg> or '
                    "<symbol>.",
                    place=place,
                )
            yield _name(shape), line
        if left < 0:
            raise UserError(
                f"what is picked takes more than {MOST_POINTS} points, once curves are flattened",
                fix="Pick only what belongs to the piece; draw curves with fewer parts.",
                place=place,
            )


def _picked(picture: _Picture, asked: Any, key: str) -> list[Drawn]:
    """Return the shapes that the selectors pick, in the selectors' order, without repeats."""
    found: dict[int, Drawn] = {}
    for selector in asked if isinstance(asked, list) else [asked]:
        if not isinstance(selector, str) or not selector.strip("#. "):
            raise UserError(f"{key}: {selector!r} is not a selector",
                            fix='Write "#id", ".class" or a name.',
                            place=Place(picture.document.path))  # fmt: skip
        hits = picture.by_selector.get(selector)
        if not hits:
            raise _nothing(picture, selector, key)
        found |= {id(hit): hit for hit in hits}
    return list(found.values())


def _label(element: Any) -> str | None:
    """Return a group's label attribute, in any name space."""
    return next((value for key, value in element.attrib.items() if bare(key) == "label"), None)


def _nothing(picture: _Picture, selector: str, key: str) -> UserError:
    document = picture.document
    for element in document.root.iter():
        if selector in _selectors(element):
            return UserError(f"{key}: '{selector}' is hidden, empty or in another layer",
                             fix="Show it, or pick another.",
                             place=document.place(element))  # fmt: skip
    return UserError(f"{key}: nothing in it matches '{selector}'",
                     fix=nearest(selector, _names(picture.shapes), _NAMELESS),
                     place=Place(document.path))  # fmt: skip


def _names(shapes: Sequence[Drawn]) -> list[str]:
    """Return the selectors of everything that can be picked."""
    names: dict[str, None] = {}
    for shape in shapes:
        for element in shape.line[1:]:
            if element.get("id"):
                names[f"#{element.get('id')}"] = None
            names |= {f".{name}": None for name in element.get("class", "").split()}
            label = _label(element)
            names |= {label: None} if label else {}
    return list(names)[:200]


def _name(shape: Drawn) -> str:
    """Return a shape's own id, else that of the element around it."""
    return next((name for e in reversed(shape.line) if (name := e.get("id"))), "")


def _outline(picture: _Picture, picked: Sequence[Drawn]) -> list[Shape]:
    lines = list(_polylines(picture.document, picked))
    return outline_shapes(lines, picture.document.place(picked[0].element))
