"""Tells the dots of dotted paper from holes, and takes them off where a hole touches one.

They are printed in a square grid, all alike, so the place and the darkness of each are known from
its neighbours, also of one that a hole lies on. Light that a dot has dimmed is dimmed by a hole as
well: what both let through is multiplied.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.holes import SAME, Holes, joined, measured
from plotout_photo.lines import without
from plotout_photo.solve import Solution
from plotout_photo.spots import BLOCK, spots
from plotout_photo.writing import Writing

GRID = (4.0, 60.0)  # mm between a printed grid's dots
DOT = 0.7  # mm from a place of the grid to its dot, or the parts that it was taken apart into
ENOUGH = 1200  # spots that show the step from dot to dot
CELL = 0.35  # mm within which steps agree
OFTEN = 0.5  # share of the votes for a longer step that the shortest has at least
FEWEST, SEEDS = 25, 12  # spots, and those with neighbours on three sides, that show a grid
ALIKE = 0.35  # mm by which dots differ in size
DEGREE = 3  # of the polynomial from a dot's number along and across to its place
AROUND = 12  # dots around one that show what it looks like
RINGS, WAYS = np.arange(0.0, 2.25, 0.15), np.arange(24) * np.pi / 12.0  # mm and angles looked at
GROUND = 3  # the outermost rings, which are paper
THERE = 0.5  # share of a dot's darkness that is seen at the most of its place, if there is one
ODD = 0.12  # darkness that is no dot's, some tenths of a millimetre wide
ANEW = 6.0  # mm around such a dot in which spots are sought anew, without it
BEYOND = 3.5  # steps to the next dot that was seen
NEXT = (-1, 0, 1)
STEPS = range(-3, 4)  # from dot to dot: of a fine grid, not all dots are among the spots
MIDDLE = 0.5  # mm from the middle that belong to any dot
SURE = 0.9  # greatest darkness of a dot that is taken off
THROUGH = 0.7  # and that anything is seen through


@dataclass(frozen=True, slots=True, eq=False)
class Dots:
    """A printed grid's dots. at: (n, 2) mm on the table; profile: (n, rings) darkness by RINGS.

    odd: (n,) which of them have something else on them or beside them.
    """

    at: FloatArray
    profile: FloatArray
    odd: NDArray[np.bool_]

    def none_at(self, at: FloatArray) -> NDArray[np.bool_]:
        """Return which places, (n, 2) mm, lie on no dot, or on one that is odd, (n,)."""
        gap, which = cKDTree(self.at).query(at)
        return np.asarray((gap > DOT) | self.odd[which])

    def erase(self, dark: Any, solution: Solution) -> None:
        """Take the dots that are odd off a picture's darkness, (h, w)."""
        for place, profile in zip(self.at[self.odd], self.profile[self.odd], strict=True):
            seen = solution.see(
                0, place + RINGS[-1] * np.column_stack([np.cos(WAYS), np.sin(WAYS)])
            )
            low = np.maximum(np.floor(seen.min(axis=0)).astype(int), 0)
            high = np.maximum(np.ceil(seen.max(axis=0)).astype(int) + 1, 0)
            part = dark[low[1] : high[1], low[0] : high[0]]
            y, x = np.mgrid[: part.shape[0], : part.shape[1]]
            pixels = np.column_stack([x.ravel(), y.ravel()]) + low
            far = np.hypot(*(solution.table(0, pixels) - place).T)
            dot = np.interp(far, RINGS, profile).reshape(part.shape)
            part[:] = (part - dot) / (1.0 - dot)


