"""Reads one piece from an SVG.

The set file's `from` table says which elements are what. A selector is "#id", ".class", or a bare
word: an id or a layer's label; one that names a group takes everything in it. A key takes one
selector or a list.

outline: the piece's outline: one closed shape, or open ones that make it up; the ids of open ones
    become the edges' names.
sewing, internal, fold, stripe, plaid, cut-out: lines.
grain: its longest straight is the grain line. drill: circles, or small shapes about the hole.
notch: lines from the edge inwards, or a V. turn: circles or lines about turn points.
layer: take only what lies in this group. unit: what one unit is (px, mm, cm, in, pt, pc, Q), for
    a drawing whose width and height say none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from plotout import (
    BranchingError,
    Drawing,
    FloatArray,
    Place,
    Role,
    Shape,
    UserError,
    joined,
    nearest,
)
from plotout_svg.document import Document, load, local
from plotout_svg.shapes import polylines
from plotout_svg.tree import Drawn, drawn

LINES = {
    "sewing": Role.SEWING,
    "internal": Role.INTERNAL,
    "fold": Role.FOLD,
    "stripe": Role.STRIPE,
    "plaid": Role.PLAID,
    "cut-out": Role.CUTOUT,
}


def read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Return the piece that `pick` picks. Raises UserError."""
    document = load(path, pick)
    shapes = drawn(document)
    if not shapes:
        raise UserError("nothing is drawn in it", place=Place(path))
    if "layer" in pick:
        shapes = _picked(document, shapes, pick["layer"], "layer")
    if "outline" not in pick:
        raise UserError(
            "no outline is picked",
            fix=f'Say which it is: outline = "#id" or ".class". {nearest("", _names(shapes))}',
            place=Place(path),
        )
    outline = _outline(document, _picked(document, shapes, pick["outline"], "outline"))
    made = list(outline)
    for key, role in LINES.items():
        made += [Shape(points, role, name) for name, points in _lines(document, shapes, pick, key)]
    for name, points in _lines(document, shapes, pick, "grain"):
        made.append(Shape(_longest_straight(points), Role.GRAIN, name))
    for name, points in _lines(document, shapes, pick, "drill"):
        size = float(np.ptp(points, axis=0).max()) if _closed(points) else 0.0
        made.append(Shape(_middle(points), Role.DRILL, name, size=size))
    for name, points in _lines(document, shapes, pick, "turn"):
        made.append(Shape(_middle(points), Role.TURN, name))
    edge = np.vstack([shape.points for shape in outline])
    for name, points in _lines(document, shapes, pick, "notch"):
        made.append(_notch(name, points, edge))
    return Drawing(tuple(made), document.notes)


def _lines(
    document: Document, shapes: Sequence[Drawn], pick: Mapping[str, Any], key: str
) -> list[tuple[str, FloatArray]]:
    if key not in pick:
        return []
    found = _picked(document, shapes, pick[key], key)
    return [(_name(each), line) for each in found for line in _polylines(document, each)]


def _polylines(document: Document, shape: Drawn) -> list[FloatArray]:
    return polylines(shape.element, shape.matrix, document.place(shape.element))


def _picked(document: Document, shapes: Sequence[Drawn], asked: Any, key: str) -> list[Drawn]:
    """Return the shapes that the selectors pick, in the selectors' order, each once."""
    found: dict[int, Drawn] = {}
    for selector in asked if isinstance(asked, list) else [asked]:
        if not isinstance(selector, str) or not selector.strip("#. "):
            raise UserError(f"{key}: {selector!r} is not a selector",
                            fix='Write "#id", ".class" or a name.',
                            place=Place(document.path))  # fmt: skip
        hits = [each for each in shapes if any(_is(e, selector) for e in each.line)]
        if not hits:
            raise _nothing(document, shapes, selector, key)
        found |= {id(each): each for each in hits}
    return list(found.values())


def _is(element: Any, selector: str) -> bool:
    if selector.startswith("."):
        return selector[1:] in element.get("class", "").split()
    if selector.startswith("#"):
        return bool(element.get("id") == selector[1:])
    return selector == element.get("id") or selector == _label(element)


