"""Measures spots: their centres, sizes, depths and roundness.

A line under a prick pulls its centre by a pixel, and so does another stab beside it. So a spot is
measured in what remains without lines, and a second time without the spots around it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import label, map_coordinates
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.lines import line_through

CORE = 1.05  # mm from the centre that count as the hole
ARM = 2.8  # mm from the centre that are looked at
LINE = 0.045  # least darkness of a line
SAME = 0.4  # mm within which spots are one
NOTHING = 0.06  # depth up to which a spot is none
ALONE = 3.4  # mm to the next spot; nearer ones are stabs of a corner, where lines end
TWO = 1.4  # longer over shorter axis above which a spot may be two stabs
STAB = 0.25  # least mm2 of full black of two stabs
STABS_APART, OVERLAP = 0.6, 0.7  # least mm between two stabs, and least share of their size
ROUND = 1.8  # greatest longer over shorter axis of each
DEEP, BROAD = 0.12, 1.75  # least depth, greatest mm across, of a spot that is removed from others


@dataclass(frozen=True, slots=True, eq=False)
class Holes:
    """Measured spots, one per row.

    at: (n, 2) pixels. size: mm across. depth: darkness at the centre, 0 to 1. flux: equivalent mm2
    of full black. oval: longer over shorter axis. reach: mm to which its darkness extends. line:
    darkness of the line that ends at it or turns there, 0 for one that passes. crowd: share of its
    surroundings that is also dark. sigma: pixels by which its centre may be off.
    """

    at: FloatArray
    size: FloatArray
    depth: FloatArray
    flux: FloatArray
    oval: FloatArray
    reach: FloatArray
    line: FloatArray
    crowd: FloatArray
    sigma: FloatArray

    def __len__(self) -> int:
        return len(self.at)

    def of(self, kept: NDArray[Any]) -> Holes:
        """Return some of them."""
        return Holes(*(getattr(self, name)[kept] for name in self.__slots__))

    def moved(self, by: FloatArray) -> Holes:
        """Return the spots, measured in a part of a picture, shifted to the whole of it."""
        return replace(self, at=self.at + by)


def measured(
    dark: Any, clean: Any, drawn: Any, at: FloatArray, scale: FloatArray, blur: float
) -> Holes:
    """Measure spots. scale: (n,) pixels per mm at the spots; blur: sigma of the picture, pixels.

    dark: the picture's darkness; drawn: that of its lines; clean: what remains without them.
    """
    if not len(at):
        empty = np.empty(0)
        return Holes(np.empty((0, 2)), *(empty for _ in range(8)))
    mean = float(np.median(scale))
    reach = int(np.ceil(ARM * mean))
    bells = _fitted(_patches(clean, at, reach), CORE * mean, blur, rounds=5)
    once = _apart(at + bells[:, :2], SAME * mean) & (bells[:, 2] > NOTHING)
    at, scale, bells = at[once], scale[once], bells[once]
    start = at + np.clip(bells[:, :2], -2.0, 2.0)
    patch = _patches(clean, start, reach)
    sound = _sound(bells, mean)
    others = cKDTree(start[sound]).query_ball_point(start, ALONE * mean, return_length=True)
    through = sound & (others == 1) & (_under(drawn, start) > 0.0)
    line, passes = line_through(dark, drawn, start[through], CORE * mean, reach)
    through[through] = passes
    line = line[passes]
    patch[through] = (_patches(dark, start[through], reach) - line) / (1.0 - line)
    patch -= _neighbours(at + bells[:, :2], start, bells, mean, reach)
    bells = _fitted(patch, CORE * mean, blur, rounds=12)
    once = _apart(start + bells[:, :2], SAME * mean)
    start, scale, bells, patch, through = (
        each[once] for each in (start, scale, bells, patch, through)
    )
    start, bells, patch, came = _split(clean, start, bells, patch, mean, blur)
    scale, through = scale[came], through[came]
    middle = start + bells[:, :2]
    depth, noise = bells[:, 2], bells[:, 6]
    one, two = _axes(bells)
    flux = depth * 2.0 * np.pi * one * two / scale**2
    sigma = np.clip(noise / np.maximum(depth, 1e-3) * 1.2, 0.05, 1.0)
    return Holes(
        at=middle,
        size=_size(bells, blur, scale),
        depth=np.minimum(depth, 1.5),
        flux=flux,
        oval=one / two,
        reach=_reach(patch, depth) / scale,
        line=np.where(through, 0.0, _under(drawn, middle)),
        crowd=_crowd(clean, middle, depth, mean),
        sigma=np.hypot(sigma, 0.06),
    )


def _apart(at: FloatArray, gap: float) -> NDArray[Any]:
    """Return which spots, (n,), are not a clearer one over again: the clearest come first."""
    kept = np.ones(len(at), dtype=bool)
    for one, other in sorted(cKDTree(at).query_pairs(gap)):
        if kept[one]:
            kept[other] = False
    return kept


def _neighbours(
    at: FloatArray, centres: FloatArray, bells: FloatArray, scale: float, reach: int
) -> FloatArray:
    """Return the darkness, (n, h, w), of the other spots in patches around centres (n, 2)."""
    side = np.arange(-reach, reach + 1.0)
    x, y = np.meshgrid(side, side)
    made = np.zeros((len(centres), *x.shape), dtype=np.float32)
    near = cKDTree(centres).query_ball_point(at, 2.0 * ARM * scale)
    for other in np.flatnonzero(_sound(bells, scale)):
        _, _, height, a, b, c, _ = bells[other]
        for index in near[other]:
            if index != other:
                dx, dy = x - (at[other] - centres[index])[0], y - (at[other] - centres[index])[1]
                power = 0.5 * (a * dx**2 + 2 * b * dx * dy + c * dy**2)
                made[index] += height * np.exp(-np.minimum(power, 60.0))
    return made


def _split(
    clean: Any, start: FloatArray, bells: FloatArray, patch: FloatArray, scale: float, blur: float
) -> tuple[FloatArray, FloatArray, FloatArray, NDArray[Any]]:
    """Return spots with ovals that are two touching stabs as two, and the row each came from."""
    rows = np.arange(len(start))
    long, short = _axes(bells)
    oval = (long / short > TWO) & (bells[:, 2] > 2.0 * DEEP) & (long < 2.0 * scale)
    oval &= bells[:, 2] * long * short * 2.0 * np.pi / scale**2 > STAB
    if not oval.any():
        return start, bells, patch, rows
    a, b, c = bells[oval, 3:6].T
    angle = 0.5 * np.arctan2(-2.0 * b, c - a)  # along which the exponent grows least
    reach = patch.shape[1] // 2
    ahead = 0.9 * long[oval, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    middle = start[oval] + bells[oval, :2]
    halves = np.vstack([middle + ahead, middle - ahead])
    own = np.tile(bells[oval], (2, 1))
    own[:, :2], own[:, 4] = 0.0, 0.0
    own[:, 3] = own[:, 5] = np.tile(short[oval] ** -2, 2)
    rest, rest_bells = start[~oval] + bells[~oval, :2], bells[~oval]
    for _ in range(5):
        part = _patches(clean, halves, reach)
        centres, all_bells = np.vstack([halves + own[:, :2], rest]), np.vstack([own, rest_bells])
        part -= _neighbours(centres, halves, all_bells, scale, reach)
        own = _fitted(part, CORE * scale, blur, rounds=6)
    one, other = own.reshape(2, -1, own.shape[1])
    places = (halves + own[:, :2]).reshape(2, -1, 2)
    apart = np.hypot(*(places[0] - places[1]).T) / scale
    good = apart > np.maximum(
        STABS_APART, OVERLAP * (_size(one, blur, scale) + _size(other, blur, scale)) / 2.0
    )
    for half in (one, other):
        good &= _sound(half, scale) & (_axes(half)[0] / _axes(half)[1] < ROUND)
    good &= np.minimum(one[:, 2], other[:, 2]) > 0.3 * np.maximum(one[:, 2], other[:, 2])
    kept = np.ones(len(start), dtype=bool)
    kept[rows[oval][good]] = False
    both = np.tile(good, 2)
    return (
        np.vstack([start[kept], halves[both]]), np.vstack([bells[kept], own[both]]),
        np.concatenate([patch[kept], part[both]]),
        np.concatenate([rows[kept], np.tile(rows[oval], 2)[both]]),
    )  # fmt: skip


def _size(bells: FloatArray, blur: float, scale: Any) -> FloatArray:
    """Return the size of holes, (n,) mm across, without the blur: a disc's sigma is d / 4."""
    own = np.prod(_axes(bells), axis=0) - blur**2
    return np.asarray(np.sqrt(np.maximum(own, 0.05)) * 4.0 / scale)


