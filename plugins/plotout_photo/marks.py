"""Finds the coded marks in a picture: their numbers, and their corners to a tenth of a pixel.

OpenCV finds and reads the marks. Their corners are where lines through their edges meet: an edge is
measured at some fifty places across it, which is more accurate than locating a corner itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from plotout import FloatArray
from plotout_photo.camera import Kind, bent_again, unbent
from plotout_photo.strips import CELLS, DICTIONARY

WORKED = 2600  # pixels of the longer side at which marks are sought
ACROSS = 48  # places along an edge at which it is measured
SAMPLES = 17  # samples across the edge at a place
FAR = 8.0  # pixels: corners further from where the mark was read belong to something else
LEAST_REACH = 1.5  # least pixels across an edge for measuring it
CELL = 0.42  # share of a cell that is measured to each side of an edge
LEAST_SIDE = LEAST_REACH * CELLS / CELL  # pixels: the edges of smaller marks can't be measured
WORST = 0.6  # pixels rms about its line: a worse edge is hidden or torn
OTHERS = ("DICT_4X4_250", "DICT_5X5_250", "DICT_6X6_250", "DICT_7X7_250", "DICT_APRILTAG_25h9")


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """A mark in a picture. edges: points measured on its four sides, (n, 2) pixels.

    corners: (4, 2), where the sides meet, top left first, clockwise as read.
    """

    number: int
    corners: FloatArray
    edges: tuple[FloatArray, ...]
    blurs: tuple[float, ...]  # pixels from dark to bright across its four sides

    @property
    def blur(self) -> float:
        """Pixels from dark to bright across its edges, in the middle."""
        return float(np.median(self.blurs))


def find_marks(grey: Any, light: Any) -> list[Seen]:
    """Return the marks in a picture. grey: uint8 (h, w); light: the same in linear light, float."""
    return _refined(sorted(_read(grey, DICTIONARY), key=lambda pair: pair[0]), light)


def seen_again(seen: Sequence[Seen], light: Any) -> list[Seen]:
    """Return marks measured anew in another light, float (h, w)."""
    return _refined([(mark.number, mark.corners) for mark in seen], light)


def _refined(read: Sequence[tuple[int, FloatArray]], light: Any) -> list[Seen]:
    rough = np.array([quad for _, quad in read]).reshape(-1, 4, 2)
    corners, found = rough.copy(), dict[int, Seen]()
    for _ in range(2):  # the second time from the first results
        found = {}
        for index, sides in enumerate(_measured(light, corners)):
            if sides is None:
                continue
            met = corners_of(tuple(side for side, _ in sides))
            if met is None or np.hypot(*(met - rough[index]).T).max() > FAR:
                continue
            corners[index] = met
            edges, blurs = zip(*sides, strict=True)
            found[index] = Seen(read[index][0], met, edges, blurs)
    return [found[index] for index in sorted(found)]


def too_small(grey: Any) -> FloatArray:
    """Return the sides of the marks that can be read but not measured, (n,) pixels."""
    quads = np.array([quad for _, quad in _read(grey, DICTIONARY)]).reshape(-1, 4, 2)
    sides = np.hypot(*np.moveaxis(np.roll(quads, -1, axis=1) - quads, 2, 0)).min(axis=1)
    return np.asarray(sides[sides < LEAST_SIDE])


def mirrored(grey: Any) -> bool:
    """Return whether marks are found in the picture mirrored left to right."""
    return len(_read(np.ascontiguousarray(grey[:, ::-1]), DICTIONARY)) > 3


def negative(grey: Any) -> bool:
    """Return whether marks are found in the picture's negative."""
    return len(_read(~grey, DICTIONARY)) > 3


def of_another_kind(grey: Any) -> bool:
    """Return whether the picture has coded marks of another code."""
    return any(len(_read(grey, name)) > 3 for name in OTHERS)


def _read(grey: Any, dictionary: str) -> list[tuple[int, FloatArray]]:
    """Return the numbers and rough corners of the marks."""
    shrink = max(1, round(max(grey.shape) / WORKED + 0.2))
    small = grey
    if shrink > 1:
        size = (grey.shape[1] // shrink, grey.shape[0] // shrink)
        small = cv2.resize(
            grey[: size[1] * shrink, : size[0] * shrink], size, interpolation=cv2.INTER_AREA
        )
    settings = cv2.aruco.DetectorParameters()
    settings.adaptiveThreshWinSizeMin = 13
    settings.adaptiveThreshWinSizeMax = 33
    settings.adaptiveThreshWinSizeStep = 20
    settings.minMarkerPerimeterRate = 0.02
    code = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary))
    corners, numbers, _ = cv2.aruco.ArucoDetector(code, settings).detectMarkers(small)
    if numbers is None:
        return []
    return [
        (int(number), np.asarray(quad, dtype=np.float64).reshape(4, 2) * shrink + (shrink - 1) / 2)
        for number, quad in zip(np.ravel(numbers), corners, strict=True)
    ]