def holes_beside(
    dots: Dots, found: Holes, pictures: tuple[Any, Any, Any], areas: tuple[Any, Any],
    wrote: Writing, solution: Solution, scale: float, blur: float,
) -> Holes:  # fmt: skip
    """Return spots without those that are dots, and with those that touch dots measured anew.

    found: all spots. pictures: the darkness, that without lines, and that of the lines; such dots
    are taken off the first two. areas, scale, blur: as for `spots` and `measured`.
    """
    table = solution.table(0, found.at)
    kept = dots.none_at(table)
    if not dots.odd.any():
        return found.of(kept)
    dark, clean, drawn = pictures
    dots.erase(dark, solution)
    odd = dots.at[dots.odd]
    half = max(int(1.5 * ANEW * scale), BLOCK)
    made = [np.empty((0, 2))]
    pixels = np.rint(solution.see(0, odd)).astype(int)
    shown = ((pixels >= 0) & (pixels < dark.shape[::-1])).all(axis=1)  # not beyond the picture
    for column, row in pixels[shown].tolist():
        low = np.maximum([column - half, row - half], 0)
        part = np.s_[low[1] : row + half, low[0] : column + half]
        clean[part] = without(dark[part], drawn[part])
        made.append(low + spots(clean[part], (areas[0][part], areas[1][part]), scale))
    at = np.unique(np.vstack(made), axis=0)
    at = at[~wrote.in_print(at)]
    at = at[cKDTree(odd).query(solution.table(0, at))[0] < ANEW + 2.0]
    anew = measured(dark, clean, drawn, at, np.full(len(at), scale), blur)
    place = solution.table(0, anew.at)
    anew = anew.of((cKDTree(odd).query(place)[0] < ANEW) & dots.none_at(place))
    kept &= cKDTree(odd).query(table)[0] > ANEW
    if len(anew):
        kept &= cKDTree(anew.at).query(found.at)[0] > SAME * scale
    return joined(found.of(kept), anew)


def dots_in(dark: Any, solution: Solution, at: FloatArray, size: FloatArray) -> Dots | None:
    """Return the printed dots of a picture, or None if it shows no grid of them.

    dark: the picture's darkness; at: (n, 2) mm on the table, of the spots; size: (n,) theirs, mm.
    """
    found = numbered(at, size)
    if found is None:
        return None
    which, numbers = found
    places = _places(numbers, at[which])
    rings = _rings(dark, solution, places)
    profile = np.median(rings, axis=2)
    clean = np.abs(rings - profile[:, :, None]).max(axis=(1, 2)) < ODD
    if clean.sum() < AROUND:
        return None
    near = cKDTree(places[clean]).query(places, k=AROUND)[1]
    usual = np.median(profile[clean][near], axis=1)
    usual = np.clip(usual - usual[:, -GROUND:].mean(axis=1, keepdims=True), 0.0, SURE)
    rings = rings - np.median(rings[:, -GROUND:], axis=(1, 2))[:, None, None]
    there = _there(rings, usual)
    return Dots(places[there], usual[there], _odd(rings[there], usual[there]))


def numbered(at: FloatArray, size: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]] | None:
    """Return which spots, (m,), are in a printed grid, and their numbers in it, (m, 2); or None.

    A grid's dots have neighbours at the same distance on all four sides, of equal size. The numbers
    are passed from dot to dot, so that lens and lift don't matter.
    """
    base = _step(at) if len(at) >= FEWEST else None
    if base is None:
        return None
    tree = cKDTree(at)
    ways = np.array([(i, j) for i in STEPS for j in STEPS if (i, j) != (0, 0)])
    steps = ways @ np.array([base, [-base[1], base[0]]])
    next_to = np.abs(ways).sum(axis=1) == 1
    beside = np.full((len(at), len(ways)), -1, dtype=np.intp)
    alike = np.zeros(len(at), dtype=np.intp)
    for k, step in enumerate(steps):
        gap, which = tree.query(at + step)
        beside[gap < DOT, k] = which[gap < DOT]
        alike += next_to[k] & (gap < DOT) & (np.abs(size[which] - size) < ALIKE)
    if (alike >= 3).sum() < SEEDS:
        return None
    numbers: dict[int, tuple[int, int]] = {}
    for seed in np.flatnonzero(alike >= 3).tolist():
        own = {seed: (0, 0)}
        queue = [seed]
        while queue:
            here = queue.pop()
            for way, there in zip(ways.tolist(), beside[here].tolist(), strict=True):
                if there >= 0 and there not in own:
                    own[there] = (own[here][0] + way[0], own[here][1] + way[1])
                    if (beside[there] >= 0).sum() >= 2:
                        queue.append(there)
        if len(own) > len(numbers):
            numbers = own
        if 2 * len(numbers) > (alike >= 3).sum():
            break
    spots = np.array(sorted(numbers), dtype=np.intp)
    return spots, np.array([numbers[k] for k in spots.tolist()], dtype=np.intp)


