"""The model of a photograph or a scan: from places on the table, in mm, to pixels, and back.

A camera is a vector of numbers for a solver. There are two kinds: a lens (a pinhole with the
distortion of Brown 1971, as in OpenCV's documentation), and a flat-bed scanner (affine).
Pixels count from the centre of the first one; the world has z up, and the table at z = 0.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from plotout import FloatArray

# Of a lens: turn (rotation vector); where its pivot is seen (from the picture's middle, in shares
# of the longer side) and the log of how deep that lies for a focal length of 1; log of the focal
# length (pixels); middle (shares of the longer side); k1 k2 k3; p1 p2. In these terms a longer
# focal length moves nothing but what it must, and a solver needs ten times fewer steps.
LENS = 14
CORNER, RADII = 2.0, 200  # focal lengths from the middle that a picture's corner may be, in steps
STEEP = 0.1  # least slope of a lens's curve: it turns back soon
NO_MORE = 1e-11  # focal lengths by which a place is off that needs no further step: 3e-8 pixels
SCANNED = 0.1  # share by which a stated resolution may be wrong: strips say it far better
SCAN = 6  # of a scanner: shift (mm), turn, log of the scale along x and y (pixels to the mm), skew


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """A kind of camera. size: width and height in pixels.

    expected, spread: the prior of its values, before anything is measured; an infinite spread means
    none. pivot: a place on the table, (3,) mm, to which a lens's values refer. flat: a scanner,
    which looks straight down everywhere.
    """

    size: tuple[int, int]
    expected: FloatArray
    spread: FloatArray
    flat: bool = False
    pivot: FloatArray = field(default_factory=lambda: np.zeros(3))

    @property
    def middle(self) -> FloatArray:
        """The middle of the picture, pixels."""
        return (np.array(self.size) - 1.0) / 2.0

    def see(self, values: FloatArray, world: FloatArray) -> FloatArray:
        """Return the pixels, (n, 2), of places (n, 3), mm."""
        if self.flat:
            cos, sin = np.cos(values[2]), np.sin(values[2])
            x, y = (world[:, :2] - values[:2]).T
            turned = np.column_stack([cos * x + sin * y + values[5] * y, sin * x - cos * y])
            return np.asarray(turned * np.exp(values[3:5]) + self.middle)
        ray = world @ rotation(values[:3]).T + shift_of(self, values)
        plane = ray[:, :2] / np.maximum(ray[:, 2:], 1e-9)
        edge, slope = _beyond(self, values)
        within = plane * np.minimum(edge / np.maximum(np.hypot(*plane.T), 1e-9), 1.0)[:, None]
        past = slope * np.exp(values[6]) * (plane - within)
        return np.asarray(bent_again(self, values, within) + past)


def lens(size: tuple[int, int], focal: float, focal_spread: float) -> Kind:
    """Return the kind for a camera with a lens. focal: pixels; focal_spread: a share of it."""
    expected = np.zeros(LENS)
    expected[6] = np.log(focal)
    spread = np.full(LENS, np.inf)
    spread[6:] = [focal_spread, 0.006, 0.006, 0.1, 0.1, 0.05, 0.001, 0.001]
    return Kind(size, expected, spread)


def scanner(size: tuple[int, int], scale: float) -> Kind:
    """Return the kind for a flat-bed scanner. scale: pixels per mm, from the file."""
    expected = np.array([0.0, 0.0, 0.0, np.log(scale), np.log(scale), 0.0])
    spread = np.array([np.inf, np.inf, np.inf, SCANNED, SCANNED, 0.005])
    return Kind(size, expected, spread, flat=True)


def _beyond(kind: Kind, values: FloatArray) -> tuple[float, float]:
    """Return how far from its middle a lens's image plane is in the picture, and its slope there.

    Beyond that, pixels go straight on: a lens's polynomial turns back, so that a place far beside
    the picture would seem to be in it.
    """
    corner = np.hypot(*kind.size) / 2.0 + np.hypot(*values[7:9]) * max(kind.size)
    far = np.arange(1, RADII + 1) * (CORNER / RADII)
    powers = np.stack([far**2, far**4, far**6])
    out = far * (1.0 + values[9:12] @ powers)
    slope = 1.0 + np.array([3.0, 5.0, 7.0]) * values[9:12] @ powers
    ends = (out > corner / np.exp(values[6])) | (slope < STEEP)
    first = int(np.argmax(ends)) if ends.any() else RADII - 1
    return float(far[first]), max(float(slope[first]), STEEP)


def shift_of(kind: Kind, values: FloatArray) -> FloatArray:
    """Return where the table's origin lies before a lens, (3,), mm."""
    focal = np.exp(values[6])
    across = (values[3:5] - values[7:9]) * max(kind.size) / focal
    deep = focal * np.exp(values[5])
    return np.asarray(deep * np.array([*across, 1.0]) - rotation(values[:3]) @ kind.pivot)


