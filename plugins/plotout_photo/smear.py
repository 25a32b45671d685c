"""By how much a picture is blurred one way and not across it: the camera or the sheet moved.

The cells of a mark are known, and its corners are measured, so that it can be drawn as it would be
without blur. What blurs that into what is seen has a covariance: along and across, in pixels of the
picture, whatever the tilt. Blur in all directions, greater where it is farther away, leaves its
difference. A lens blurs edges outwards, as the square of the distance from the picture's middle
(lateral colour); motion blurs all marks alike (their covariances: 1/12 of its square).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.marks import Seen
from plotout_photo.strips import CELLS, DICTIONARY

FEWEST, MOST = 4, 18  # marks that show a direction, and that are looked at
FINE = 4  # samples of a drawn mark, along a side
MARGIN, BESIDE = 4, 2  # pixels about a mark that are drawn with it, and that are compared
ROUNDS, SETTLED = 4, 0.03  # of fitting a blur; square pixels by which it changes no more
LEAST, GREATEST = 0.1, 60.0  # square pixels of a blur that is fitted
BENDS = tuple(  # second derivatives along x, along both, along y
    np.array(weights) for weights in (
        [[1.0, -2.0, 1.0]],
        [[0.25, 0.0, -0.25], [0.0, 0.0, 0.0], [-0.25, 0.0, 0.25]],
        [[1.0], [-2.0], [1.0]],
    )
)  # fmt: skip
PLAIN = 3.0  # sigmas by which motion stands out


def smear_of(light: Any, marks: Sequence[Seen], blur: float) -> float:
    """Return by how many pixels the camera or the sheet moved while the picture was taken.

    light: linear, float (h, w). blur: roughly the picture's, a sigma in pixels.
    """
    at, ways = [], []
    for mark in marks[:: max(1, -(-len(marks) // MOST))]:
        blurred = _blurred(light, mark, blur)
        if blurred is not None:
            at.append(mark.corners.mean(axis=0))
            ways.append(blurred)
    if len(ways) < FEWEST:
        return 0.0
    size = np.array(light.shape[::-1], dtype=np.float64)
    common, sigma = _common(np.array(ways), (np.array(at) - size / 2.0) / np.hypot(*size))
    way = float(np.hypot(*common))
    return float(np.sqrt(12.0 * way)) if way > PLAIN * sigma else 0.0


def _common(ways: FloatArray, out: FloatArray) -> tuple[FloatArray, float]:
    """Return the blur one way, (2,), that is common to marks, and its sigma, square pixels.

    ways: (n, 2), those of the marks. out: (n, 2), where they are from the picture's middle.
    """
    one, none = np.ones(len(ways)), np.zeros(len(ways))
    radial = np.column_stack([out[:, 0] ** 2 - out[:, 1] ** 2, 2.0 * out[:, 0] * out[:, 1]])
    rows = np.stack([np.column_stack([one, none]), np.column_stack([none, one]), radial], axis=2)
    kept = np.ones(len(ways), dtype=bool)
    for _ in range(4):  # without marks that are hidden or shaded in part
        solved = np.linalg.lstsq(rows[kept].reshape(-1, 3), ways[kept].ravel(), rcond=None)[0]
        rest = ways - rows @ solved
        off = np.hypot(*rest.T)
        kept = off <= 3.0 * np.median(off) + 1e-9
    used = rows[kept].reshape(-1, 3)
    spread = np.linalg.pinv(used.T @ used) * float(np.mean(rest[kept] ** 2))
    return np.asarray(solved[:2], dtype=np.float64), float(np.sqrt(spread[0, 0] + spread[1, 1]))


def _blurred(light: Any, mark: Seen, blur: float) -> FloatArray | None:
    """Return a mark's blur one way, (2,) square pixels; None if it is not seen whole.

    That is the variance along x without that along y, and twice their covariance. The drawn mark's
    change with its blur is its second derivative (a blur solves the equation of heat). It is fitted
    together with its place, with light that falls off across it, and with the halo of a camera that
    sharpens its pictures.
    """
    low = np.floor(mark.corners.min(axis=0)).astype(int) - MARGIN
    high = np.ceil(mark.corners.max(axis=0)).astype(int) + MARGIN + 1
    if (low < 0).any() or (high > light.shape[::-1]).any():
        return None
    sharp, own = _drawn(mark, low, high)
    seen = light[low[1] : high[1], low[0] : high[0]][own].astype(np.float64)
    across, down = np.meshgrid(*(np.linspace(-1.0, 1.0, side) for side in sharp.shape[::-1]))
    spread = np.eye(2) * blur**2
    for _ in range(ROUNDS):
        soft = cv2.filter2D(sharp, -1, _kernel(spread)).astype(np.float64)
        shades = (np.ones_like(soft), across, down, soft, soft * across, soft * down)
        bends = [cv2.filter2D(soft, -1, stencil) for stencil in BENDS]
        halo = cv2.Laplacian(bends[0] + bends[2], -1)
        rows = np.stack([term[own] for term in (*shades, *np.gradient(soft), halo, *bends)])
        fit = np.linalg.lstsq(rows @ rows.T, rows @ seen, rcond=None)[0]
        bright, (more_x, more_xy, more_y) = fit[3], fit[-3:]
        if bright <= 0.0:
            return None
        more = np.array([[2.0 * more_x, more_xy], [more_xy, 2.0 * more_y]]) / bright
        sizes, axes = np.linalg.eigh(spread + more)
        spread, before = (axes * np.clip(sizes, LEAST, GREATEST)) @ axes.T, spread
        if np.abs(spread - before).max() < SETTLED:
            break
    return np.array([spread[0, 0] - spread[1, 1], 2.0 * spread[0, 1]])


def _drawn(mark: Seen, low: FloatArray, high: FloatArray) -> tuple[Any, NDArray[np.bool_]]:
    """Return a mark as it would be seen without blur, float (h, w) from pixel low to high.

    And which pixels show it and what is next to it: a strip's edge is not far from a mark.
    """
    code = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    cells = np.pad(cv2.aruco.generateImageMarker(code, mark.number, CELLS), 1, constant_values=255)
    quad = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]) * CELLS + 1.0
    fine = (mark.corners - low + 0.5) * FINE - 0.5
    wide, tall = (int(side) for side in (high - low) * FINE)
    way = cv2.getPerspectiveTransform(quad.astype(np.float32) - 0.5, fine.astype(np.float32))
    nearest = cv2.INTER_NEAREST
    big = cv2.warpPerspective(cells, way, (wide, tall), flags=nearest, borderValue=255)
    share = big.reshape(tall // FINE, FINE, wide // FINE, FINE).mean(axis=(1, 3))
    own = np.zeros(share.shape, dtype=np.uint8)
    cv2.fillConvexPoly(own, np.round(mark.corners - low).astype(np.int32), 1)
    own = cv2.dilate(own, np.ones((2 * BESIDE + 1, 2 * BESIDE + 1), dtype=np.uint8))
    return (share / 255.0).astype(np.float32), own > 0


def _kernel(spread: FloatArray) -> Any:
    """Return a normal blur with a covariance, (2, 2) square pixels, as weights of pixels."""
    reach = max(2, int(np.ceil(3.0 * np.sqrt(np.diag(spread).max()))))
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    (xx, xy), (_, yy) = np.linalg.inv(spread)
    weight = np.exp(-0.5 * (xx * x * x + 2.0 * xy * x * y + yy * y * y))
    return (weight / weight.sum()).astype(np.float32)