def _label(element: Any) -> str | None:
    """What a group's label attribute says, in whichever name space."""
    return next((value for key, value in element.attrib.items() if local(key) == "label"), None)


def _nothing(document: Document, shapes: Sequence[Drawn], selector: str, key: str) -> UserError:
    for element in document.root.iter():
        if _is(element, selector):
            return UserError(f"{key}: '{selector}' is hidden, or draws nothing",
                             fix="Show it, or pick another.",
                             place=document.place(element))  # fmt: skip
    return UserError(f"{key}: nothing in it is '{selector}'",
                     fix=nearest(selector, _names(shapes)), place=Place(document.path))  # fmt: skip


def _names(shapes: Sequence[Drawn]) -> list[str]:
    """Return what can be picked."""
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
    """A shape's own id, else that of what it lies in."""
    return next((name for e in reversed(shape.line) if (name := e.get("id"))), "")


def _outline(document: Document, picked: Sequence[Drawn]) -> list[Shape]:
    """One closed shape; or open ones, turned and put in order round the piece."""
    lines = [(_name(each), line) for each in picked for line in _polylines(document, each)]
    place = document.place(picked[0].element)
    if not lines:
        raise UserError("the outline is empty", place=place)
    try:
        rings = joined([line for _, line in lines])
    except BranchingError as fault:
        raise UserError("more than two lines of the outline meet", fix="Delete what is too many.",
                        place=Place(document.path, at=fault.at)) from fault  # fmt: skip
    closed = [ring for ring in rings if _closed(ring)]
    if len(closed) > 1:
        raise UserError(
            f"{len(closed)} closed shapes are picked as the outline",
            fix=f"Pick one. {nearest('', _names(picked))}",
            place=Place(document.path, at=(float(closed[1][0][0]), float(closed[1][0][1]))),
        )
    if len(lines) == 1 or len({name for name, _ in lines}) < len(lines):
        return [Shape(ring, Role.OUTLINE, lines[0][0]) for ring in rings]
    return _in_order(lines)


def _in_order(lines: list[tuple[str, FloatArray]]) -> list[Shape]:
    """Put named open lines end to end, nearest end first; the first keeps its place and way."""
    made, left = [Shape(lines[0][1], Role.OUTLINE, lines[0][0])], lines[1:]
    while left:
        end = made[-1].points[-1]
        gaps = [np.hypot(*(line[[0, -1]] - end).T) for _, line in left]
        nth = int(np.argmin([gap.min() for gap in gaps]))
        name, line = left.pop(nth)
        turned = line[::-1] if gaps[nth][1] < gaps[nth][0] else line
        made.append(Shape(turned, Role.OUTLINE, name))
    return made


def _closed(points: FloatArray) -> bool:
    return len(points) > 3 and bool((points[0] == points[-1]).all())


def _middle(points: FloatArray) -> FloatArray:
    return np.asarray((points.min(axis=0) + points.max(axis=0))[None] / 2.0)


def _longest_straight(points: FloatArray) -> FloatArray:
    nth = int(np.hypot(*np.diff(points, axis=0).T).argmax())
    return points[nth : nth + 2]


def _notch(name: str, points: FloatArray, edge: FloatArray) -> Shape:
    """A line is a slit, a bent line a V; its depth is how far it reaches from the edge in."""
    ends = points[[0, -1]]
    if len(points) == 2:
        near = int(np.argmin([_off(end, edge) for end in ends]))
        outer, inner = ends[near], ends[1 - near]
        kind = "slit"
    else:
        outer = ends.mean(axis=0)
        inner = points[int(np.hypot(*(points - outer).T).argmax())]
        kind = "V" if len(points) == 3 else ""
    way = inner - outer
    size = float(np.hypot(*way))
    angle = float(np.degrees(np.arctan2(way[1], way[0]))) if size > 0.0 else None
    return Shape(outer[None], Role.NOTCH, name, kind, size if kind else 0.0, angle)


def _off(point: FloatArray, edge: FloatArray) -> float:
    import shapely

    return float(shapely.distance(shapely.LineString(edge), shapely.Point(point)))
