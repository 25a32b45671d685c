"""Opens a DXF file, even if damaged, and finds its unit in millimetres.

Source: the DXF reference (header variable $INSUNITS); ASTM D6673-10: METRIC (mm) or ENGLISH
(inches) in the style's system text.
"""

from __future__ import annotations

import logging
import os
import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from plotout import Place, UserError
from plotout.kit import looks_like, nearest, open_ordinary, shown

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

MOST_BYTES = 200 * 1024 * 1024
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 9: 0.0254, 10: 914.4, 13: 0.001,
            14: 100.0}  # fmt: skip
ASTM_UNITS = {"METRIC": 1.0, "ENGLISH": 25.4}
_COORDINATE = re.compile(rb"(?<![^\r\n])[ \t]*[1-5]\d[ \t]*(?:\r\n|\n|\r)([^\r\n]*)(?=[\r\n])")
_UNITS_TEXT = re.compile(r"^\s*(?:UNITS\s*:\s*)?(METRIC|ENGLISH)\s*$", re.IGNORECASE)


def load(path: Path) -> tuple[Document, tuple[str, ...]]:
    """Open the file; a damaged one is repaired as far as possible, with a note."""
    with open_ordinary(path, "drawing") as file:
        status = os.fstat(file.fileno())
    if status.st_size > MOST_BYTES:
        raise UserError(
            "the drawing is larger than 200 MiB",
            fix="Keep only the pattern, without its surroundings.",
            place=Place(path),
        )
    if status.st_size == 0:
        raise UserError("the file is empty", fix="Save the drawing again.", place=Place(path))
    return _opened(path, status.st_mtime_ns, status.st_size)


@lru_cache(maxsize=2)
def _opened(path: Path, _changed: int, _size: int) -> tuple[Document, tuple[str, ...]]:
    """Open it once for all the pieces that are in it, as long as it doesn't change."""
    from ezdxf import recover
    from ezdxf.filemanagement import readfile

    logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # its findings are reported here
    try:
        return readfile(path), ()
    except Exception:  # ezdxf raises all kinds of errors for a damaged file: try to repair it
        pass
    data = path.read_bytes()
    _check_numbers(data, path)
    try:
        document, auditor = recover.readfile(path)
    except Exception as fault:
        raise _no_dxf(data, path, f"this is not a DXF that can be read{why(fault)}") from fault
    if not len(document.modelspace()) and not any(map(len, document.blocks)):
        raise _no_dxf(data, path, "nothing in it can be read as DXF")
    found = len(auditor.errors) + len(auditor.fixes)
    return document, (f"the drawing is damaged ({found} faults found); check it",)


def _no_dxf(data: bytes, path: Path, words: str) -> UserError:
    """Return the fault of what is no DXF, by the name of what it is, or else in these words."""
    dwg = data.startswith(b"AC10") and b"\0" in data[:16]  # from memory
    known = "a DWG drawing" if dwg else looks_like(data)
    return UserError(
        f"this is {known}, not a DXF" if known else words,
        fix="Save the drawing again as DXF, in the text form.",
        place=Place(path),
    )


def _check_numbers(data: bytes, path: Path) -> None:
    """Raise UserError for a coordinate that is no number: ezdxf would read 90,5 as 90.

    Source: the DXF reference, group codes 10 to 59: floating-point values.
    """
    for found in _COORDINATE.finditer(data):
        try:
            float(found[1])
        except ValueError:
            line = len(data[: found.start(1)].splitlines()) + 1
            comma = b"," in found[1]
            raise UserError(
                f"{shown(found[1].decode('utf-8', 'replace'))} is not a number",
                fix="Save it with decimal points." if comma else "Save the drawing again as DXF.",
                place=Place(path, line),
            ) from None


def why(fault: Exception) -> str:
    """Return ": " and ezdxf's own words for a fault; "" for those of Python, which help nobody."""
    from ezdxf.lldxf.const import DXFError

    words = str(fault).strip() if isinstance(fault, DXFError) else ""
    return f": {words[:120]}" if words else ""


def millimetres(
    document: Document, path: Path, pick: Mapping[str, Any]
) -> tuple[float, tuple[str, ...]]:
    """Return mm per unit of the drawing, and notes. Raises UserError if it is unknown."""
    if "unit" in pick:
        unit = str(pick["unit"])
        if unit not in UNITS:
            raise UserError(f"'{unit}' is not a unit", fix=nearest(unit, UNITS),
                            place=Place(path))  # fmt: skip
        return UNITS[unit], ()
    said = (text for texts in texts_in(document).values() for text in texts)
    systems = {found[1].upper() for text in said if (found := _UNITS_TEXT.match(text))}
    header = INSUNITS.get(_insunits(document))
    if len(systems) == 1:
        scale = ASTM_UNITS[systems.pop()]
        if header not in (None, scale):
            return scale, (f"by its text a unit is {scale:g} mm, by its header {header:g} mm; "
                           "the text was used",)  # fmt: skip
        return scale, ()
    if header is None or systems:
        raise UserError(
            _no_unit(document, contradicts=bool(systems)),
            fix='Name the unit in the set file: from = { ..., unit = "mm" } (or "in").',
            place=Place(path),
        )
    return header, ()


def _insunits(document: Document) -> int:
    return int(document.header.get("$INSUNITS", 0))


def _no_unit(document: Document, *, contradicts: bool) -> str:
    if contradicts:
        return "its text says METRIC and ENGLISH"
    number = _insunits(document)
    return f"$INSUNITS {number} is no unit of patterns" if number else "its units are not stated"


@lru_cache(maxsize=2)
def texts_in(document: Document) -> dict[str, tuple[str, ...]]:
    """Return the texts in every block by its name; the model is one of them."""
    return {
        block.name: tuple(words(one) for one in block if one.dxftype() in ("TEXT", "MTEXT"))
        for block in document.blocks
    }


def words(entity: Any) -> str:
    """Return the words of a TEXT, MTEXT or ATTRIB."""
    return str(entity.plain_text()).strip()
