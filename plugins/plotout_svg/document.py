"""Parses an SVG file safely, and finds its coordinates in millimetres.

Source: W3C SVG 1.1 (second edition), 7.7 to 7.10 (viewBox, preserveAspectRatio, units);
CSS Values 3, 5.2: 1 in = 96 px = 72 pt = 6 pc = 25.4 mm = 101.6 Q.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.parsers import expat

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout.kit import looks_like, nearest, read_whole, shown

MM = {
    "px": 25.4 / 96,
    "in": 25.4,
    "cm": 10.0,
    "mm": 1.0,
    "Q": 0.25,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
}
NAMESPACE = "{http://www.w3.org/2000/svg}"
MOST_BYTES = 50 * 1024 * 1024
FARTHEST = 1e6  # mm
SMALLEST = 1e-6  # side of a viewBox
DEEPEST = 200
MOST_ELEMENTS = 300_000
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_HOLE = re.compile(r",\s*,")  # renderers leave out what holds one
_FIT = re.compile(r"\s*(?:none|x(Min|Mid|Max)Y(Min|Mid|Max))(?:\s+(?:meet|(slice)))?\s*")
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z%]*)\s*$")


@dataclass(frozen=True, slots=True, eq=False)
class Document:
    """A parsed file. matrix: (2, 3), user units to mm, y up. lines: of the elements.

    port: width and height of the page in user units, None if unknown. unit_given: by the set file.
    sheet_elsewhere: it names a style sheet outside itself.
    """

    path: Path
    root: ET.Element
    matrix: FloatArray
    port: tuple[float | None, float | None]
    lines: Mapping[ET.Element, int]
    notes: tuple[str, ...]
    unit_given: bool = False
    sheet_elsewhere: bool = False

    def place(self, element: ET.Element) -> Place:
        """Return an element's place in the file."""
        return Place(self.path, self.lines.get(element))


def load(path: Path, pick: Mapping[str, Any]) -> Document:
    """Parse the file. Raises UserError for one that is damaged, hostile or of unknown size."""
    data = _bytes(path)
    starts, sheet_elsewhere = _scan(data, path)
    try:
        root = ET.fromstring(data)
    except ET.ParseError as fault:  # well-formed, but with an undeclared prefix
        raise UserError(
            f"this is not XML with namespaces: {fault.msg.partition(':')[0]}",
            fix="Save it as plain SVG.",
            place=Place(path, fault.position[0]),
        ) from fault
    if local(root.tag) != "svg":
        raise _no_svg(root.tag, Place(path, starts[0]))
    lines = dict(zip(root.iter(), starts, strict=True))
    place = Place(path, lines[root])
    matrix, notes = _page(root, pick, place)
    linked = any(
        local(element.tag) == "link" and "stylesheet" in element.get("rel", "").lower()
        for element in lines
    )
    port, unit_given = _port(root, place), "unit" in pick
    return Document(path, root, matrix, port, lines, notes, unit_given, sheet_elsewhere or linked)


def local(tag: object) -> str:
    """Return the name of an SVG element; that of another namespace, which isn't drawn, keeps it.

    Many drawings written by hand name no namespace at all.
    """
    return str(tag).removeprefix(NAMESPACE)


def bare(attribute: str) -> str:
    """Return an attribute's name without its namespace."""
    return attribute.rpartition("}")[2]


def _no_svg(tag: str, place: Place) -> UserError:
    space, _, name = tag.rpartition("}")
    if name != "svg":
        return UserError(
            f"this is not SVG: its root is <{name}>", fix="Save the drawing as SVG.", place=place
        )
    return UserError(
        f"this is not SVG: its root is <svg> in the namespace {shown(space[1:])}",
        fix=f"Save the drawing as SVG: its namespace is {NAMESPACE[1:-1]}",
        place=place,
    )


def number(text: str | None, default: float, place: Place) -> float:
    """Return a length within the drawing in user units (px). Raises UserError."""
    if text is None:
        return default
    found = _LENGTH.match(text)
    unit = (found[2] or "px") if found else ""
    if not found or unit not in MM:
        raise UserError(f"{shown(text)} is not a length that can be read here",
                        fix=f"Write a number, with or without a unit: {', '.join(MM)}.",
                        place=place)  # fmt: skip
    return numbers(found[1], place)[0] * (1.0 if unit == "px" else MM[unit] / MM["px"])


