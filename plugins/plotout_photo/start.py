"""Estimates a camera's place: tilts are tried, and the one that suits all strips best is chosen.

A strip is long and narrow, so one alone shows little about the table's tilt. Together they do: seen
at the right tilt, every strip has its true shape.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.camera import LENS, SCAN, Kind, seen_from
from plotout_photo.strips import corners_of

Pose = tuple[float, float, float]
"""Of a strip on the table: angle (radians), x, y (mm)."""


def begin(
    kind: Kind, seen: Mapping[int, Mapping[int, FloatArray]]
) -> tuple[Kind, FloatArray, dict[int, Pose]]:
    """Return a camera with its pivot, its values and the strips' poses.

    seen: strip to mark to corners, pixels. The first strip lies at 0, 0, unturned.
    """
    if kind.flat:
        return kind, *_scan(kind, seen)
    focals = np.exp(kind.expected[6]) * (
        np.array([1.0]) if kind.spread[6] < 0.1 else np.array([0.7, 1.0, 1.6])
    )
    shapes = _Shapes.of(seen)
    best: tuple[float, FloatArray, float] | None = None
    for focal in focals:
        for tilt in np.radians([0.0, 10.0, 20.0, 30.0, 40.0]):
            for way in np.radians(np.arange(0.0, 360.0, 30.0) if tilt else [0.0]):
                turn = _facing(float(tilt), float(way))
                off = shapes.misfit(_flattened(kind, float(focal), turn, shapes.pixels))
                if best is None or off < best[0]:
                    best = (off, turn, float(focal))
    assert best is not None
    return _posed(kind, best[2], best[1], seen)


@dataclass(frozen=True, slots=True, eq=False)
class _Shapes:
    """All strips: their starts, and corners in pixels and in mm about their centres."""

    pixels: FloatArray
    mm: NDArray[np.complex128]
    starts: NDArray[np.intp]
    counts: NDArray[np.intp]

    @classmethod
    def of(cls, seen: Mapping[int, Mapping[int, FloatArray]]) -> _Shapes:
        each = _each(seen)
        counts = np.array([len(mm) for _, _, mm in each])
        about = np.vstack([mm - mm.mean(axis=0) for _, _, mm in each])
        starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
        pixels = np.vstack([px for _, px, _ in each])
        return cls(pixels, about[:, 0] + 1j * about[:, 1], starts, counts)

    def misfit(self, flat: FloatArray) -> float:
        """Return how far, mm squared, the strips are from one size and their true shape."""

        def total(values: NDArray[Any]) -> NDArray[Any]:
            return np.asarray(np.add.reduceat(values, self.starts))

        where = flat[:, 0] + 1j * flat[:, 1]
        where = where - np.repeat(total(where) / self.counts, self.counts)
        size = total(np.abs(self.mm) ** 2)
        each = total(np.conj(self.mm) * where) / size
        scale = float(np.average(np.abs(each), weights=np.sqrt(size)))
        shape = np.sum(np.abs(where - np.repeat(each, self.counts) * self.mm) ** 2) / scale**2
        return float(shape + np.sum(size * (np.abs(each) / scale - 1.0) ** 2))


def _facing(tilt: float, way: float) -> FloatArray:
    """Return the table's axes as seen by a camera (columns x, y, z) at a tilt to one side."""
    normal = np.array([np.sin(tilt) * np.cos(way), np.sin(tilt) * np.sin(way), -np.cos(tilt)])
    x = np.array([1.0, 0.0, 0.0])
    x -= normal * (x @ normal)
    x /= np.linalg.norm(x)
    return np.column_stack([x, np.cross(normal, x), normal])


def _flattened(kind: Kind, focal: float, turn: FloatArray, pixels: FloatArray) -> FloatArray:
    """Return pixels on a plane parallel to the table, one focal length away, (n, 2)."""
    middle = kind.middle
    rays = np.column_stack([(pixels - middle) / focal, np.ones(len(pixels))]) @ turn
    return np.asarray(rays[:, :2] / -np.minimum(rays[:, 2:], -1e-3))


def similar(flat: FloatArray, mm: FloatArray) -> tuple[complex, complex, float]:
    """Return a, b so that a * mm + b is near flat (as complex numbers), and the misfit squared."""
    z, w = mm[:, 0] + 1j * mm[:, 1], flat[:, 0] + 1j * flat[:, 1]
    zc, wc = z - z.mean(), w - w.mean()
    a = complex((np.conj(zc) @ wc) / (np.conj(zc) @ zc))
    return a, complex(w.mean() - a * z.mean()), float(np.sum(np.abs(wc - a * zc) ** 2))


def _each(seen: Mapping[int, Mapping[int, FloatArray]]) -> list[tuple[int, FloatArray, FloatArray]]:
    return [
        (strip, np.vstack(list(marks.values())), np.vstack([corners_of(mark) for mark in marks]))
        for strip, marks in seen.items()
    ]


def _posed(
    kind: Kind, focal: float, turn: FloatArray, seen: Mapping[int, Mapping[int, FloatArray]]
) -> tuple[Kind, FloatArray, dict[int, Pose]]:
    fits = {s: similar(_flattened(kind, focal, turn, px), mm) for s, px, mm in _each(seen)}
    scale = float(np.median([abs(a) for a, _, _ in fits.values()]))
    first = next(iter(seen))
    a, b, _ = fits[first]
    unit = a / abs(a)
    poses = {}
    for strip, (one, shift, _) in fits.items():
        angle = float(np.angle(one / unit))
        at = (shift - b) / unit / scale
        poses[strip] = (angle, at.real, at.imag)
    # world = the first strip's; in the camera: turn @ (unit * world * scale + b), one unit deep
    cos, sin = unit.real, unit.imag
    onto = np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, 1.0]])
    values = np.zeros(LENS)
    values[:] = kind.expected
    values[:3] = _vector(turn @ onto)
    values[6] = np.log(focal)
    places = np.array([(x, y, 0.0) for _, x, y in poses.values()])
    kind = replace(kind, pivot=places.mean(axis=0))
    shift = turn @ np.array([b.real, b.imag, -1.0]) / scale
    return kind, seen_from(kind, values, shift), poses


def _vector(turn: FloatArray) -> FloatArray:
    """Return the rotation vector of a rotation matrix."""
    from scipy.spatial.transform import Rotation

    return np.asarray(Rotation.from_matrix(turn).as_rotvec())


def _scan(
    kind: Kind, seen: Mapping[int, Mapping[int, FloatArray]]
) -> tuple[FloatArray, dict[int, Pose]]:
    middle, scale = kind.middle, float(np.exp(kind.expected[3]))
    flat = {s: ((px - middle) * [1, -1] / scale, mm) for s, px, mm in _each(seen)}
    fits = {s: similar(px, mm) for s, (px, mm) in flat.items()}
    a, b, _ = fits[next(iter(seen))]
    unit = a / abs(a)
    poses: dict[int, Pose] = {}
    for strip, (one, shift, _) in fits.items():
        at = (shift - b) / unit
        poses[strip] = (float(np.angle(one / unit)), at.real, at.imag)
    values = np.zeros(SCAN)
    values[:] = kind.expected
    home = -b / unit
    values[:3] = [home.real, home.imag, -np.angle(unit)]
    return values, poses
