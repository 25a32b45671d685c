"""SVG transforms as (2, 3) affine maps (SVG 1.1, chapter 7)."""

from __future__ import annotations

import re

import numpy as np

from plotout import FloatArray, UserError

IDENTITY: FloatArray = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
_CALL = re.compile(r"(\w+)\s*\(([^)]*)\)")


def mapped(outer: FloatArray, inner: FloatArray) -> FloatArray:
    """Return the map that does `inner` first, then `outer`."""
    linear = outer[:, :2] @ inner[:, :2]
    return np.column_stack([linear, outer[:, :2] @ inner[:, 2] + outer[:, 2]])


def matrix_of(text: str) -> FloatArray:
    """Return the map that a `transform` attribute means. Raises UserError."""
    matrix = IDENTITY
    for name, inside in _CALL.findall(text):
        try:
            values = [float(v) for v in re.split(r"[\s,]+", inside.strip()) if v]
            matrix = mapped(matrix, _one(name, values))
        except (ValueError, IndexError) as fault:
            raise UserError(f"transform '{name}({inside})' can't be read") from fault
    return matrix


def _one(name: str, values: list[float]) -> FloatArray:
    if name == "matrix":
        a, b, c, d, e, f = values
        return np.array([[a, c, e], [b, d, f]])
    if name == "translate":
        return np.array([[1, 0, values[0]], [0, 1, values[1] if len(values) > 1 else 0.0]])
    if name == "scale":
        return np.array([[values[0], 0, 0], [0, values[-1], 0]])
    if name in ("skewX", "skewY"):
        tangent = np.tan(np.radians(values[0]))
        across, up = (tangent, 0.0) if name == "skewX" else (0.0, tangent)
        return np.array([[1, across, 0], [up, 1, 0]])
    if name == "rotate":
        return _turned(*values)
    raise ValueError(name)


def _turned(degrees: float, x: float = 0.0, y: float = 0.0) -> FloatArray:
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[cos, -sin, x - cos * x + sin * y], [sin, cos, y - sin * x - cos * y]])