def numbers(text: str, place: Place) -> list[float]:
    """Return the numbers of a list such as that of `points`. Raises UserError."""
    if re.sub(rf"{_NUMBER}|[\s,]", "", text) or _HOLE.search(text):
        raise UserError(
            f"'{text[:40]}' is not a list of numbers",
            fix="Save the drawing again: it may be damaged.",
            place=place,
        )
    values = [float(found) for found in re.findall(_NUMBER, text)]
    if not all(abs(value) < 1e9 for value in values):
        raise UserError(
            f"'{text[:40]}' is out of range",
            fix="Check the drawing's scale.",
            place=place,
        )
    return values


def view(
    element: ET.Element, width: float | None, height: float | None, place: Place
) -> FloatArray | None:
    """Return the (2, 3) map from an element's viewBox to a box of width x height, y down.

    None without a viewBox. A side that is None follows from the other.
    """
    text = element.get("viewBox")
    if text is None:
        return None
    box = numbers(text, place)
    if len(box) != 4 or not min(box[2:]) > SMALLEST:
        raise UserError(
            f"viewBox {shown(text)} is not four numbers with a size",
            fix='Write viewBox="0 0 WIDTH HEIGHT".',
            place=place,
        )
    scale_x = width / box[2] if width else None
    scale_y = height / box[3] if height else None
    x, y = scale_x or scale_y or 1.0, scale_y or scale_x or 1.0
    width, height = width or box[2] * x, height or box[3] * y
    at_x, at_y, cut = _fit(element, place)
    if at_x:
        x = y = max(x, y) if cut else min(x, y)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    spare = (width - box[2] * x, height - box[3] * y)
    shift_x = spare[0] * share.get(at_x, 0.0) - box[0] * x
    shift_y = spare[1] * share.get(at_y, 0.0) - box[1] * y
    return np.array([[x, 0.0, shift_x], [0.0, y, shift_y]])


def _fit(element: ET.Element, place: Place) -> tuple[str, str, bool]:
    """Return how a viewBox lies in its box: Min, Mid or Max across and up, "" for none; cut off?"""
    text = element.get("preserveAspectRatio", "xMidYMid")
    found = _FIT.fullmatch(text)
    if not found:  # renderers take the default, or a part of it
        raise UserError(
            f"preserveAspectRatio {shown(text)} can't be read",
            fix='Write it as in preserveAspectRatio="xMidYMid meet", or leave it out.',
            place=place,
        )
    return found[1] or "", found[2] or "", found[3] is not None


def _bytes(path: Path) -> bytes:
    data = read_whole(path, "drawing", MOST_BYTES)
    if not data.strip():
        raise UserError("the file is empty", fix="Save the drawing again.", place=Place(path))
    return data


