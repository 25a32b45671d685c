"""Sees letters: the ends of their strokes, full stops and dots look like pricks.

On a printed sheet they can't be told from pricks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from plotout import FloatArray

INK = 0.25  # least darkness of a letter
NOISES = 5.0  # and in multiples of the noise around it
LETTER = (2.2, 12.0)  # mm across or up: a hole or a dot is smaller, a line longer
LARGE = 5.0  # mm: stabs of a corner that touch reach no farther
NARROW = 0.25  # its shorter axis, in longer ones: less is a piece of a line
FILLED = 0.85  # share of its box that a letter may fill
ROUND, FULL = 0.85, 0.95  # shorter axis, and share of its ellipse that ink fills: a dot, no letter
MANY = 60  # letters from which a sheet is a printed one: fewer are written by hand
AROUND, NEIGHBOURS = 9.0, 3  # mm to so many letters within which a spot is among them
BESIDE = 6  # pixels beside a letter, where
STEP, TILE = 4, 16  # noise is measured at every fourth pixel, in tiles of so many by so many
GOES_ON = 0.6  # a line is as dark as this share of it, if it is a piece of that line
ON = np.array([(x, y) for x in (-2, 0, 2) for y in (-2, 0, 2)])  # pixels beside a spot


@dataclass(frozen=True, slots=True, eq=False)
class Letters:
    """Letters and signs. at: (n, 2) pixels; long: (n,) mm; label: image of the numbers of all that
    is dark; number: by those, k + 1 for letter k, 0 for others; scale: pixels per mm.
    """

    at: FloatArray
    long: FloatArray
    label: Any
    number: NDArray[np.intp]
    scale: float

    @property
    def many(self) -> bool:
        """Whether the sheet is a printed one."""
        return len(self.at) >= MANY

    def among(self, at: FloatArray) -> NDArray[np.bool_]:
        """Return which spots, (n, 2) pixels, are parts of letters, (n,).

        On a printed sheet, all that are among letters. Else those on a letter that is too large for
        stabs which touch each other, or that is one of several beside each other.
        """
        made = np.zeros(len(at), dtype=bool)
        if not len(self.at) or not len(at):
            return made
        tree, near = cKDTree(self.at), AROUND * self.scale
        if self.many:
            return np.asarray(tree.query(at, k=NEIGHBOURS)[0][:, -1] < near)
        beside = np.array([len(found) for found in tree.query_ball_point(self.at, near)])
        word = (self.long > LARGE) | (beside >= NEIGHBOURS)
        column, row = np.moveaxis(np.rint(at[:, None]).astype(int) + ON, -1, 0)
        height, width = self.label.shape
        on = self.number[self.label[row.clip(0, height - 1), column.clip(0, width - 1)]].max(axis=1)
        return np.asarray((on > 0) & np.concatenate([[False], word])[on])


def letters(dark: Any, drawn: Any, inside: Any, scale: float) -> Letters:
    """Return the letters and signs of a picture.

    dark: the picture's darkness; drawn: that of long lines; inside: uint8, 0 where none are sought;
    scale: pixels per mm.
    """
    ink = cv2.bitwise_and((dark > np.maximum(INK, NOISES * _noise(dark))).astype(np.uint8), inside)
    count, label, box, middle = cv2.connectedComponentsWithStats(ink)
    wide, tall = box[:, cv2.CC_STAT_WIDTH], box[:, cv2.CC_STAT_HEIGHT]
    area = box[:, cv2.CC_STAT_AREA]
    long = np.maximum(wide, tall) / scale
    seen = (long > LETTER[0]) & (long < LETTER[1]) & (area < FILLED * wide * tall)
    seen[0] = False
    narrow, full = _shapes(label, count, middle)
    seen &= (narrow > NARROW) & ~((narrow > ROUND) & (full > FULL))
    letter = seen.copy()
    for k in np.flatnonzero(seen):
        x, y, across, up = box[k, :4].tolist()
        part = np.s_[max(y - BESIDE, 0) : y + up + BESIDE, max(x - BESIDE, 0) : x + across + BESIDE]
        own = float(np.median(dark[part][label[part] == k]))
        blurred = cv2.dilate(letter[label[part]].astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
        others = np.where(blurred, 0.0, drawn[part])
        goes_on = float(others.max())
        seen[k] = goes_on < GOES_ON * own
        if seen[k] and goes_on > 0.0:  # a line joins what lies on it
            long[k] = _longest((label[part] == k) & (dark[part] > goes_on / GOES_ON)) / scale
            seen[k] = long[k] > LETTER[0]
    number = np.where(seen, np.cumsum(seen), 0)
    return Letters(np.asarray(middle[seen]), long[seen], label, number, scale)


def _longest(ink: Any) -> int:
    """Return the pixels across or up of the largest of what is joined in a picture."""
    _, _, box, _ = cv2.connectedComponentsWithStats(ink.astype(np.uint8))
    return int(box[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(initial=0))


def _noise(dark: Any) -> Any:
    """Return the noise of darkness around every pixel: great on a dark table. float32 (h, w)."""
    height, width = dark.shape
    part = np.abs(dark[::STEP, ::STEP])
    tall, wide = (side // TILE for side in part.shape)
    tiles = part[: tall * TILE, : wide * TILE].reshape(tall, TILE, wide, TILE)
    rough = 1.4826 * np.median(tiles.transpose(0, 2, 1, 3).reshape(tall, wide, -1), axis=2)
    return cv2.resize(rough.astype(np.float32), (width, height), interpolation=cv2.INTER_NEAREST)


def _shapes(label: Any, count: int, middle: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return of what is labelled its shorter over its longer axis, (count,), and the share that it
    fills of the ellipse that has the same second moments: 1 is a disc.
    """
    row, column = np.nonzero(label)
    of = label[row, column]
    x, y = column - middle[of, 0], row - middle[of, 1]
    area = np.maximum(np.bincount(of, minlength=count), 1)
    xx, xy, yy = (np.bincount(of, product, count) / area for product in (x * x, x * y, y * y))
    half, part = (xx + yy) / 2.0, np.hypot((xx - yy) / 2.0, xy)
    least, most = np.maximum(half - part, 0.0), np.maximum(half + part, 1e-9)
    ellipse = 4.0 * np.pi * np.sqrt(least * most)  # a full ellipse has a quarter axis squared each
    return np.sqrt(least / most), np.asarray(area / np.maximum(ellipse, 1e-9))
