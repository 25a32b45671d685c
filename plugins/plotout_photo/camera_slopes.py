"""How pixels move with a camera's values and with places on the table: the derivatives of `see`."""

from __future__ import annotations

import numpy as np

from plotout import FloatArray
from plotout_photo.camera import Kind, rotation, shift_of

STEP = 1e-6  # radians, for the derivative of a turn


def slopes(kind: Kind, values: FloatArray, world: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return how pixels of places (n, 3) move with the values, (n, 2, values), and with the places,
    (n, 2, 3).
    """
    return (_of_scanner if kind.flat else _of_lens)(kind, values, world)


def _of_scanner(kind: Kind, values: FloatArray, world: FloatArray) -> tuple[FloatArray, FloatArray]:
    cos, sin = np.cos(values[2]), np.sin(values[2])
    ways = np.array([[cos, sin + values[5]], [sin, -cos]]) * np.exp(values[3:5])[:, None]
    x, y = (world[:, :2] - values[:2]).T
    by_value = np.zeros((len(world), 2, len(values)))
    by_value[:, :, :2] = -ways
    turned = np.column_stack([-sin * x + cos * y, cos * x + sin * y])
    by_value[:, :, 2] = turned * np.exp(values[3:5])
    seen = np.column_stack([x, y]) @ ways.T
    by_value[:, 0, 3], by_value[:, 1, 4] = seen.T
    by_value[:, 0, 5] = y * np.exp(values[3])
    by_place = np.zeros((len(world), 2, 3))
    by_place[:, :, :2] = ways
    return by_value, by_place


def _of_lens(kind: Kind, values: FloatArray, world: FloatArray) -> tuple[FloatArray, FloatArray]:
    turn, longer = rotation(values[:3]), max(kind.size)
    focal = float(np.exp(values[6]))
    ray = world @ turn.T + shift_of(kind, values)
    x, y = plane = ray[:, :2].T / ray[:, 2]
    bent, by_plane, by_lens = _bent(values, plane)
    by_ray = np.zeros((len(world), 2, 3))  # of the plane
    by_ray[:, 0, 0] = by_ray[:, 1, 1] = 1.0 / ray[:, 2]
    by_ray[:, 0, 2], by_ray[:, 1, 2] = -x / ray[:, 2], -y / ray[:, 2]
    by_ray = focal * by_plane @ by_ray  # of the pixels
    by_value = np.zeros((len(world), 2, len(values)))
    for k in range(3):
        more = values[:3] + STEP * np.eye(3)[k]
        moved = (rotation(more) - turn) / STEP
        by_value[:, :, k] = np.einsum("nij,nj->ni", by_ray, (world - kind.pivot) @ moved.T)
    deep = focal * np.exp(values[5])
    across = (values[3:5] - values[7:9]) * longer / focal
    by_value[:, :, 3:5] = by_ray[:, :, :2] * deep * longer / focal
    by_value[:, :, 5] = by_ray @ (deep * np.array([*across, 1.0]))
    by_value[:, :, 6] = by_ray[:, :, 2] * deep + focal * bent.T
    by_value[:, :, 7:9] = longer * np.eye(2) - by_value[:, :, 3:5]
    by_value[:, :, 9:] = focal * by_lens
    return by_value, by_ray @ turn


def _bent(values: FloatArray, plane: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return `camera.bent` of a plane's points, (2, n), and how that moves with the points,
    (n, 2, 2), and with the distortion, (n, 2, 5).
    """
    k1, k2, k3, p1, p2 = values[9:14]
    x, y = plane
    r2 = x * x + y * y
    swell = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
    steep = 2.0 * (k1 + r2 * (2.0 * k2 + r2 * 3.0 * k3))
    bent = np.stack([x * swell + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
                     y * swell + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y])  # fmt: skip
    mixed = steep * x * y + 2 * p1 * x + 2 * p2 * y
    by_plane = np.stack([
        np.stack([swell + steep * x * x + 2 * p1 * y + 6 * p2 * x, mixed], axis=1),
        np.stack([mixed, swell + steep * y * y + 6 * p1 * y + 2 * p2 * x], axis=1),
    ], axis=1)  # fmt: skip
    powers = np.stack([r2, r2**2, r2**3])
    by_lens = np.stack([
        np.stack([*(x * powers), 2 * x * y, r2 + 2 * x * x], axis=1),
        np.stack([*(y * powers), r2 + 2 * y * y, 2 * x * y], axis=1),
    ], axis=1)  # fmt: skip
    return bent, by_plane, by_lens
