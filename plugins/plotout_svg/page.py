"""Finds an SVG page's coordinates in millimetres.

Source: W3C SVG 1.1 (second edition), 7.7 to 7.10 (viewBox, preserveAspectRatio, units);
CSS Values 3, 5.2: 1 in = 96 px = 72 pt = 6 pc = 25.4 mm = 101.6 Q.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout.kit import nearest, shown

MM = {
    "px": 25.4 / 96,
    "in": 25.4,
    "cm": 10.0,
    "mm": 1.0,
    "Q": 0.25,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
}
FARTHEST = 1e6  # mm
SMALLEST = 1e-6  # side of a viewBox
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_HOLE = re.compile(r",\s*,")  # renderers leave out what holds one
_FIT = re.compile(r"\s*(?:none|x(Min|Mid|Max)Y(Min|Mid|Max))(?:\s+(?:meet|(slice)))?\s*")
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z%]*)\s*$")


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


def scale(
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


def port_of(root: ET.Element, place: Place) -> tuple[float | None, float | None]:
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
