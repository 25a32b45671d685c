"""What the sheet in a picture shows: spots that may be pricks, drawn lines, writing, print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo import dots, holes, large, lines, pencil, ring, sift, spots, things, writing
from plotout_photo.area import Area
from plotout_photo.image import Picture
from plotout_photo.on_lines import line_under
from plotout_photo.solve import Solution

ON_LINE = 0.15  # least darkness of a line whose own may pass for a stab


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """What a picture shows. found: spots that may be pricks; sure: their certainty, 0 to 1.

    beside: (n,) which of them may be dots of the writing that they lie beside; but for that they
    would pass for pricks. printed: number of letters and signs, if spots among them were left out.
    lined: pairs of rows of `found` between which a line is drawn, (m, 2). drawn: the
    darkness of lines, uint8 (h, w); wrote: not 0 where something is written. large: spots too large
    for pricks, but like them otherwise.
    """

    found: holes.Holes
    sure: FloatArray
    beside: NDArray[np.bool_]
    printed: int
    lined: NDArray[np.intp]
    drawn: Any
    wrote: Any
    large: large.Large


def seen_on(picture: Picture, solution: Solution, area: Area, scale: float, blur: float) -> Sheet:
    """Return what a picture shows among its strips and beyond them.

    scale: pixels per mm; blur: the picture's, as a sigma in pixels.
    """
    dark = spots.darkness(picture.light)
    drawn = lines.drawn_lines(dark, scale)
    clean = lines.without(dark, drawn)
    wrote = writing.writing((dark, clean, drawn), area.among, scale, blur)
    for each in (dark, clean):
        lines.without(each, wrote.strokes, made=each)
    at = spots.spots(clean, (area.among, area.beyond), scale)
    letters = wrote.in_print(at)
    at = at[~letters]
    printed = len(wrote.letters) if letters.any() else 0
    found = holes.measured(dark, clean, drawn, at, scale_at(solution, at), blur, wrote.on(at))
    found = _without_dots(found, (dark, clean, drawn), area, wrote, solution, scale, blur)
    looks, unlike = sift.certainty(found), wrote.certainty(found)
    looks[_of_lines(found, looks * unlike, drawn, scale)] = 0.0
    kept = np.flatnonzero(looks * unlike >= sift.LEAST)
    off = (drawn, wrote.strokes)
    wide = large.too_large(found, looks, unlike)
    wide = wide[~things.no_holes(picture.light, off, found.at[wide], found.depth[wide], scale)]
    kept = kept[~things.no_holes(picture.light, off, found.at[kept], found.depth[kept], scale)]
    sure = kept[(looks * unlike)[kept] >= sift.DOUBTFUL]
    beside = (looks >= sift.DOUBTFUL) & (looks * unlike < sift.DOUBTFUL) & ~wrote.on(found.at)
    pairs = pencil.lined(drawn, found.at[kept], solution.table(0, found.at[kept]))
    return Sheet(
        found.of(kept), (looks * unlike)[kept], beside[kept], printed, pairs,
        cv2.convertScaleAbs(drawn, alpha=255.0), wrote.words,
        large.with_coarse(found.of(wide), found.at[sure], picture.grey, area.among, scale),
    )  # fmt: skip


def _of_lines(found: holes.Holes, sure: FloatArray, drawn: Any, scale: float) -> NDArray[np.bool_]:
    """Return which spots are what lines leave amid the stabs of a corner or beside them, (n,)."""
    lined = line_under(drawn, found.at, 1.0) > ON_LINE
    return ring.of_lines(found.at / scale, found.depth, lined, sure >= sift.DOUBTFUL)


def _without_dots(
    found: holes.Holes, pictures: tuple[Any, Any, Any], area: Area, wrote: writing.Writing,
    solution: Solution, scale: float, blur: float,
) -> holes.Holes:  # fmt: skip
    """Return spots without the dots of dotted paper. pictures: as for `dots.holes_beside`."""
    clear = np.flatnonzero((found.oval < sift.OVAL[0]) & (found.depth > sift.FAINT[0]))
    for near in (clear, clear[~area.outside(found.at[clear])]):  # or of the sheet alone
        printed = dots.dots_in(pictures[0], solution, solution.table(0, found.at[near]),
                               found.size[near])  # fmt: skip
        if printed is not None:
            return dots.holes_beside(printed, found, pictures, (area.among, area.beyond), wrote,
                                     solution, scale, blur)  # fmt: skip
    return found


def scale_at(solution: Solution, pixels: FloatArray) -> FloatArray:
    """Return pixels per mm at pixels (n, 2): the mean of both directions."""
    step = 2.0
    ways = [solution.table(0, pixels + move) - solution.table(0, pixels - move)
            for move in (np.array([step, 0.0]), np.array([0.0, step]))]  # fmt: skip
    area = np.abs(ways[0][:, 0] * ways[1][:, 1] - ways[0][:, 1] * ways[1][:, 0])
    return np.asarray(2.0 * step / np.sqrt(area))