def _step(at: FloatArray) -> FloatArray | None:
    """Return the step from dot to dot, (2,) mm, that occurs most often between spots, or None."""
    middle = np.argsort(np.hypot(*(at - np.median(at, axis=0)).T), kind="stable")[:ENOUGH]
    at = at[middle]
    pairs = cKDTree(at).query_pairs(GRID[1], output_type="ndarray")
    steps = at[pairs[:, 1]] - at[pairs[:, 0]]
    far = np.hypot(*steps.T)
    steps = steps[far > GRID[0]]
    steps *= np.where((steps[:, :1] < 0) | ((steps[:, :1] == 0) & (steps[:, 1:] < 0)), -1.0, 1.0)
    cells = round(GRID[1] / CELL) + 2  # one row at the edges, so that all cells have neighbours
    column, row = np.floor(steps / CELL).astype(int).T + np.array([[1], [cells]])
    count = np.zeros((2 * cells, cells + 1))
    np.add.at(count, (row, column), 1.0)
    votes = np.sum([np.roll(count, (i, j), (0, 1)) for i in NEXT for j in NEXT], axis=0)
    if votes.max() < max(20, 0.3 * len(at)):
        return None
    strong = np.argwhere(votes >= OFTEN * votes.max())
    first = (strong[:, ::-1] - np.array([1, cells]) + 0.5) * CELL
    first = first[np.hypot(*first.T).argmin()]
    near = np.hypot(*(steps - first).T) < 2.0 * CELL
    return np.asarray(np.median(steps[near], axis=0))


def _places(numbers: NDArray[np.intp], at: FloatArray) -> FloatArray:
    """Return the places of a grid's dots, (m, 2) mm, also of those that were not seen in it.

    numbers: (n, 2) of those seen at `at`, (n, 2), of which some are pulled aside by a hole. A
    polynomial gives all of them, and their neighbours what remains, as where the paper lifts.
    """
    low = numbers.min(axis=0)
    wide, tall = numbers.max(axis=0) - low + 1
    every = np.column_stack([part.ravel() for part in np.mgrid[:wide, :tall]])
    middle, span = np.array([wide, tall]) / 2.0, max(wide, tall) / 2.0

    def terms(of: FloatArray) -> FloatArray:
        u, v = ((of - middle) / span).T
        return np.column_stack(
            [u**i * v**j for i in range(DEGREE + 1) for j in range(DEGREE + 1 - i)]
        )

    rows = terms((numbers - low).astype(np.float64))
    sound = np.ones(len(at), dtype=bool)
    for _ in range(4):
        fit = np.linalg.lstsq(rows[sound], at[sound], rcond=None)[0]
        off = at - rows @ fit
        far = np.hypot(*off.T)
        sound = far < np.maximum(3.0 * np.median(far), 0.05)
    seen = (numbers - low)[sound]
    tree = cKDTree(seen)
    gap, near = tree.query(every, k=9)
    rest = np.median(off[sound][near], axis=1)
    within = gap[:, 0] < BEYOND
    return np.asarray((terms(every.astype(np.float64)) @ fit + rest)[within])


def _rings(dark: Any, solution: Solution, at: FloatArray) -> FloatArray:
    """Return the darkness around places, (n, 2) mm, by RINGS and WAYS, (n, rings, ways)."""
    middle = solution.see(0, at)
    x, y = (solution.see(0, at + step) - middle for step in np.eye(2))  # pixels for a mm
    around = RINGS[:, None, None] * np.column_stack([np.cos(WAYS), np.sin(WAYS)])
    points = middle[:, None, None] + around @ np.stack([x, y], axis=1)[:, None]
    value = map_coordinates(dark, [points[..., 1], points[..., 0]], order=1, mode="nearest",
                            output=np.float32)  # fmt: skip
    return np.asarray(value, dtype=np.float64)


def _there(rings: FloatArray, profile: FloatArray) -> NDArray[np.bool_]:
    """Return which dots are there, (n,): the print ends, and things may lie on it.

    rings: (n, rings, ways) the darkness seen around them; profile: (n, rings) that of their like.
    """
    seen = rings > THERE * profile[:, :, None]
    return np.asarray(seen[:, RINGS < MIDDLE].mean(axis=(1, 2)) > THERE)


def _odd(rings: FloatArray, profile: FloatArray) -> NDArray[np.bool_]:
    """Return which dots have something else on them or beside them, (n,)."""
    inner = np.column_stack([profile[:, :1], profile[:, :-1]])  # a place may be off by a ring
    dot = np.maximum(profile, inner)[:, :, None]
    rest = np.where(dot < THROUGH, (rings - dot) / (1.0 - dot), 0.0)
    smooth = (np.roll(rest, 1, axis=2) + rest + np.roll(rest, -1, axis=2)) / 3.0
    return np.asarray(smooth.max(axis=(1, 2)) > ODD)
