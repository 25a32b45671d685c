"""Measures what lines do to the spots on them and beside them: how dark and how torn they are."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from plotout import FloatArray
from plotout_photo.bells import patches

LINE = 0.045  # least darkness of a line
# a torn line: its least darkness, the share of that which is its middle; what share is left there,
# and mm2 of that
TORN = (0.15, 0.6, 0.55, 0.12)
RIM = 1.3  # mm from a hole's centre to its rim's outer edge at most


def line_under(drawn: Any, at: FloatArray, near: float = 0.0) -> FloatArray:
    """Return the darkness of the lines on which spots lie, (n,): the most within `near` pixels.

    A spot beside a line, where that is half as dark or less, is on none.
    """
    way = np.arange(8) * np.pi / 4.0
    around = near * np.column_stack([np.cos(way), np.sin(way)])
    points = at[:, None] + np.vstack([[0.0, 0.0], around])
    value = map_coordinates(drawn, [points[..., 1], points[..., 0]], order=1, mode="nearest")
    most = value.max(axis=1)
    return np.where(value[:, 0] > np.maximum(LINE, most / 2.0), most, 0.0)


def line_beside(drawn: Any, at: FloatArray, near: float) -> NDArray[np.bool_]:
    """Return which spots have a line within `near` pixels, (n,)."""
    way = np.arange(16) * np.pi / 8.0
    ring = np.column_stack([np.cos(way), np.sin(way)])
    points = at[:, None] + np.vstack([[[0.0, 0.0]], near * ring, near / 2.0 * ring])
    value = map_coordinates(drawn, [points[..., 1], points[..., 0]], order=1, mode="nearest")
    return np.asarray(value.max(axis=1) > LINE)


def torn_to(dark: Any, at: FloatArray, line: FloatArray, scale: float) -> FloatArray:
    """Return to how far from places, (n,) pixels, the rim of a hole has torn a line away; 0: not.

    line: patches (n, h, w) of the darkness of the line that passes. The rim is bright as paper.
    """
    reach = line.shape[1] // 2
    most = np.maximum(line.max(axis=(1, 2), initial=0.0), TORN[0])[:, None, None]
    gone = (line > TORN[1] * most) & (patches(dark, at, reach) < TORN[2] * line)
    step = np.arange(-reach, reach + 1.0)
    far = np.hypot(*np.meshgrid(step, step))
    gone &= far < RIM * scale
    count = gone.sum(axis=(1, 2))
    mean = (gone * far).sum(axis=(1, 2)) / np.maximum(count, 1)
    return np.where(count > TORN[3] * scale**2, mean, 0.0)


def grain_beside(patch: FloatArray, line: FloatArray, core: float) -> FloatArray:
    """Return how far what remains of lines varies beside their holes, (n,), one sigma.

    patch: (n, h, w) darkness without the lines; line: theirs; core: pixels that are the hole's.
    """
    reach = patch.shape[1] // 2
    step = np.arange(-reach, reach + 1.0)
    beside = np.hypot(*np.meshgrid(step, step)) > core
    on_it = line > 0.6 * line.max(axis=(1, 2), keepdims=True, initial=0.0)
    left = zip(np.abs(patch), on_it & beside, strict=True)
    return np.array([1.4826 * np.median(off[on]) if on.any() else 1.0 for off, on in left])
