"""Removes drawn lines, such as a pencil line under the pricks, from a picture of darkness.

A hole is short in every direction; a line is long in one. So what remains dark along some straight
of a certain length is a line (an opening by straights; Soille, Morphological Image Analysis, 2003,
chapter 8), also where lines end or meet, as they do at the corners of a piece.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from plotout import FloatArray

STRAIGHT = 3.4  # mm: no hole is as long
LONG = 25.0  # mm: a shorter thing is lettering or a sign, and is judged with its spots
FAINT = 0.06  # least darkness of a line
ANGLES = 16  # directions of the straights
GRAIN = 0.7  # pixels: sigma of the smoothing against grain before lines are sought


def drawn_lines(dark: Any, scale: float) -> Any:
    """Return the darkness of lines, float32 (h, w). dark: 0 as the paper; scale: pixels per mm."""
    level = cv2.convertScaleAbs(np.maximum(dark, np.float32(0.0)), alpha=255.0)
    level = cv2.GaussianBlur(level, (0, 0), GRAIN)
    lines = np.zeros_like(level)
    for angle in np.arange(ANGLES) * np.pi / ANGLES:
        cv2.max(lines, cv2.morphologyEx(level, cv2.MORPH_OPEN, _straight(angle, scale)), lines)
    lines[~_long(lines, scale)] = 0
    return np.multiply(lines, np.float32(1.0 / 255.0), dtype=np.float32)


def _long(lines: Any, scale: float) -> Any:
    """Return where lines are part of something long, bool (h, w): not lettering, nor a dot.

    Worked out on every other pixel, each the darkest of those around it.
    """
    height, width = lines.shape
    coarse = cv2.dilate(lines, np.ones((3, 3), np.uint8))[::2, ::2]
    _, label, size, _ = cv2.connectedComponentsWithStats((coarse > FAINT * 255.0).astype(np.uint8))
    wide, tall = 2 * size[:, cv2.CC_STAT_WIDTH], 2 * size[:, cv2.CC_STAT_HEIGHT]
    kept = (np.hypot(wide, tall) > LONG * scale).astype(np.uint8)
    kept[0] = 0
    near = cv2.dilate(kept[label], np.ones((3, 3), np.uint8))
    return np.repeat(np.repeat(near, 2, axis=0), 2, axis=1)[:height, :width] > 0


def _straight(angle: float, scale: float) -> Any:
    """Return a straight through the centre of a square of pixels, uint8."""
    side = int(np.ceil(STRAIGHT * scale)) | 1
    square = np.zeros((side, side), np.uint8)
    half = (side - 1) / 2.0
    reach = half * np.array([np.cos(angle), np.sin(angle)])
    ends = np.round(half + np.array([-reach, reach])).astype(int)
    cv2.line(square, tuple(ends[0].tolist()), tuple(ends[1].tolist()), 1)
    return square


def without(dark: Any, lines: Any) -> Any:
    """Return the darkness that remains without lines: a hole darkens what a line left bright."""
    made = dark.copy()
    drawn = lines > 0.0
    line = lines[drawn]
    made[drawn] = (dark[drawn] - line) / (1.0 - np.minimum(line, 0.9))
    return made


def line_through(
    dark: Any, drawn: Any, at: FloatArray, core: float, reach: int
) -> tuple[Any, NDArray[np.bool_]]:
    """Return patches (n, h, w) of the lines that pass places (n, 2) on both sides, and which do.

    core: pixels around a place that belong to its hole. The darkness across the line is the median
    along it, beside the hole, which is more accurate than what `drawn_lines` makes of it.
    """
    far = np.arange(np.ceil(core), reach + 1.0)
    best, chosen = np.full(len(at), -1.0), np.zeros(len(at))
    for angle in np.arange(2 * ANGLES) * np.pi / (2 * ANGLES):
        direction = np.array([np.cos(angle), np.sin(angle)])
        side = np.array([-direction[1], direction[0]])
        for shift in (-1.5, 0.0, 1.5):
            arms = []
            for sign in (1.0, -1.0):
                points = at[:, None, :] + sign * far[None, :, None] * direction + shift * side
                arms.append(np.median(_nearest(drawn, points), axis=1))
            weaker = np.minimum(*arms)
            better = weaker > best
            best[better], chosen[better] = weaker[better], angle
    along = np.concatenate([-far[::-1], far])
    course = _course(drawn, at, chosen, along, core)
    wide = 1.5 * reach
    across = np.arange(-np.ceil(wide), np.ceil(wide) + 0.5, 0.5)
    points = _beside(at, chosen, along, course, across)
    profile = np.clip(np.median(_sampled(dark, points), axis=2), -0.5, 0.9)
    step = np.arange(-reach, reach + 1.0)
    x, y = np.meshgrid(step, step)
    cos, sin = np.cos(chosen)[:, None, None], np.sin(chosen)[:, None, None]
    side = cos * y - sin * x - _at(course, cos * x + sin * y)
    off = np.clip((side - across[0]) / 0.5, 0.0, len(across) - 1.001)
    low = np.floor(off).astype(int)
    rows = np.arange(len(at))[:, None, None]
    share = off - low
    made = profile[rows, low] * (1 - share) + profile[rows, low + 1] * share
    return made.astype(np.float32), best > FAINT


def _course(
    drawn: Any, at: FloatArray, angle: FloatArray, along: FloatArray, core: float
) -> FloatArray:
    """Return how far to the left of a direction lines pass, (n, 3): a parabola by way along it."""
    across = np.arange(-np.ceil(core), np.ceil(core) + 0.5, 0.5)
    course = np.zeros((len(at), 3))
    for _ in range(2):
        dark = np.maximum(_sampled(drawn, _beside(at, angle, along, course, across)), 0.0) ** 2
        total = dark.sum(axis=1)
        off = np.einsum("nvu,v->nu", dark, across) / np.maximum(total, 1e-9)
        rows = np.vander(along / along[-1], 3)
        normal = np.einsum("nu,ui,uj->nij", total, rows, rows) + 1e-6 * np.eye(3)
        right = np.einsum("nu,ui,nu->ni", total, rows, off)
        course += np.linalg.solve(normal, right[..., None])[..., 0] / along[-1] ** np.arange(
            2, -1, -1
        )
    return course


def _at(course: FloatArray, along: FloatArray) -> FloatArray:
    """Return how far to the left lines, (n, 3), are at ways along them, (n, ...)."""
    by_square, by_way, shift = (part[:, None, None] for part in course.T)
    return np.asarray((by_square * along + by_way) * along + shift)


def _beside(
    at: FloatArray, angle: FloatArray, along: FloatArray, course: FloatArray, across: FloatArray
) -> FloatArray:
    """Return places along lines and beside them, (n, across, along, 2) pixels."""
    u, v = np.meshgrid(along, across)
    cos, sin = np.cos(angle)[:, None, None], np.sin(angle)[:, None, None]
    v = v + _at(course, np.broadcast_to(u, (len(at), *u.shape)))
    return np.asarray(at[:, None, None] + np.stack([cos * u - sin * v, sin * u + cos * v], axis=3))


def _nearest(picture: Any, points: FloatArray) -> FloatArray:
    """Return the picture's values at the pixels nearest to points, (..., 2)."""
    column, row = np.moveaxis(np.rint(points).astype(np.int32), -1, 0)
    height, width = picture.shape
    return np.asarray(picture[row.clip(0, height - 1), column.clip(0, width - 1)])


def _sampled(picture: Any, points: FloatArray) -> FloatArray:
    return np.asarray(
        map_coordinates(
            picture, [points[..., 1], points[..., 0]], order=1, mode="nearest", output=np.float32
        )
    )
