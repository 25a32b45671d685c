"""Removes drawn lines, such as a pencil line under the pricks, from a picture of darkness.

A hole is short in every direction; a line is long in one. So what remains dark along some straight
of a certain length is a line (an opening by straights; Soille, Morphological Image Analysis, 2003,
chapter 8), also where lines end or meet, as they do at the corners of a piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from plotout import FloatArray

STRAIGHT = 3.4  # mm: no hole is as long
LONG = 25.0  # mm: a shorter thing is a letter or a sign
PIECE = 16.0  # mm of a line that goes on without turning at once; strokes are shorter
FAINT = 0.06  # least darkness of a line
MAIN = 0.8  # share of the greatest darkness along any straight, from which a straight is a line
GOES_ON = 12.0  # mm that a long line is straight for, at least roughly; strokes of letters are not
COARSE = 3  # long lines are sought at every third pixel
MOST_SHORT = 65535  # rows' runs: they are no more things than labels of 16 bits
NEAR = np.ones((3, 3), np.uint8)
DARKER = 2.5  # times as dark as along all of such a straight: a line's darkest
TILE = 64  # coarse pixels, along a side, of the parts in which lines are looked at
BAND = 256  # rows of a picture worked on at a time, where that spares one of its size
ANGLES, FINE = 16, 24  # directions of straights, and of the long ones
GRAIN = 0.7  # pixels: sigma of the smoothing against grain before lines are sought


def drawn_lines(dark: Any, scale: float) -> Any:
    """Return the darkness of lines, float32 (h, w). dark: 0 as the paper; scale: pixels per mm."""
    level = smoothed(dark)
    lines = np.zeros_like(level)
    side, margin = COARSE * TILE, int(np.ceil(STRAIGHT * scale)) + 1
    long = _long(level, scale)
    for angle, most in enumerate(cv2.dilate(line, NEAR) for line in long):
        straight = _straight(angle, STRAIGHT * scale, FINE)
        for row, column in _tiles(most):
            y, x = COARSE * row, COARSE * column
            top, left = max(y - margin, 0), max(x - margin, 0)
            around = level[top : y + side + margin, left : x + side + margin]
            along = cv2.morphologyEx(around, cv2.MORPH_OPEN, straight)[y - top :, x - left :]
            bound = cv2.resize(most[row : row + TILE, column : column + TILE], None, fx=COARSE,
                               fy=COARSE, interpolation=cv2.INTER_NEAREST)  # fmt: skip
            here = lines[y : y + side, x : x + side]
            tall, wide = here.shape
            cv2.max(here, cv2.min(along[:tall, :wide], bound[:tall, :wide]), here)
    _keep_joined(lines, np.maximum.reduce(long))
    return np.multiply(lines, np.float32(1.0 / 255.0), dtype=np.float32)


def _keep_joined(lines: Any, long: Any) -> None:
    """Take off lines, uint8 (h, w), what isn't joined to a long one: a stroke that goes beside it.

    long: not 0 where long ones are, at every third pixel.
    """
    label, box, _ = labelled(cv2.threshold(lines, FAINT * 255.0, 1.0, cv2.THRESH_BINARY)[1])
    row, column = (COARSE * at for at in np.nonzero(long))
    joined = np.zeros(len(box), dtype=bool)
    for down, right in np.ndindex(COARSE, COARSE):
        y, x = (row + down).clip(max=len(lines) - 1), (column + right).clip(max=lines.shape[1] - 1)
        joined[label[y, x]] = True
    for k in np.flatnonzero(~joined[1:]) + 1:
        x, y, wide, tall = box[k, :4].tolist()
        part = np.s_[max(y - 1, 0) : y + tall + 1, max(x - 1, 0) : x + wide + 1]
        lines[part][cv2.dilate((label[part] == k).astype(np.uint8), NEAR) > 0] = 0


def _tiles(picture: Any) -> list[tuple[int, int]]:
    """Return the first row and column of the tiles in which a picture is not 0."""
    height, width = picture.shape
    full = np.zeros((-(-height // TILE) * TILE, -(-width // TILE) * TILE), np.uint8)
    full[:height, :width] = picture
    some = full.reshape(full.shape[0] // TILE, TILE, -1, TILE).any(axis=(1, 3))
    return [(TILE * row, TILE * column) for row, column in np.argwhere(some).tolist()]


def smoothed(dark: Any) -> Any:
    """Return darkness in 255 steps, without its grain, uint8 (h, w)."""
    level = np.empty(dark.shape, np.uint8)
    for row in range(0, len(dark), BAND):
        clear = np.maximum(dark[row : row + BAND], np.float32(0.0))
        level[row : row + BAND] = cv2.convertScaleAbs(clear, alpha=255.0)
    return cv2.GaussianBlur(level, (0, 0), GRAIN)


def opened(level: Any, length: float) -> Any:
    """Return what is dark along some straight of a length in pixels, uint8 (h, w)."""
    lines = np.zeros_like(level)
    for angle in range(ANGLES):
        cv2.max(lines, cv2.morphologyEx(level, cv2.MORPH_OPEN, _straight(angle, length)), lines)
    return lines


def _long(level: Any, scale: float) -> list[Any]:
    """Return how dark something long can be that passes in each direction, uint8 (h, w).

    A line may bend, but it goes straight on for longer than a letter's stroke, and does not turn
    at once, except where two meet at a corner. So a letter that touches it is no part of it. Worked
    out on every third pixel, each the darkest of those around it, and given so.
    """
    small = np.ascontiguousarray(cv2.dilate(level, NEAR)[::COARSE, ::COARSE])
    straights = [_straight(angle, GOES_ON * scale / COARSE, FINE) for angle in range(FINE)]
    along = [cv2.morphologyEx(small, cv2.MORPH_OPEN, straight) for straight in straights]
    most = cv2.convertScaleAbs(np.maximum.reduce(along), alpha=MAIN)
    np.maximum(most, np.uint8(FAINT * 255.0), out=most)
    parts = [cv2.compare(each, most, cv2.CMP_GT) for each in along]
    pieces = _pieces(parts, PIECE * scale / COARSE)
    label, size, _ = labelled(np.maximum.reduce(pieces))
    wide, tall = size[:, cv2.CC_STAT_WIDTH], size[:, cv2.CC_STAT_HEIGHT]
    long = (np.hypot(wide, tall) > LONG * scale / COARSE).astype(np.uint8)[label]
    lines = [cv2.bitwise_and(each, each, mask=cv2.bitwise_and(piece, long))
             for each, piece in zip(along, pieces, strict=True)]  # fmt: skip
    return [cv2.convertScaleAbs(line, alpha=DARKER) for line in lines]


def labelled(picture: Any) -> tuple[Any, Any, Any]:
    """Return the labels of what is joined in a picture, uint8 (h, w), its boxes and middles."""
    starts = cv2.countNonZero(picture[:, :1].copy())
    starts += cv2.countNonZero(cv2.subtract(picture[:, 1:], picture[:, :-1]))
    kind = cv2.CV_16U if starts < MOST_SHORT else cv2.CV_32S  # half of the time
    return cv2.connectedComponentsWithStats(picture, ltype=kind)[1:]


def _pieces(parts: Sequence[Any], length: float) -> list[Any]:
    """Return of what is dark along each direction, uint8 (h, w), what goes on for so many pixels in
    that direction and those next to it.
    """
    pixels, labels, boxes, first = list[Any](), list[Any](), list[Any](), 0
    for part in parts:
        pixels.append(np.flatnonzero(part > 0))
        label, box, _ = labelled(part)
        own = label.ravel()[pixels[-1]].astype(np.int32)
        labels.append(own + (first - 1))  # the first is what is none
        boxes.append(box[1:, :4])
        first += len(box) - 1
    links = [np.empty((0, 2), dtype=np.intp)]
    for angle, (at, own) in enumerate(zip(pixels, labels, strict=True)):
        after = (angle + 1) % len(parts)
        both = parts[after].ravel()[at] > 0
        other = labels[after][np.searchsorted(pixels[after], at[both])]
        links.append(np.column_stack([own[both], other]))
    pairs = np.vstack(links)
    joined = coo_array((np.ones(len(pairs)), pairs.T), (first, first))
    count, line = connected_components(joined, directed=False)
    box = np.vstack(boxes).astype(np.float64)
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    np.minimum.at(low, line, box[:, :2])
    np.maximum.at(high, line, box[:, :2] + box[:, 2:])
    kept = (np.hypot(*(high - low).T) > length).astype(np.uint8)[line]
    made = [np.zeros_like(part) for part in parts]
    for piece, at, own in zip(made, pixels, labels, strict=True):
        piece.ravel()[at] = kept[own]
    return made


def _straight(nth: int, length: float, of: int = ANGLES) -> Any:
    """Return a straight through the centre of a square of pixels, uint8: the nth direction of so
    many.
    """
    side = int(np.ceil(length)) | 1
    square = np.zeros((side, side), np.uint8)
    half, angle = (side - 1) / 2.0, nth * np.pi / of
    reach = half * np.array([np.cos(angle), np.sin(angle)])
    ends = np.round(half + np.array([-reach, reach])).astype(int)
    cv2.line(square, tuple(ends[0].tolist()), tuple(ends[1].tolist()), 1)
    return square


def without(dark: Any, lines: Any, made: Any = None) -> Any:
    """Return the darkness that remains without lines: a hole darkens what a line left bright.

    lines: their darkness, float32 (h, w), or in 255 steps, uint8. made: where to write what
    remains, if not to a new picture; it may be `dark` itself.
    """
    made = dark.copy() if made is None else made
    drawn = np.flatnonzero(lines > 0)
    line = in_full(lines.ravel()[drawn])
    made.ravel()[drawn] = (dark.ravel()[drawn] - line) / (1.0 - np.minimum(line, 0.9))
    return made


def in_full(level: Any) -> Any:
    """Return darkness that may be in 255 steps, uint8, as float32: 1 is black."""
    return level * np.float32(1.0 / 255.0) if level.dtype == np.uint8 else level


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
