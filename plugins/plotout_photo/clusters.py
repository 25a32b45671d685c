"""Takes the stabs of a corner apart, which lie so close together that they touch.

All holes of one place are fitted at once, as a sum of blurred discs. One after another is added
where most darkness is left unexplained, and as many are kept as the information criterion says
(Akaike, IEEE Transactions on Automatic Control 19, 1974).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import pdist
from scipy.special import erf

from plotout import FloatArray
from plotout_photo.arms import Lines, arms_at, first_ends, lines_over

MARGIN = 1.2  # mm around a cluster's spots that are explained together
MOST = 6  # stabs of a corner
APART, OVERLAP = 0.7, 0.7  # least mm between two of them, and least share of their size
DEEP = 0.09  # least darkness of a hole's centre
WIDE = 1.5  # greatest mm across of a hole
USUAL = 0.8  # mm: where the fit begins
FLUX, BESIDE = 0.035, 0.1  # least mm2 of full black, without lines near and with some
MEETING = (0.35, 0.2)  # darkness and mm2, either of which a hole has where two lines meet
AROUND = 2.4  # and where little else may be dark: lettering goes on
LEFT = 0.4  # share of the darkness (squared) that holes may leave unexplained, and of that beyond
CLEAR = 0.99  # share of it at which no more are sought
NOISE = 0.08  # darkness that noise may be
ROUNDS = 10


def stabs_of(
    clean: Any, at: FloatArray, scale: float, blur: float, lined: tuple[Any, Any] | None = None
) -> FloatArray | None:
    """Return the holes at a place, (n, 6): x, y (pixels), darkness at the centre, radius (pixels),
    flux (mm2 of full black), and the noise; n is 0 where there are only lines. None if neither
    explains what is there.

    clean: darkness without lines. at: (m, 2) the spots seen there. scale: pixels per mm. lined: the
    darkness with lines, and that of the lines, where some of them end or meet.
    """
    centre = (at.min(axis=0) + at.max(axis=0)) / 2.0
    inner = float(np.hypot(*(at - centre).T).max()) + MARGIN * scale
    arms = arms_at(*lined, centre, inner, scale) if lined else []
    picture = lined[0] if lined and arms else clean
    low = np.maximum(np.floor(at.min(axis=0) - AROUND * scale).astype(int), 0)
    high = np.ceil(at.max(axis=0) + AROUND * scale).astype(int) + 1
    patch = np.asarray(picture[low[1] : high[1], low[0] : high[0]], dtype=np.float64)
    y, x = np.mgrid[: patch.shape[0], : patch.shape[1]].astype(np.float64)
    far = np.min([np.hypot(x - spot[0], y - spot[1]) for spot in at - low], axis=0)
    near = far < MARGIN * scale
    place = np.column_stack([x[near], y[near]])
    scene = _Place(place, patch[near], Lines(arms, place + low, blur), blur)
    radii = (0.5 * blur, WIDE / 2.0 * scale)
    independent = near.sum() / max(2.0 * np.pi * blur**2, 1.0)  # neighbours share their blur
    kept = now = np.empty((0, 4))
    ends = first_ends(arms, centre, inner)
    best, kept_ends = np.inf, ends
    if arms:
        now, ends, off = scene.fitted(now, ends, radii)
        best, kept_ends = independent * np.log(off @ off), ends
    off = rest = scene.off(now, ends)
    whole = off @ off
    lowest, idle = best, 0
    most = MOST if len(at) > 1 else 2
    while len(now) < most and off @ off > (1.0 - CLEAR) * whole:
        left = np.zeros(patch.shape)
        left[near] = off
        seen = np.where(near, cv2.GaussianBlur(left, (0, 0), blur), 0.0)
        row, column = np.unravel_index(int(seen.argmax()), seen.shape)
        now = np.vstack([now, [column, row, max(left[row, column], 0.05), USUAL / 2.0 * scale]])
        now, ends, off = scene.fitted(now, ends, radii)
        worth = independent * np.log(off @ off) + 2 * 4 * len(now)
        hole, faint = _judged(now, scale, blur, lines_over(arms, now[:, :2] + low))
        if worth < best and _apart(now[hole], scale) and (hole | (faint & bool(arms))).all():
            kept, best, rest, kept_ends = now, worth, off, ends
        idle = 0 if worth < lowest else idle + 1
        lowest = min(lowest, worth)
        if idle == 2:
            break
    around = (far < AROUND * scale) & ~near
    outside = np.column_stack([x[around], y[around]])
    beyond = patch[around] - Lines(arms, outside + low, blur)(kept_ends)[0]
    data = scene.off(np.empty((0, 4)), kept_ends)
    if max(_clearly(rest), _clearly(beyond)) > LEFT * _clearly(data) or not (len(kept) or arms):
        return None
    kept = kept[_judged(kept, scale, blur, lines_over(arms, kept[:, :2] + low))[0]]
    noise = np.sqrt(np.mean(rest**2))
    return np.column_stack([kept[:, :2] + low, kept[:, 2:], _flux(kept, scale, blur),
                            np.full(len(kept), noise)])  # fmt: skip


def _clearly(dark: FloatArray) -> float:
    """Return the sum of squares of what is more than noise."""
    clear = dark[np.abs(dark) > NOISE]
    return float(clear @ clear)


def _judged(
    discs: FloatArray, scale: float, blur: float, over: NDArray[np.intp] | None
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return which discs are holes, (n,), and which are too faint for one.

    over: how many lines pass over each, (n,); None if there are no lines near.
    """
    narrow = discs[:, 3] < 0.49 * WIDE * scale
    depth, flux = discs[:, 2], _flux(discs, scale, blur)
    dark = (depth > DEEP) & (flux > (FLUX if over is None else BESIDE))
    if over is not None:  # lines leave some darkness, most where they meet
        dark &= (over < 2) | (depth > MEETING[0]) | (flux > MEETING[1])
    return narrow & dark, narrow & ~dark


