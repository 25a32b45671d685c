"""Reads one piece out of an SVG drawing.

Sources: SVG 1.1 and 2 (W3C): transforms, viewBox, basic shapes, `use`; CSS Values 3: 1 in = 96 px =
72 pt = 6 pc = 25.4 mm. y is turned to run up.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np

from plotout import Drawing, FloatArray, Place, Role, Shape, UserError, length, nearest
from plotout_svg.shapes import SHAPES, polylines
from plotout_svg.transform import mapped, matrix_of

MOST_BYTES = 50 * 1024 * 1024
DEEPEST = 60  # groups and uses within one another
MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
ROLES = {"outline": Role.OUTLINE, "internal": Role.INTERNAL, "grain": Role.GRAIN,
         "drill": Role.DRILL, "fold": Role.FOLD, "notch": Role.NOTCH, "cut-out": Role.CUTOUT,
         "stripe": Role.STRIPE, "plaid": Role.PLAID}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """An element with what it is called and where it lies. names: `#id` and `.class` of its own
    and of every group around it.
    """

    element: ElementTree.Element
    tag: str
    names: frozenset[str]
    matrix: FloatArray

    @property
    def label(self) -> str:
        """Its id, or what it is."""
        return self.element.get("id") or self.tag


def read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Return the shapes that the set file asks for. Raises UserError."""
    root = _root(path)
    matrix = _page_matrix(root, path, pick)
    found = list(_walk(root, matrix, frozenset(), {e.get("id"): e for e in root.iter()}, 0))
    if "layer" in pick:
        found = _picked(found, str(pick["layer"]), "layer", path)
    shapes: list[Shape] = []
    for key, role in ROLES.items():
        for selector in _selectors(pick, key):
            for each in _picked(found, selector, key, path):
                shapes += _shapes(each, role)
    if not any(shape.role is Role.OUTLINE for shape in shapes):
        raise UserError("no outline is picked", place=Place(path),
                        fix='Say which element it is: outline = "#id" or ".class".')  # fmt: skip
    return Drawing(tuple(shapes))


def _root(path: Path) -> ElementTree.Element:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise UserError("the drawing is larger than 50 MiB", place=Place(path))
        data = path.read_bytes()
    except OSError as fault:
        raise UserError(f"can't read it: {fault.strerror}", place=Place(path)) from fault
    if b"<!ENTITY" in data:  # a few lines of entities can unfold to gigabytes
        raise UserError("the drawing defines entities, which is not safe to read",
                        fix="Save it as plain SVG.", place=Place(path))  # fmt: skip
    try:
        root = ElementTree.fromstring(data)
    except (ElementTree.ParseError, ValueError, LookupError) as fault:
        raise UserError(f"this is not SVG: {fault}", place=Place(path)) from fault
    if _tag(root) != "svg":
        raise UserError(f"this is not SVG but <{_tag(root)}>", place=Place(path))
    return root


def _page_matrix(root: ElementTree.Element, path: Path, pick: Mapping[str, Any]) -> FloatArray:
    """User units to mm, y up: by width, height and viewBox, or by the set file's `unit`."""
    box = [float(v) for v in re.split(r"[\s,]+", root.get("viewBox", "").strip()) if v]
    width, height = _physical(root.get("width")), _physical(root.get("height"))
    if "unit" in pick:
        scale = length(f"1 {pick['unit']}")
        left, top, tall = (box[0], box[1], box[3]) if len(box) == 4 else (0.0, 0.0, 0.0)
        return np.array([[scale, 0, -left * scale], [0, -scale, (top + tall) * scale]])
    if width is None or height is None:
        raise UserError(
            "the drawing does not say how large it is: its width and height have no unit",
            fix='Say what one of its units is in the set file: from = { ..., unit = "mm" }.',
            place=Place(path),
        )
    if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
        scale = 25.4 / 96
        return np.array([[scale, 0, 0], [0, -scale, height]])
    across, up = width / box[2], height / box[3]
    if root.get("preserveAspectRatio", "").strip() != "none":
        across = up = min(across, up)
    return np.array([[across, 0, -box[0] * across], [0, -up, (box[1] + box[3]) * up]])


def _physical(text: str | None) -> float | None:
    """A length with a physical unit in mm; None without one."""
    found = re.fullmatch(r"\s*([-+]?[\d.]+(?:e[-+]?\d+)?)\s*([a-z]+)\s*", text or "", re.IGNORECASE)
    if not found or found[2].lower() not in MM_PER:
        return None
    return float(found[1]) * MM_PER[found[2].lower()]


def _walk(
    element: ElementTree.Element,
    matrix: FloatArray,
    names: frozenset[str],
    by_id: Mapping[str | None, ElementTree.Element],
    depth: int,
) -> Iterator[Found]:
    """Give every shape that is drawn, with its whole transform."""
    tag = _tag(element)
    if depth > DEEPEST or (tag in ("defs", "clipPath", "mask", "marker", "symbol") and depth):
        return
    if "none" in (element.get("display", ""), _style(element).get("display", "")):
        return
    matrix = mapped(matrix, matrix_of(element.get("transform", "")))
    own = [f".{name}" for name in element.get("class", "").split()]
    own += [f"#{element.get('id')}"] if element.get("id") else []
    own += [value for key, value in element.attrib.items() if key.endswith("}label")]
    names |= frozenset(own)
    if tag in SHAPES:
        yield Found(element, tag, names, matrix)
    elif tag == "use":
        yield from _used(element, matrix, names, by_id, depth)
    else:
        for child in element:
            yield from _walk(child, matrix, names, by_id, depth + 1)


def _used(
    element: ElementTree.Element,
    matrix: FloatArray,
    names: frozenset[str],
    by_id: Mapping[str | None, ElementTree.Element],
    depth: int,
) -> Iterator[Found]:
    target = next((v for k, v in element.attrib.items() if k.endswith("href")), "")
    other = by_id.get(target.lstrip("#"))
    if other is not None and target.startswith("#"):
        shift = np.array([[1, 0, float(element.get("x", 0))], [0, 1, float(element.get("y", 0))]])
        yield from _walk(other, mapped(matrix, shift), names, by_id, depth + 1)


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _style(element: ElementTree.Element) -> dict[str, str]:
    pairs = (part.partition(":") for part in element.get("style", "").split(";"))
    return {key.strip(): value.strip() for key, _, value in pairs}


def _selectors(pick: Mapping[str, Any], key: str) -> list[str]:
    value = pick.get(key, [])
    return [str(each) for each in value] if isinstance(value, list) else [str(value)]


def _picked(found: list[Found], selector: str, key: str, path: Path) -> list[Found]:
    chosen = [each for each in found if selector in each.names or f"#{selector}" in each.names]
    if not chosen:
        names = sorted({name for each in found for name in each.names})
        raise UserError(f"{key}: nothing in the drawing is called '{selector}'",
                        fix=nearest(selector, names), place=Place(path))  # fmt: skip
    return chosen


def _shapes(found: Found, role: Role) -> Iterator[Shape]:
    try:
        lines = polylines(found.element, found.tag, found.matrix)
    except (ValueError, IndexError, AssertionError, ZeroDivisionError) as fault:
        raise UserError(f"'{found.label}' can't be read: {fault}") from fault
    for points in lines:
        if role is Role.DRILL:
            low, high = points.min(axis=0), points.max(axis=0)
            yield Shape(((low + high) / 2)[None], role, found.label, size=float((high - low).max()))
        else:
            yield Shape(points, role, found.label)
