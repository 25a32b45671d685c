"""Fits oval Gaussians, "bells", to the darkness of many spots at once."""

from __future__ import annotations

from typing import Any

import numpy as np

from plotout import FloatArray

STILL = 1e-3  # pixels, shares and curvatures: a fit that moves less has ended


def whole(at: FloatArray) -> FloatArray:
    """Return the pixels nearest to places, (n, 2), around which patches are cut."""
    return np.rint(at)


def patches(dark: Any, at: FloatArray, reach: int) -> FloatArray:
    """Return the darkness around the pixels nearest to spots, (n, h, w)."""
    side = np.arange(-reach, reach + 1)
    column, row = whole(at).astype(np.intp).T
    rows = (row[:, None] + side).clip(0, dark.shape[0] - 1)
    columns = (column[:, None] + side).clip(0, dark.shape[1] - 1)
    return np.asarray(dark[rows[:, :, None], columns[:, None, :]])


def fitted(patch: FloatArray, core: float, blur: float, rounds: int) -> FloatArray:
    """Fit oval Gaussians to the patches' centres. Returns (n, 7): x, y, height, and a, b, c of
    the exponent -(a x^2 + 2 b x y + c y^2) / 2, and the noise.

    All patches are fitted at once by the Gauss-Newton method.
    """
    reach = patch.shape[1] // 2
    near = int(np.ceil(core))
    cut = patch[:, reach - near : reach + near + 1, reach - near : reach + near + 1]
    y, x = np.mgrid[-near : near + 1, -near : near + 1].astype(np.float64)
    # half as long numbers are twice as fast, and exact to a thousandth of a pixel
    x, y, data = (
        part.astype(np.float32) for part in (x.ravel(), y.ravel(), cut.reshape(len(patch), x.size))
    )
    weight = np.exp(-(x**2 + y**2) / np.float32(2 * (0.6 * core) ** 2))
    root = np.sqrt(weight)
    start = max(1.3 * blur, 1.0) ** -2
    height = np.maximum(patch[:, reach, reach].astype(np.float64), 0.02)
    now = np.column_stack([np.zeros((len(patch), 2)), height,
                           np.full(len(patch), start), np.zeros(len(patch)),
                           np.full(len(patch), start)])  # fmt: skip
    live = np.arange(len(patch))  # those that still move
    noise = np.zeros(len(patch))
    for _ in range(rounds):
        own, seen = now[live], data[live]
        left, up, height, a, b, c = own.astype(np.float32).T[:, :, None]
        dx, dy = x - left, y - up
        bell = np.exp(np.float32(-0.5) * np.clip(a * dx**2 + 2 * b * dx * dy + c * dy**2, 0, 60))
        value = height * bell
        by_place = [value * (a * dx + b * dy), value * (b * dx + c * dy)]
        by_shape = [value * dx**2 / -2, -value * dx * dy, value * dy**2 / -2]
        slopes = np.stack([*by_place, bell, *by_shape], axis=1) * root
        off = seen - value
        noise[live] = np.sqrt((off**2 * weight).sum(axis=1) / weight.sum())
        matrix = (slopes @ slopes.transpose(0, 2, 1)).astype(np.float64)
        right = (slopes @ (off * root)[:, :, None])[:, :, 0]
        matrix += np.eye(6) * (1e-6 + 1e-3 * np.einsum("nii->ni", matrix)[:, :, None])
        step = np.linalg.solve(matrix, right[:, :, None])[:, :, 0]
        limit = np.array([0.7, 0.7, 0.3, 0.3 * start, 0.2 * start, 0.3 * start])
        own = own + np.clip(step, -limit, limit)
        own[:, :2] = np.clip(own[:, :2], -0.7 * core, 0.7 * core)
        own[:, 2] = np.clip(own[:, 2], 0.005, 1.6)
        own[:, [3, 5]] = np.clip(own[:, [3, 5]], 0.02, 4.0)
        bound = 0.98 * np.sqrt(own[:, 3] * own[:, 5])
        own[:, 4] = np.clip(own[:, 4], -bound, bound)
        moves = np.abs(own - now[live]).max(axis=1) > STILL
        now[live] = own
        live = live[moves]
        if not len(live):
            break
    return np.column_stack([now, noise])


def axes_of(bells: FloatArray) -> FloatArray:
    """Return the sigmas of ovals along their longer and shorter axes, (2, n) pixels."""
    a, b, c = bells[:, 3:6].T
    half, part = (a + c) / 2, np.hypot((a - c) / 2, b)
    return np.stack([(half - part) ** -0.5, (half + part) ** -0.5])