def seen_from(kind: Kind, values: FloatArray, shift: FloatArray) -> FloatArray:
    """Return a lens's values with its place given by the table's origin in front of it."""
    at = shift + rotation(values[:3]) @ kind.pivot
    focal = np.exp(values[6])
    made = values.copy()
    made[3:5] = at[:2] / at[2] * focal / max(kind.size) + values[7:9]
    made[5] = np.log(at[2] / focal)
    return made


def rotation(turn: FloatArray) -> FloatArray:
    """Return the rotation matrix of a rotation vector (Rodrigues)."""
    angle = float(np.linalg.norm(turn))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = turn / angle
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross)


def bent(values: FloatArray, plane: FloatArray) -> FloatArray:
    """Return where the lens puts points of its image plane, (n, 2)."""
    k1, k2, k3, p1, p2 = values[9:14]
    x, y = plane.T
    r2 = np.minimum(x * x + y * y, 4.0)
    swell = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
    u = x * swell + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
    v = y * swell + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
    return np.column_stack([u, v])


def unbent(kind: Kind, values: FloatArray, pixels: FloatArray) -> FloatArray:
    """Return pixels (n, 2) on the image plane of a lens without distortion; a scan's are unchanged.

    Straight lines on the table are straight there.
    """
    if kind.flat:
        return pixels
    middle = kind.middle + values[7:9] * max(kind.size)
    wanted = (pixels - middle) / np.exp(values[6])
    plane = wanted.copy()
    for _ in range(12):
        left = wanted - bent(values, plane)
        plane += left
        if np.abs(left).max(initial=0.0) < NO_MORE:
            break
    return np.asarray(plane)


def bent_again(kind: Kind, values: FloatArray, plane: FloatArray) -> FloatArray:
    """Return the pixels of points that `unbent` gave."""
    if kind.flat:
        return plane
    middle = kind.middle + values[7:9] * max(kind.size)
    return np.asarray(bent(values, plane) * np.exp(values[6]) + middle)


def on_table(
    kind: Kind, values: FloatArray, pixels: FloatArray, height: FloatArray | float = 0.0
) -> FloatArray:
    """Return where on the table, (n, 2) mm, pixels (n, 2) lie; `height` of the paper there, mm."""
    if kind.flat:
        cos, sin = np.cos(values[2]), np.sin(values[2])
        ways = np.array([[cos, sin + values[5]], [sin, -cos]])
        flat = (pixels - kind.middle) / np.exp(values[3:5])
        return np.asarray(flat @ np.linalg.inv(ways).T + values[:2])
    plane = unbent(kind, values, pixels)
    turn = rotation(values[:3])
    rays = np.column_stack([plane, np.ones(len(plane))]) @ turn
    eye = eye_of(kind, values)
    far = (np.asarray(height) - eye[2]) / rays[:, 2]
    return np.asarray(eye[:2] + rays[:, :2] * far[:, None])


def eye_of(kind: Kind, values: FloatArray) -> FloatArray:
    """Return the place of a lens, (3,), mm."""
    return np.asarray(-rotation(values[:3]).T @ shift_of(kind, values))


def tilt_of(values: FloatArray) -> float:
    """Return the angle between a lens's view and straight down, degrees."""
    return float(np.degrees(np.arccos(np.clip(-rotation(values[:3])[2, 2], -1.0, 1.0))))
