"""Measures a spot: its centre, size, depth and roundness, without a pencil line's darkness.

A line under a prick pulls its centre by a pixel. So a spot is measured in a frame along the darkest
line through it, and that line's darkness beside the hole is subtracted inside it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import label, map_coordinates

from plotout import FloatArray

ANGLES = 16  # directions tried for a line
CORE = 1.05  # mm from the centre that count as the hole
ARM = 2.8  # mm from the centre in which a line is sought
LINE = 0.045  # least darkness of a line that is subtracted


@dataclass(frozen=True, slots=True, eq=False)
class Holes:
    """Measured spots, one per row.

    at: (n, 2) pixels. size: mm across. depth: darkness at the centre, 0 to 1. flux: equivalent mm2
    of full black. oval: longer over shorter axis. reach: mm to which its darkness extends. line:
    darkness of the line on which it lies. crowd: share of its surroundings that is also dark.
    sigma: pixels by which its centre may be off.
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


def measured(dark: Any, at: FloatArray, scale: FloatArray, blur: float) -> Holes:
    """Measure spots. scale: (n,) pixels per mm at the spots; blur: sigma of the picture, pixels."""
    if not len(at):
        empty = np.empty(0)
        return Holes(np.empty((0, 2)), *(empty for _ in range(8)))
    mean = float(np.median(scale))
    reach = int(np.ceil(ARM * mean))
    angles, lines = _lines(dark, at, reach, CORE * mean)
    for again in range(2):
        patch = _patches(dark, at, angles, reach)
        patch = _without_line(patch, lines, CORE * mean)
        fit = _fitted(patch, CORE * mean, blur, rounds=12 if again else 5)
        if not again:
            shift = np.clip(fit[:, :2], -2.0, 2.0)
            at = at + _turned(shift, angles)
    middle = at + _turned(fit[:, :2], angles)
    depth, one, two = fit[:, 2], fit[:, 3], fit[:, 4]
    wide = np.sqrt(np.maximum(one * two, 1e-6))  # sigma
    own = np.sqrt(np.maximum(wide**2 - blur**2, 0.05)) * 4.0 / scale  # a disc's sigma is d / 4
    flux = depth * 2.0 * np.pi * wide**2 / scale**2
    noise = fit[:, 5]
    sigma = np.clip(noise / np.maximum(depth, 1e-3) * 1.2, 0.05, 1.0)
    return Holes(
        middle, own, np.minimum(depth, 1.5), flux, np.maximum(one, two) / np.minimum(one, two),
        _reach(patch, depth) / scale, lines, _crowd(dark, middle, depth, mean),
        np.hypot(sigma, 0.06),
    )  # fmt: skip


def _turned(points: FloatArray, angles: FloatArray) -> FloatArray:
    cos, sin = np.cos(angles), np.sin(angles)
    x, y = points.T
    return np.column_stack([cos * x - sin * y, sin * x + cos * y])


def _patches(dark: Any, at: FloatArray, angles: FloatArray, reach: int) -> FloatArray:
    """Return the darkness around the spots, (n, across, along), along lines at their angles."""
    step = np.arange(-reach, reach + 1.0)
    along, across = np.meshgrid(step, step)
    cos, sin = np.cos(angles)[:, None, None], np.sin(angles)[:, None, None]
    x = at[:, 0, None, None] + cos * along - sin * across
    y = at[:, 1, None, None] + sin * along + cos * across
    return np.asarray(map_coordinates(dark, [y, x], order=1, mode="nearest", output=np.float32))


def _lines(dark: Any, at: FloatArray, reach: int, core: float) -> tuple[FloatArray, FloatArray]:
    """Return the angles of the darkest lines through the spots, and the darkness of both arms."""
    best, chosen = np.full(len(at), -1.0), np.zeros(len(at))
    far = np.arange(np.ceil(core), reach + 1.0)
    for angle in np.arange(ANGLES) * np.pi / ANGLES:
        direction = np.array([np.cos(angle), np.sin(angle)])
        side = np.array([-direction[1], direction[0]])
        for shift in (-1.5, 0.0, 1.5):
            arms = []
            for sign in (1.0, -1.0):
                points = at[:, None, :] + sign * far[None, :, None] * direction + shift * side
                value = map_coordinates(
                    dark, [points[..., 1], points[..., 0]], order=1, mode="nearest",
                    output=np.float32,
                )  # fmt: skip
                arms.append(np.median(value, axis=1))
            weaker = np.minimum(*arms)
            better = weaker > best
            best[better], chosen[better] = weaker[better], angle
    return np.where(best > LINE, chosen, 0.0), np.where(best > LINE, best, 0.0)


def _without_line(patch: FloatArray, lines: FloatArray, core: float) -> FloatArray:
    """Return patches without the line along their rows, with only the hole's darkness."""
    reach = patch.shape[1] // 2
    outside = np.abs(np.arange(-reach, reach + 1)) > core
    profile = np.median(patch[:, :, outside], axis=2)
    profile = np.where(lines[:, None] > 0.0, profile, np.median(profile, axis=1)[:, None])
    profile = np.clip(profile, -0.5, 0.9)[:, :, None]
    return np.asarray((patch - profile) / (1.0 - profile))


def _fitted(patch: FloatArray, core: float, blur: float, rounds: int) -> FloatArray:
    """Fit oval Gaussians to the patches' centres. Returns x, y, height, two sigmas, noise; (n, 6).

    All patches are fitted at once by the Gauss-Newton method; the unknowns are x, y, height and
    the three of the oval's matrix.
    """
    reach = patch.shape[1] // 2
    near = int(np.ceil(core))
    cut = patch[:, reach - near : reach + near + 1, reach - near : reach + near + 1]
    y, x = np.mgrid[-near : near + 1, -near : near + 1].astype(np.float64)
    x, y, data = x.ravel(), y.ravel(), cut.reshape(len(patch), -1).astype(np.float64)
    weight = np.exp(-(x**2 + y**2) / (2 * (0.6 * core) ** 2))
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
        slopes = np.stack([*by_place, bell, *by_shape])
        off = data - value
        matrix = np.einsum("inp,jnp,p->nij", slopes, slopes, weight)
        right = np.einsum("inp,np,p->ni", slopes, off, weight)
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
    half, part = (now[:, 3] + now[:, 5]) / 2, np.hypot((now[:, 3] - now[:, 5]) / 2, now[:, 4])
    return np.column_stack([now[:, :3], (half - part) ** -0.5, (half + part) ** -0.5, noise])


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
    patch = _patches(dark, at, np.zeros(len(at)), reach)[:, ring]
    return np.asarray((patch > np.maximum(0.35 * depth, 0.08)[:, None]).mean(axis=1))
