"""The transform attribute. Source: W3C SVG 1.1 (second edition), 7.4 to 7.6."""

from __future__ import annotations

import re

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout_svg.page import numbers

_CALL = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)\s*")
_COUNTS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3),
           "skewX": (1,), "skewY": (1,)}  # fmt: skip
SAME = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


def after(outer: FloatArray, inner: FloatArray) -> FloatArray:
    """Return the (2, 3) map that does `inner` first, then `outer`."""
    with np.errstate(all="ignore"):  # what leads beyond all bounds is told by the walk
        turned = outer[:, :2] @ inner
        turned[:, 2] += outer[:, 2]
    return np.asarray(turned)


def transform(text: str | None, place: Place) -> FloatArray:
    """Return a transform list as a (2, 3) map. Raises UserError where it can't be read."""
    whole, at = SAME, 0
    text = (text or "").strip()
    while at < len(text):
        found = _CALL.match(text, at)
        values = numbers(found[2], place) if found else []
        if not found or len(values) not in _COUNTS.get(found[1], ()):
            raise UserError(
                f"transform '{text[at : at + 40]}' can't be read",
                fix="Apply the transform in the program that drew it, and save again.",
                place=place,
            )
        whole, at = after(whole, _single(found[1], values)), found.end()
    return whole


def _single(name: str, values: list[float]) -> FloatArray:
    if name == "matrix":
        return np.array(values).reshape(3, 2).T
    if name == "translate":
        return np.array([[1.0, 0.0, values[0]], [0.0, 1.0, values[1] if len(values) > 1 else 0.0]])
    if name == "scale":
        return np.array([[values[0], 0.0, 0.0], [0.0, values[-1], 0.0]])
    turn = np.radians(values[0])
    if name == "skewX":
        return np.array([[1.0, np.tan(turn), 0.0], [0.0, 1.0, 0.0]])
    if name == "skewY":
        return np.array([[1.0, 0.0, 0.0], [np.tan(turn), 1.0, 0.0]])
    cos, sin = np.cos(turn), np.sin(turn)
    x, y = values[1:] if len(values) == 3 else (0.0, 0.0)
    return np.array([[cos, -sin, x - cos * x + sin * y], [sin, cos, y - sin * x - cos * y]])