def _measured(
    light: Any, corners: FloatArray
) -> Iterator[tuple[tuple[FloatArray, float], ...] | None]:
    """Give for every mark, (m, 4, 2), its four edges and their blur; None if one is not seen."""
    if not len(corners):
        return
    ends = np.roll(corners, -1, axis=1)
    side = np.hypot(*np.moveaxis(ends - corners, 2, 0))  # (m, 4)
    along = (ends - corners) / side[..., None]
    out = np.stack([along[..., 1], -along[..., 0]], axis=2)  # clockwise as read, with y down
    reach = np.minimum(CELL * side / CELLS, 9.0)
    share = np.linspace(0.06, 0.94, ACROSS)
    at = corners[:, :, None] + share[:, None] * (ends - corners)[:, :, None]
    offsets = reach[..., None] * np.linspace(-1.0, 1.0, SAMPLES)
    points = at[:, :, :, None] + offsets[:, :, None, :, None] * out[:, :, None, None]
    profiles = map_coordinates(
        light, [points[..., 1], points[..., 0]], order=1, mode="nearest", output=np.float32
    )
    count = 4 * len(corners)
    edges = _edges(at.reshape(count, ACROSS, 2), out.reshape(count, 2),
                   profiles.reshape(count, ACROSS, SAMPLES), reach.ravel())  # fmt: skip
    for mark in range(len(corners)):
        sides = tuple(one for one in edges[4 * mark : 4 * mark + 4] if one is not None)
        yield sides if len(sides) == 4 else None


def _edges(
    at: FloatArray, out: FloatArray, profile: FloatArray, reach: FloatArray
) -> list[tuple[FloatArray, float] | None]:
    """Return the points measured on edges, and their blur in pixels; None for a bad edge.

    An edge lies where an unblurred step with the same amount of light would be. at: (e, n, 2) where
    they were sought; out: (e, 2) unit vectors; profile: (e, n, samples) light from inside to
    outside, as far as `reach`, (e,) pixels.
    """
    dark, bright = profile[:, :, :3].mean(axis=2), profile[:, :, -3:].mean(axis=2)
    rise = bright - dark
    usual = np.median(rise, axis=1)
    seen = rise > 0.4 * usual[:, None]
    part = (profile - dark[..., None]) / np.where(seen, rise, 1.0)[..., None]
    step = 2.0 * reach / (SAMPLES - 1)
    inner = part[:, :, 1:-1].sum(axis=2) + (part[:, :, 0] + part[:, :, -1]) / 2.0
    place = reach[:, None] - inner * step[:, None]
    seen &= np.abs(place) < 0.8 * reach[:, None]
    sound = (reach >= LEAST_REACH) & (usual >= 0.02) & (seen.sum(axis=1) >= ACROSS // 2)
    many = np.maximum(seen.sum(axis=1), 1)
    mean = np.einsum("en,ens->es", seen, part) / many[:, None]
    slope = np.gradient(mean, axis=1).max(axis=1) / step
    found = at + place[..., None] * out[:, None]
    for _ in range(3):  # without outliers: dust, a shadow, a finger
        off = _off_line(found, seen)
        rms = np.sqrt((seen * off**2).sum(axis=1) / np.maximum(seen.sum(axis=1), 1))
        seen = seen & (np.abs(off) < np.maximum(2.5 * rms, 0.05)[:, None])
    sound &= (rms <= WORST) & (seen.sum(axis=1) >= ACROSS // 3)
    return [
        (found[k, seen[k]], 1.0 / max(float(slope[k]), 1e-3)) if sound[k] else None
        for k in range(len(at))
    ]


def _off_line(points: FloatArray, seen: NDArray[np.bool_]) -> FloatArray:
    """Return how far points, (e, n, 2), are off the lines through those that are seen, (e, n)."""
    weight = seen / np.maximum(seen.sum(axis=1), 1)[:, None]
    off = points - np.einsum("en,enk->ek", weight, points)[:, None]
    xx, xy, yy = (np.einsum("en,en,en->e", weight, off[..., i], off[..., j])
                  for i, j in ((0, 0), (0, 1), (1, 1)))  # fmt: skip
    angle = 0.5 * np.arctan2(2.0 * xy, xx - yy)
    return np.asarray(np.cos(angle)[:, None] * off[..., 1] - np.sin(angle)[:, None] * off[..., 0])


def line_of(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return a point on the line through (n, 2) points, and its direction."""
    centre = points.mean(axis=0)
    off = points - centre
    xx, xy, yy = off[:, 0] @ off[:, 0], off[:, 0] @ off[:, 1], off[:, 1] @ off[:, 1]
    angle = 0.5 * np.arctan2(2.0 * xy, xx - yy)
    return centre, np.array([np.cos(angle), np.sin(angle)])


def corners_of(edges: tuple[FloatArray, ...]) -> FloatArray | None:
    """Return where neighbouring edges meet, (4, 2); None where two are parallel."""
    lines = [line_of(edge) for edge in edges]
    met = []
    for index in range(4):
        (one, direction), (other, other_way) = lines[index - 1], lines[index]
        sin = direction[0] * other_way[1] - direction[1] * other_way[0]
        if abs(sin) < 0.1:
            return None
        gap = other - one
        met.append(one + direction * (gap[0] * other_way[1] - gap[1] * other_way[0]) / sin)
    return np.array(met)


def straightened(seen: Seen, kind: Kind, values: FloatArray) -> FloatArray:
    """Return a mark's corners, (4, 2) pixels, with its edges straightened for the lens."""
    ends = np.cumsum([len(edge) for edge in seen.edges])[:-1]
    met = corners_of(tuple(np.split(unbent(kind, values, np.vstack(seen.edges)), ends)))
    return seen.corners if met is None else bent_again(kind, values, met)