def _sound(bells: FloatArray, scale: float) -> NDArray[Any]:
    """Return which spots, (n,), are like holes: deep, and not broad."""
    wide = 4.0 * np.sqrt(np.prod(_axes(bells), axis=0)) / scale
    return np.asarray((bells[:, 2] > DEEP) & (wide < BROAD))


def _axes(bells: FloatArray) -> FloatArray:
    """Return the sigmas of ovals along their longer and shorter axes, (2, n) pixels."""
    a, b, c = bells[:, 3:6].T
    half, part = (a + c) / 2, np.hypot((a - c) / 2, b)
    return np.stack([(half - part) ** -0.5, (half + part) ** -0.5])


def _under(drawn: Any, at: FloatArray) -> FloatArray:
    """Return the darkness of the lines on which spots lie, (n,)."""
    value = map_coordinates(drawn, [at[:, 1], at[:, 0]], order=1, mode="nearest")
    return np.where(value > LINE, value, 0.0)


def _patches(dark: Any, at: FloatArray, reach: int) -> FloatArray:
    """Return the darkness around the spots, (n, h, w)."""
    side = np.arange(-reach, reach + 1.0)
    x, y = np.meshgrid(side, side)
    places = [at[:, 1, None, None] + y, at[:, 0, None, None] + x]
    return np.asarray(map_coordinates(dark, places, order=1, mode="nearest", output=np.float32))