def _scan(data: bytes, path: Path) -> tuple[list[int], bool]:
    """Return the lines of the elements, and whether it names a style sheet outside itself.

    Refuses entities and excessive depth before anything else is read.
    """
    parser = expat.ParserCreate()
    starts: list[int] = []
    depth = 0
    sheet_elsewhere = False

    def begin(_tag: str, _attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        starts.append(parser.CurrentLineNumber)
        if len(starts) > MOST_ELEMENTS:
            raise UserError(
                f"it has more than {MOST_ELEMENTS} elements",
                fix="Keep only the pattern, without its surroundings.",
                place=Place(path),
            )
        if depth > DEEPEST:
            raise UserError(
                f"groups are nested more than {DEEPEST} deep",
                fix="Ungroup the drawing.",
                place=Place(path, parser.CurrentLineNumber),
            )

    def end(_tag: str) -> None:
        nonlocal depth
        depth -= 1

    def doctype(_name: str, _system: str | None, _public: str | None, internal: int) -> None:
        if internal:
            raise UserError("its DOCTYPE declares entities, which are not supported",
                            fix="Save it as plain SVG.",
                            place=Place(path, parser.CurrentLineNumber))  # fmt: skip

    def instruction(target: str, _data: str) -> None:
        nonlocal sheet_elsewhere
        sheet_elsewhere |= target == "xml-stylesheet"

    parser.StartElementHandler, parser.EndElementHandler = begin, end
    parser.ProcessingInstructionHandler = instruction
    parser.StartDoctypeDeclHandler = doctype
    try:
        parser.Parse(data, True)
    except LookupError as fault:
        raise UserError(
            "its XML declaration names an encoding that is not known",
            fix="Save it as UTF-8.",
            place=Place(path, 1),
        ) from fault
    except (expat.ExpatError, ValueError) as fault:
        raise _damaged(fault, data, path) from fault
    return starts, sheet_elsewhere


def _damaged(fault: Exception, data: bytes, path: Path) -> UserError:
    known = looks_like(data)
    if known and known not in ("XML", "an SVG drawing"):
        packed = "unpack it, or " if "compressed" in known else ""
        fix = f"Name the drawing itself: {packed}save it as plain SVG."
        return UserError(f"this is {known}, not an SVG drawing", fix=fix, place=Place(path))
    place = Place(path, getattr(fault, "lineno", None))
    words = str(fault).partition(": line")[0]
    column = getattr(fault, "offset", None)
    where = "" if column is None else f" (column {column + 1})"
    fix = "Save it as plain SVG, or take it from a copy: it may be damaged."
    return UserError(f"this is not well-formed XML: {words}{where}", fix=fix, place=place)


def _page(
    root: ET.Element, pick: Mapping[str, Any], place: Place
) -> tuple[FloatArray, tuple[str, ...]]:
    """Return the map from the root's user units to mm, y up from the page's lower edge."""
    width, height = _physical(root.get("width"), place), _physical(root.get("height"), place)
    known = width is not None or height is not None
    given = _given_unit(pick, place)
    if not known and given is None:
        raise UserError("its size is unknown: width and height have no unit of length",
                        fix='Name the unit in the set file: unit = "mm" (or in, px ...).',
                        place=place)  # fmt: skip
    down = view(root, width, height, place)
    if down is None:
        down = np.array([[MM["px"], 0.0, 0.0], [0.0, MM["px"], 0.0]])
    notes: list[str] = []
    if given is not None:
        notes += _other_scale(root, known, given, place)
        size = height / down[1, 1] if height is not None else _user_height(root, place)
        if known and abs(down[0, 0] / given - 1.0) > 1e-3:
            notes.append(f"the set file's unit of {given:g} mm was used, not the drawing's "
                         f"own of {down[0, 0]:g} mm")  # fmt: skip
        down = np.array([[given, 0.0, 0.0], [0.0, given, 0.0]])
        box = root.get("viewBox")
        if box is not None:
            down[:, 2] = -np.array(numbers(box, place)[:2]) * given
        height = size * given
    elif height is None:
        height = _user_height(root, place) * float(down[1, 1])
    up = down.copy()
    up[1] = -up[1]
    up[1, 2] += height
    return up, tuple(notes)


def _other_scale(root: ET.Element, known: bool, given: float, place: Place) -> Iterator[str]:
    """Give a note where width and height, without units, count otherwise than the viewBox does."""
    down = None if known else view(root, *_sides(root, place), place)
    if down is None or abs(down[0, 0] - 1.0) <= 1e-3:
        return
    box = numbers(root.get("viewBox", ""), place)
    yield (
        f"the set file's unit of {given:g} mm was used for the numbers of its shapes, so that its "
        f"page is {box[2] * given:.6g} x {box[3] * given:.6g} mm; if its width and height are in "
        "that unit, write it after them in the drawing, and leave it out here"
    )


def _sides(root: ET.Element, place: Place) -> tuple[float | None, float | None]:
    """Return the page's width and height in px; None for one that is relative or left out."""
    given = (root.get(key, "").strip() for key in ("width", "height"))
    wide, high = (
        None if not s or s == "auto" or "%" in s else number(s, 0.0, place) for s in given
    )
    return wide, high


def _port(root: ET.Element, place: Place) -> tuple[float | None, float | None]:
    """Return the page's width and height in user units."""
    box = root.get("viewBox")
    if box is not None:
        return numbers(box, place)[2], numbers(box, place)[3]
    return _sides(root, place)


def _user_height(root: ET.Element, place: Place) -> float:
    """Return the page's height in user units, 0 without one: y is then reversed about 0."""
    box = root.get("viewBox")
    if box is not None:
        return numbers(box, place)[3]
    text = root.get("height", "")
    return 0.0 if "%" in text or not text else number(text, 0.0, place)


def _physical(text: str | None, place: Place) -> float | None:
    """Return a side of the page in mm; None without a physical unit. Raises UserError."""
    if text is None or not text.strip() or text.strip() == "auto":
        return None
    found = _LENGTH.match(text)
    if not found:
        raise _no_size(text, place)
    if found[2] not in MM:
        return None
    side = float(found[1]) * MM[found[2]]
    if not 0.0 < side < FARTHEST:
        raise _no_size(text, place)
    return side


def _no_size(text: str, place: Place) -> UserError:
    return UserError(
        f"the page's side {shown(text)} is not a size",
        fix='Write width="200mm", or leave it out and add unit = "mm" in the set file.',
        place=place,
    )


def _given_unit(pick: Mapping[str, Any], place: Place) -> float | None:
    if "unit" not in pick:
        return None
    unit = str(pick["unit"])
    if unit not in MM:
        raise UserError(f"'{unit}' is not a unit", fix=nearest(unit, MM), place=place)
    return MM[unit]
