"""Takes the stabs of a corner apart, which lie so close together that they touch.

All holes of one place are fitted at once, as a sum of blurred discs. One after another is added
where most darkness is left unexplained, and as many are kept as the information criterion says
(Akaike, IEEE Transactions on Automatic Control 19, 1974).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.sparse.csgraph import connected_components
from scipy.spatial.distance import pdist
from scipy.special import erf

from plotout import FloatArray
from plotout_photo.arms import Arm, Lines, arms_at, first_ends, lines_over

MARGIN = 1.2  # mm around a cluster's spots that are explained together
MOST, ALONE = 6, 4  # stabs of a corner, and of one that is seen as one spot
APART, OVERLAP = 0.7, 0.7  # least mm between two of them, and least share of their size
DEEP = 0.09  # least darkness of a hole's centre
WIDE = 1.5  # greatest mm across of a hole
USUAL = 0.8  # mm: where the fit begins
# shares of their darkness between two discs of one blot, and in the mean over all; places looked at
JOINED, FILLED, STEPS = 0.8, 0.9, 9
SOLID, RING = 3, 5  # discs of a blot that is filled, and of one that is not
FLUX, BESIDE = 0.035, 0.1  # least mm2 of full black, without lines near and with some
MEETING = (0.35, 0.2)  # darkness and mm2, either of which a hole has where two lines meet
AROUND = 2.4  # and where little else may be dark: lettering goes on
LEFT = 0.4  # share of the darkness (squared) that holes may leave unexplained, and of that beyond
SHOWN = 0.42  # least share of a disc's darkness that is left without lines
CLEAR = 0.99  # share of it at which no more are sought
NOISE = 0.08  # darkness that noise may be
NONE = np.empty((0, 4))  # no discs
ROUNDS, ENOUGH = 10, 1e-3  # of the fit, which ends when it gains no more


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
    inner = max(float(np.hypot(*(at - centre).T).max()), scale) + MARGIN * scale
    arms = arms_at(*lined, centre, inner, scale) if lined else []
    place = _Place(lined[0] if lined and arms else clean, at, arms, scale, blur)
    ends = first_ends(arms, centre, inner)
    data = _clearly(place.off(NONE, ends))
    if place.beyond(ends) > (2.0 if arms else 1.0) * LEFT * data:
        return None  # in time, before much is fitted to lettering
    discs, ends, off = _explained(place, ends, MOST if len(at) > 1 else ALONE)
    data = max(data, _clearly(place.off(NONE, ends)))  # ends that moved explain more or less
    if max(_clearly(off), place.beyond(ends)) > LEFT * data or not (len(discs) or arms):
        return None
    discs = discs[place.judged(discs)[0]]
    discs[:, :2] += place.low
    if lined:
        discs = discs[_shown(clean, discs) > SHOWN]
    blots = _in_blots(clean, discs)
    if blots.any() and blots.all():
        return None
    discs = discs[~blots]
    noise = np.full(len(discs), np.sqrt(np.mean(off**2)))
    flux = _flux(discs, scale, blur)
    return np.column_stack([discs, flux, noise])


def _shown(clean: Any, discs: FloatArray) -> FloatArray:
    """Return what share of discs' darkness, (n,), is left without lines: of a line's own, little.

    A line is not equally dark all along, so discs are also fitted to where it is darkest.
    """
    way = np.arange(8) * np.pi / 4.0
    inside = np.vstack([[0.0, 0.0], 0.5 * np.column_stack([np.cos(way), np.sin(way)])])
    x, y = np.moveaxis(discs[:, None, :2] + discs[:, 3, None, None] * inside, 2, 0)
    left = map_coordinates(clean, [y, x], order=1, mode="nearest", output=np.float64)
    return np.asarray(left.mean(axis=1) / np.maximum(discs[:, 2], 1e-3))


def _explained(
    place: _Place, ends: FloatArray, most: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the discs that explain a place best, with its lines' ends, and what they leave."""
    now, off = NONE, place.off(NONE, ends)
    kept, best = (now, ends, off), np.inf
    if place.arms:
        now, ends, off = place.fitted(now, ends)
        kept, best = (now, ends, off), place.worth(off, 0)
    lowest, idle, whole = best, 0, off @ off
    while len(now) < most and off @ off > (1.0 - CLEAR) * whole and idle < 2:
        now, ends, off = place.fitted(np.vstack([now, place.next(off)]), ends)
        worth = place.worth(off, len(now))
        hole, faint = place.judged(now)
        sound = (hole | (faint & bool(place.arms))).all() and _apart(now[hole], place.scale)
        if worth < best and sound:
            kept, best = (now, ends, off), worth
        idle = 0 if worth < lowest else idle + 1
        lowest = min(lowest, worth)
    return kept


def _clearly(dark: FloatArray) -> float:
    """Return the sum of squares of what is more than noise."""
    clear = dark[np.abs(dark) > NOISE]
    return float(clear @ clear)


def _apart(discs: FloatArray, scale: float) -> bool:
    """Return whether discs are far enough from each other to be stabs."""
    if len(discs) < 2:
        return True
    one, other = np.triu_indices(len(discs), 1)
    least = np.maximum(APART * scale, OVERLAP * (discs[one, 3] + discs[other, 3]))
    return bool((pdist(discs[:, :2]) > least).all())