def _fitted(patch: FloatArray, core: float, blur: float, rounds: int) -> FloatArray:
    """Fit oval Gaussians to the patches' centres. Returns (n, 7): x, y, height, and a, b, c of
    the exponent -(a x^2 + 2 b x y + c y^2) / 2, and the noise.

    All patches are fitted at once by the Gauss-Newton method.
    """
    reach = patch.shape[1] // 2
    near = int(np.ceil(core))
    cut = patch[:, reach - near : reach + near + 1, reach - near : reach + near + 1]
    y, x = np.mgrid[-near : near + 1, -near : near + 1].astype(np.float64)
    x, y, data = x.ravel(), y.ravel(), cut.reshape(len(patch), -1).astype(np.float64)
    weight = np.exp(-(x**2 + y**2) / (2 * (0.6 * core) ** 2))
    root = np.sqrt(weight)
    start = max(1.3 * blur, 1.0) ** -2
    height = np.maximum(patch[:, reach, reach].astype(np.float64), 0.02)
    now = np.column_stack([np.zeros((len(patch), 2)), height,
                           np.full(len(patch), start), np.zeros(len(patch)),
                           np.full(len(patch), start)])  # fmt: skip
    for _ in range(rounds):
        dx, dy = x - now[:, 0, None], y - now[:, 1, None]
        a, b, c = now[:, 3, None], now[:, 4, None], now[:, 5, None]
        bell = np.exp(-0.5 * np.clip(a * dx**2 + 2 * b * dx * dy + c * dy**2, 0.0, 60.0))
        value = now[:, 2, None] * bell
        by_place = [value * (a * dx + b * dy), value * (b * dx + c * dy)]
        by_shape = [-0.5 * value * dx**2, -value * dx * dy, -0.5 * value * dy**2]
        slopes = np.stack([*by_place, bell, *by_shape], axis=1) * root
        off = data - value
        matrix = slopes @ slopes.transpose(0, 2, 1)
        right = (slopes @ (off * root)[:, :, None])[:, :, 0]
        matrix += np.eye(6) * (1e-6 + 1e-3 * np.einsum("nii->ni", matrix)[:, :, None])
        step = np.linalg.solve(matrix, right[:, :, None])[:, :, 0]
        limit = np.array([0.7, 0.7, 0.3, 0.3 * start, 0.2 * start, 0.3 * start])
        now += np.clip(step, -limit, limit)
        now[:, :2] = np.clip(now[:, :2], -0.7 * core, 0.7 * core)
        now[:, 2] = np.clip(now[:, 2], 0.005, 1.6)
        now[:, [3, 5]] = np.clip(now[:, [3, 5]], 0.02, 4.0)
        bound = 0.98 * np.sqrt(now[:, 3] * now[:, 5])
        now[:, 4] = np.clip(now[:, 4], -bound, bound)
    noise = np.sqrt((off**2 * weight).sum(axis=1) / weight.sum())
    return np.column_stack([now, noise])


def _reach(patch: FloatArray, depth: FloatArray) -> FloatArray:
    """Return how far, in pixels, darkness of half the spots' centres extends from them."""
    middle = patch.shape[1] // 2
    step = np.arange(-middle, middle + 1.0)
    far = np.hypot(*np.meshgrid(step, step))
    made = np.empty(len(patch))
    for index, row in enumerate(patch):
        named, _ = label(row > 0.4 * depth[index])
        own = named[middle, middle]
        made[index] = far[named == own].max() if own else 0.0
    return made


def _crowd(dark: Any, at: FloatArray, depth: FloatArray, scale: float) -> FloatArray:
    """Return the share of the ring around spots that is a third as dark as their centres."""
    reach = int(np.ceil(ARM * scale))
    step = np.arange(-reach, reach + 1.0)
    far = np.hypot(*np.meshgrid(step, step)) / scale
    ring = (far > 1.25) & (far < ARM)
    patch = _patches(dark, at, reach)[:, ring]
    return np.asarray((patch > np.maximum(0.35 * depth, 0.08)[:, None]).mean(axis=1))
