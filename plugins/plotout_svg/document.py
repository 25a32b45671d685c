"""Parses an SVG file safely."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.parsers import expat

from plotout import FloatArray, Place, UserError
from plotout.kit import looks_like, read_whole, shown
from plotout_svg.page import port_of, scale

NAMESPACE = "{http://www.w3.org/2000/svg}"
MOST_BYTES = 50 * 1024 * 1024
DEEPEST = 200
MOST_ELEMENTS = 300_000


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
    matrix, notes = scale(root, pick, place)
    linked = any(
        local(element.tag) == "link" and "stylesheet" in element.get("rel", "").lower()
        for element in lines
    )
    port, unit_given = port_of(root, place), "unit" in pick
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
