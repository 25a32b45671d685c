"""Sees what is written beside pricks, and takes its strokes off: a hole under one or beside one is
then measured as any other.

A stroke is thin in one direction and goes on in another. No hole does, nor do stabs that touch: it
is less dark between them. What is left then of writing are its dots, and the ends of its smallest
strokes: they lie near it and are no darker. By their looks they may as well be holes. On a printed
sheet they can't be told from holes at all.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.holes import Holes
from plotout_photo.lines import labelled, opened, smoothed
from plotout_photo.touching import LARGEST, are_stabs, usual_hole

PEN, NOISES = 0.15, 5.0  # least darkness of writing, and in multiples of the noise around it
STEP, TILE = 4, 16  # noise is measured at every fourth pixel, in tiles of so many by so many
STRAIGHT = 1.8  # mm: a stroke is straight for so long, at least roughly
GOES_ON = 0.75  # share of the darkness that is a stroke's
LONG, LONGEST = 2.0, 80.0  # mm across or up of writing
SOME = 0.8  # mm2 of strokes in what may be written
LARGE = 5.0  # mm: stabs of a corner that touch reach no farther
STROKES = 1.3  # mm2 of strokes in what is written for certain, if it is as large
# else the least share that strokes have of where it is darkest, as stabs are holes there; and less,
# if there are so many mm2 of them
SHARE, DARKEST, LESS, MUCH = 0.3, 0.6, 0.1, 2.6
DOT, THICK = 3.8, 0.85  # mm of a printed dot with a hole, and from its middle to its edge
FILLS = 0.86  # least share of what is spanned by it that a dot fills, with its hole
ALIKE, FEWEST = 1.3, 12  # times as dark as usual dots is none, if there are so many
OF_LINE = 2.0  # times as dark with long lines: it is what is left of one
LINED, ON_LINE = 0.03, 0.8  # least darkness of a line; share of strokes on it that are its own
BESIDE = 0.5  # mm beside what is dark that are still a stroke's edge
ON_IT, NEAR = 0.35, 4.5  # mm to a stroke from what is on it, and from its dots
LEFT = (0.8, 1.1)  # times the darkness of strokes: what they leave themselves is less, a hole more
DARKER, PERHAPS = (
    1.45,
    0.45,
)  # times, from which it is no dot; greatest certainty of what may be one
INK, LETTER = 0.25, (2.2, 12.0)  # least darkness of a letter; mm across or up
NARROW, FILLED = (
    0.25,
    0.85,
)  # its least shorter axis, in longer ones; share of its box that it fills
ROUND, FULL = 0.85, 0.95  # shorter axis, and share of its ellipse that ink fills: a dot, no letter
AROUND, NEIGHBOURS = 9.0, 3  # mm to so many letters within which they are a word
MANY = 120  # letters that make a printed sheet


@dataclass(frozen=True, slots=True, eq=False)
class Writing:
    """What is written in a picture. strokes: its darkness in 255 steps, uint8 (h, w).

    words: uint8 (h, w), not 0 where strokes are no remains of a line that was taken off.
    at: (n, 2) pixels on what is or may be written; ink: (n,) the darkness of its strokes; letters:
    (k, 2) pixels, the middles of letters and signs; scale: pixels per mm.
    """

    strokes: Any
    words: Any
    at: FloatArray
    ink: FloatArray
    letters: FloatArray
    scale: float

    @property
    def printed(self) -> bool:
        """Whether the sheet is a printed one."""
        return len(self.letters) >= MANY

    def in_print(self, at: FloatArray) -> NDArray[np.bool_]:
        """Return which spots, (n, 2) pixels, are among the letters of a printed sheet, (n,)."""
        if not self.printed or not len(at):
            return np.zeros(len(at), dtype=bool)
        gap = cKDTree(self.letters).query(at, k=NEIGHBOURS)[0]
        return np.asarray(gap[:, -1] < AROUND * self.scale)

    def on(self, at: FloatArray) -> NDArray[np.bool_]:
        """Return which spots, (n, 2) pixels, lie on strokes, (n,)."""
        if not len(self.at):
            return np.zeros(len(at), dtype=bool)
        return np.asarray(cKDTree(self.at).query(at)[0] < ON_IT * self.scale)

    def certainty(self, holes: Holes) -> FloatArray:
        """Return the certainty that spots are no parts of writing, (n,), 0 to 1."""
        if not len(self.at):
            return np.ones(len(holes))
        gap, which = cKDTree(self.at).query(holes.at)
        on, near = gap < ON_IT * self.scale, gap < NEAR * self.scale
        darker = holes.depth / self.ink[which]
        left = np.where(on, np.clip((darker - LEFT[0]) / (LEFT[1] - LEFT[0]), 0.0, 1.0), 1.0)
        return np.asarray(left * np.where(near & (darker < DARKER), PERHAPS, 1.0))


def writing(
    pictures: tuple[Any, Any, Any], inside: Any, scale: float, blur: float
) -> Writing:  # fmt: skip
    """Return what is written in a picture.

    pictures: its darkness, that without long lines, and that of those lines; inside: uint8, 0 where
    none is sought; scale: pixels per mm; blur: the picture's, as a sigma in pixels.
    """
    dark, clean, _ = pictures
    ink = cv2.bitwise_and(_ink(dark, clean), inside)
    label, box, middle = labelled(ink)
    hole = usual_hole(clean, box, middle, scale)
    long = box[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1) / scale
    long[0] = 0.0
    letters, home = _letters(cv2.bitwise_and(ink, (clean > INK).astype(np.uint8)), scale)
    word = np.zeros(len(box), dtype=bool)
    if len(letters):
        beside = cKDTree(letters).query_ball_point(letters, AROUND * scale, return_length=True)
        word[label.ravel()[home[beside >= NEIGHBOURS]]] = True
    strokes, words = np.zeros((2, *clean.shape), np.uint8)
    at, own = [np.empty((0, 2))], [np.empty(0)]
    margin = int(np.ceil(STRAIGHT * scale))
    edge = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * round(BESIDE * scale) + 1,) * 2)
    printed = _printed_dots(clean, label, box, scale)
    for k in np.flatnonzero((long > LONG) & (long < LONGEST) & ~printed):
        x, y, across, up = box[k, :4].tolist()
        low = max(x - margin, 0), max(y - margin, 0)
        part = np.s_[low[1] : y + up + margin, low[0] : x + across + margin]
        mine = label[part] == k
        if np.median(dark[part][mine]) > OF_LINE * np.median(clean[part][mine]):
            continue
        level = smoothed(clean[part])
        straight = opened(level, STRAIGHT * scale)
        stroke = mine & (straight > GOES_ON * level)
        size = stroke.sum() / scale**2
        if size < SOME and not word[k]:
            continue
        core = mine & (level > DARKEST * np.quantile(level[mine], 0.97))
        share = (stroke & core).sum() / core.sum()
        written = word[k] or share > (LESS if size > MUCH else SHARE)
        if long[k] > LARGE:
            written = size > STROKES
        touching = written and not word[k] and size < LARGEST
        if touching and are_stabs(pictures, part, mine, hole, scale, blur):
            continue
        if written:
            around = cv2.dilate(mine.astype(np.uint8), edge) > 0
            strokes[part] = np.maximum(strokes[part], np.where(around, straight, 0))
            lined = dark[part][stroke] - clean[part][stroke] > LINED
            if not lined.size or lined.mean() < ON_LINE:
                words[part][around & (straight > 0)] = 1
        ink_of = stroke if stroke.any() else mine
        row, column = np.nonzero(mine)
        at.append(np.column_stack([column, row]).astype(np.float64) + low)
        own.append(np.full(len(row), np.quantile((dark if written else clean)[part][ink_of], 0.8)))
    return Writing(strokes, words, np.vstack(at), np.concatenate(own), letters, scale)


def _printed_dots(clean: Any, label: Any, box: Any, scale: float) -> NDArray[np.bool_]:
    """Return which things are dots of dotted paper, perhaps with a hole beside them, (n,).

    clean: darkness without lines; label, box: of what is joined in it. They are as dark as one
    another, if there are some, and have no arms, as a small cross has.
    """
    long = box[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1) / scale
    which, dark = list[int](), list[float]()
    for k in np.flatnonzero((long > 2.0 * THICK) & (long < DOT)) + 1:
        x, y, across, up = box[k, :4].tolist()
        part = np.s_[y : y + up, x : x + across]
        mine, own = label[part] == k, clean[part]
        if _half_width(mine) > THICK * scale and _without_arms(mine & (own > _middling(own[mine]))):
            which.append(int(k))
            dark.append(float(np.median(own[mine])))
    usual = np.median(dark) if len(dark) >= FEWEST else np.inf
    made = np.zeros(len(box), dtype=bool)
    made[[k for k, own in zip(which, dark, strict=True) if own < ALIKE * usual]] = True
    return made


def _middling(dark: FloatArray) -> float:
    return 0.5 * float(np.quantile(dark, 0.97))


def _without_arms(mine: NDArray[np.bool_]) -> bool:
    """Return whether the largest thing fills most of what is spanned by it."""
    outlines = cv2.findContours(mine.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0]
    spanned = np.zeros(mine.shape, np.uint8)
    cv2.fillConvexPoly(spanned, cv2.convexHull(max(outlines, key=len)), 1)
    return bool(mine.sum() > FILLS * spanned.sum())


def _half_width(mine: NDArray[np.bool_]) -> float:
    """Return the greatest distance from within what is joined to its edge, pixels."""
    framed = np.pad(mine, 1).astype(np.uint8)
    return float(cv2.distanceTransform(framed, cv2.DIST_L2, 3).max())


def _letters(ink: Any, scale: float) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the middles of letters and signs, (n, 2) pixels, and for each one of its pixels, (n,),
    counted row by row.
    """
    label, box, middle = labelled(ink)
    pixel = np.flatnonzero(ink > 0)
    of = label.ravel()[pixel]
    row, column = np.divmod(pixel, label.shape[1])
    _, _, wide, tall, area = box.T.astype(np.float64)
    long = np.maximum(wide, tall) / scale
    seen = (long > LETTER[0]) & (long < LETTER[1]) & (area < FILLED * wide * tall)
    x, y = column - middle[of, 0], row - middle[of, 1]
    xx, xy, yy = (np.bincount(of, one, len(box)) / area for one in (x * x, x * y, y * y))
    half, part = (xx + yy) / 2.0, np.hypot((xx - yy) / 2.0, xy)
    least, most = np.maximum(half - part, 0.0), np.maximum(half + part, 1e-9)
    ellipse = 4.0 * np.pi * np.sqrt(least * most)  # a full ellipse has a quarter axis squared each
    narrow, full = np.sqrt(least / most), area / np.maximum(ellipse, 1e-9)
    seen &= (narrow > NARROW) & ~((narrow > ROUND) & (full > FULL))
    first = np.zeros(len(box), dtype=np.intp)
    first[of] = pixel
    kept = np.flatnonzero(seen[1:]) + 1
    return np.asarray(middle[kept], dtype=np.float64), first[kept]


def _ink(dark: Any, clean: Any) -> Any:
    """Return what is darker than the paper for certain, uint8 (h, w).

    The noise of darkness around every pixel counts, which is great on a dark table.
    """
    part = np.abs(dark[::STEP, ::STEP])
    tall, wide = (side // TILE for side in part.shape)
    tiles = part[: tall * TILE, : wide * TILE].reshape(tall, TILE, wide, TILE)
    noise = 1.4826 * np.median(tiles.transpose(0, 2, 1, 3).reshape(tall, wide, -1), axis=2)
    made = (clean > PEN).astype(np.uint8)
    for row, column in np.argwhere(noise > PEN / NOISES).tolist():
        last = row == tall - 1, column == wide - 1
        rows, columns = (
            slice(STEP * TILE * k, None if end else STEP * TILE * (k + 1))
            for k, end in zip((row, column), last, strict=True)
        )
        made[rows, columns] = clean[rows, columns] > NOISES * noise[row, column]
    return made