def _apart(discs: FloatArray, scale: float) -> bool:
    """Return whether discs are far enough from each other to be stabs."""
    if len(discs) < 2:
        return True
    one, other = np.triu_indices(len(discs), 1)
    least = np.maximum(APART * scale, OVERLAP * (discs[one, 3] + discs[other, 3]))
    return bool((pdist(discs[:, :2]) > least).all())


def _flux(discs: FloatArray, scale: float, blur: float) -> FloatArray:
    """Return the darkness of discs in all, (n,) mm2 of full black."""
    _, _, height, radius = discs.T
    return np.asarray(
        height * np.pi * (radius**2 + blur**2) / erf(radius / (np.sqrt(2.0) * blur)) / scale**2
    )


def _each(place: FloatArray, discs: FloatArray, blur: float) -> tuple[FloatArray, FloatArray]:
    """Return the darkness of discs (n, 4) at places (m, 2), (n, m), and its slopes (4, n, m).

    A disc's edge is as a straight one, blurred: an error function of the distance from it.
    """
    dx = place[:, 0] - discs[:, 0, None]
    dy = place[:, 1] - discs[:, 1, None]
    height, radius = discs[:, 2, None], discs[:, 3, None]
    far = np.hypot(dx, dy) + 1e-9
    unit = np.sqrt(2.0) * blur
    whole = 2.0 * erf(radius / unit)
    shape = (erf((radius - far) / unit) + erf((radius + far) / unit)) / whole
    steep = 2.0 / (np.sqrt(np.pi) * unit)
    inner = steep * np.exp(-(((radius - far) / unit) ** 2))
    outer = steep * np.exp(-(((radius + far) / unit) ** 2))
    falls = height * (inner - outer) / whole / far
    grows = height * (inner + outer - shape * 2.0 * steep * np.exp(-((radius / unit) ** 2))) / whole
    return height * shape, np.stack([falls * dx, falls * dy, shape, grows])


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """A place's pixels, (m, 2), their darkness, (m,), and the lines over them."""

    at: FloatArray
    data: FloatArray
    lines: Lines
    blur: float

    def off(self, discs: FloatArray, ends: FloatArray) -> FloatArray:
        """Return what discs (n, 4) and lines leave unexplained, (m,)."""
        return self._explained(discs, ends)[0]

    def _explained(self, discs: FloatArray, ends: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return what is left unexplained, (m,), and the slopes, (4 n + lines, m)."""
        value, slopes = _each(self.at, discs, self.blur)
        line, by_end = self.lines(ends)
        holes, clear = value.sum(axis=0), 1.0 - line
        rows = np.vstack([(slopes * clear).reshape(-1, len(self.at)), by_end * (1.0 - holes)])
        return self.data - line - clear * holes, rows

    def fitted(
        self, discs: FloatArray, ends: FloatArray, radii: tuple[float, float]
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Fit discs and lines' ends by the Levenberg-Marquardt method, radii within limits.

        Returns them, and what they leave unexplained, (m,).
        """
        count = len(discs)
        off, rows = self._explained(discs, ends)
        damping = 1e-3
        for _ in range(ROUNDS):
            matrix = rows @ rows.T
            matrix[np.diag_indices_from(matrix)] *= 1.0 + damping
            matrix[np.diag_indices_from(matrix)] += 1e-9
            step = np.linalg.solve(matrix, rows @ off)
            move = step[: 4 * count].reshape(4, -1).T
            after = discs + np.clip(move, [-1.5, -1.5, -0.3, -0.7], [1.5, 1.5, 0.3, 0.7])
            after[:, 2] = np.clip(after[:, 2], 1e-3, 1.5)
            after[:, 3] = np.clip(after[:, 3], *radii)
            moved = ends + np.clip(step[4 * count :], -1.5, 1.5)
            new, tried = self._explained(after, moved)
            gain = off @ off - new @ new
            if gain > 0.0:
                discs, ends, off, rows, damping = after, moved, new, tried, damping * 0.3
                if gain < 1e-4 * (off @ off):
                    break
            else:
                damping *= 10.0
        return discs, ends, off