def _in_blots(clean: Any, discs: FloatArray) -> NDArray[np.bool_]:
    """Return which discs, (n,), are parts of print or of a letter: it is as dark between them.

    Between any two of three or more, as in a printed dot; or from each of five to the next, as in a
    ring: so many stabs don't touch.
    """
    one, other = np.triu_indices(len(discs), 1)
    share = np.linspace(0.0, 1.0, STEPS)[:, None, None]
    x, y = np.moveaxis(discs[one, :2] * (1.0 - share) + discs[other, :2] * share, 2, 0)
    dark = map_coordinates(clean, [y, x], order=1, output=np.float64).min(axis=0)
    filled = np.zeros((len(discs), len(discs)))
    filled[one, other] = np.minimum(dark / np.minimum(discs[one, 2], discs[other, 2]), 1.0)
    _, part = connected_components(filled > JOINED, directed=False)
    made = np.zeros(len(discs), dtype=bool)
    for k in np.unique(part):
        own = part == k
        pairs = filled[np.ix_(own, own)][np.triu_indices(own.sum(), 1)]
        made[own] = own.sum() >= RING or (own.sum() >= SOLID and pairs.mean() > FILLED)
    return made


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


class _Place:
    """A place around spots, (m, 2) pixels, and what is near them: fitted to, and judged by.

    low: its lower left in the picture, from which its discs, (n, 4), are counted.
    """

    def __init__(
        self, picture: Any, at: FloatArray, arms: Sequence[Arm], scale: float, blur: float
    ) -> None:
        self.arms, self.scale, self.blur = arms, scale, blur
        low = np.maximum(np.floor(at.min(axis=0) - AROUND * scale).astype(int), 0)
        high = np.ceil(at.max(axis=0) + AROUND * scale).astype(int) + 1
        patch = np.asarray(picture[low[1] : high[1], low[0] : high[0]], dtype=np.float64)
        y, x = np.mgrid[: patch.shape[0], : patch.shape[1]].astype(np.float64)
        far = np.min([np.hypot(x - spot[0], y - spot[1]) for spot in at - low], axis=0)
        self.low, self.near = low, far < MARGIN * scale
        around = (far < AROUND * scale) & ~self.near
        self.at, self.data = np.column_stack([x[self.near], y[self.near]]), patch[self.near]
        self.lines = Lines(arms, self.at + low, blur)
        self.rest = patch[around]
        self.rest_lines = Lines(arms, np.column_stack([x[around], y[around]]) + low, blur)

    def worth(self, off: FloatArray, discs: int) -> float:
        """Return the information criterion: less is better."""
        independent = len(off) / max(2.0 * np.pi * self.blur**2, 1.0)  # neighbours share their blur
        return float(independent * np.log(off @ off) + 2 * 4 * discs)

    def beyond(self, ends: FloatArray) -> float:
        """Return how dark it is farther from the spots, without its lines."""
        return _clearly(self.rest - self.rest_lines(ends)[0])

    def judged(self, discs: FloatArray) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Return which discs are holes, (n,), and which are too faint for one."""
        narrow = discs[:, 3] < 0.49 * WIDE * self.scale
        depth, flux = discs[:, 2], _flux(discs, self.scale, self.blur)
        dark = (depth > DEEP) & (flux > (BESIDE if self.arms else FLUX))
        if self.arms:  # lines leave some darkness, most where they meet
            over = lines_over(self.arms, discs[:, :2] + self.low)
            dark &= (over < 2) | (depth > MEETING[0]) | (flux > MEETING[1])
        return narrow & dark, narrow & ~dark

    def next(self, off: FloatArray) -> FloatArray:
        """Return a disc, (4,), where most darkness is left."""
        left = np.zeros(self.near.shape)
        left[self.near] = off
        seen = np.where(self.near, cv2.GaussianBlur(left, (0, 0), self.blur), 0.0)
        row, column = np.unravel_index(int(seen.argmax()), seen.shape)
        return np.array([column, row, max(left[row, column], 0.05), USUAL / 2.0 * self.scale])

    def off(self, discs: FloatArray, ends: FloatArray) -> FloatArray:
        """Return what discs and lines leave unexplained, (m,)."""
        return self._compared(discs, ends)[0]

    def _compared(self, discs: FloatArray, ends: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return what is left unexplained, (m,), and the slopes, (4 n + lines, m)."""
        value, slopes = _each(self.at, discs, self.blur)
        line, by_end = self.lines(ends)
        holes, clear = value.sum(axis=0), 1.0 - line
        rows = np.vstack([(slopes * clear).reshape(-1, len(self.at)), by_end * (1.0 - holes)])
        return self.data - line - clear * holes, rows

    def fitted(
        self, discs: FloatArray, ends: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Fit discs and lines' ends by the Levenberg-Marquardt method.

        Returns them, and what they leave unexplained, (m,).
        """
        count, damping = len(discs), 1e-3
        radii = (0.5 * self.blur, WIDE / 2.0 * self.scale)
        off, rows = self._compared(discs, ends)
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
            new, tried = self._compared(after, moved)
            gain = off @ off - new @ new
            if gain > 0.0:
                discs, ends, off, rows, damping = after, moved, new, tried, damping * 0.3
                if gain < ENOUGH * (off @ off):
                    break
            else:
                damping *= 10.0
        return discs, ends, off
