"""Places corners where their stabs and the runs on both sides say together, by how sure each is.

Two stabs of three say little about the point that they were set around: the runs on both sides,
continued, say more. A straight run says where it passes to a tenth of a millimetre; a curve only as
well as different curves through its last pricks agree beyond them (least squares, with the weights
of Cauchy's distribution for runs that contradict the stabs).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from plotout import FloatArray

STABS = (4.0, 1.2, 0.7, 0.15, 0.13)  # mm by which the middle of so many stabs is likely off
DRAWN = 0.3  # mm by which lines that are drawn through pricks are likely off them where they meet
SCATTER = 0.15  # least mm by which pricks are off their line
CURVES = ((2, 4), (2, 5), (3, 6), (3, 7))  # degrees, and pricks, of the curves that are compared
FAR = 2.5  # steps to a corner from which a curve may bend otherwise before it, or not at all
UNSEEN = 0.25  # share of the way to a corner without stabs by which it is likely off
UNFIT = 1.5  # sigmas from which a run that contradicts the stabs counts less
CROSSED = 0.5  # sine of the angle at which a run crosses a row of stabs, to show where
CONTRADICTS = 3.0  # sigmas by which it shows that one is unseen
UNSEEN_BY = (0.3, 1.2)  # of the row's steps, between which it is then (one: 0.5; two: 1)


class Side(NamedTuple):
    """A run beside a corner. pricks: (n, 2), the nearest to the corner last."""

    pricks: FloatArray
    curved: bool


class Line(NamedTuple):
    """Where a run passes a corner. across: (2,) unit vector; off, sigma: mm along it."""

    across: FloatArray
    off: float
    sigma: float


def placed(
    stabs: int,
    middle: FloatArray,
    sides: Sequence[Side],
    drawn: bool = False,
    row: FloatArray | None = None,
) -> tuple[FloatArray, float]:
    """Return the place of a corner, and by how much it may be off, one sigma, mm.

    middle: of its stabs, whose number is `stabs`; or roughly where it is. drawn: where two drawn
    lines meet there. row: (2,) mm, from stab to stab, if they are in a row.
    """
    own = DRAWN if drawn else STABS[min(stabs, len(STABS) - 1)]
    if not stabs and not drawn:  # where both sides meet: the farther away, the less surely
        gaps = [float(np.hypot(*(side.pricks[-1] - middle))) for side in sides if len(side.pricks)]
        own = max(own, UNSEEN * max(gaps, default=0.0))
    lines = [
        continued(side, middle) for side in sides
        if len(side.pricks) >= (CURVES[0][1] if side.curved else 3)
    ]  # fmt: skip
    place = middle
    for _ in range(8):
        matrix, right = np.eye(2) / own**2, np.zeros(2)
        for across, off, sigma in lines:
            unfit = ((place - middle) @ across - off) / (UNFIT * max(sigma, own / 2.0))
            weight = 1.0 / sigma**2 / (1.0 + unfit**2)
            matrix += weight * np.outer(across, across)
            right += weight * off * across
        place = middle + np.linalg.solve(matrix, right)
    beside = 0.0 if row is None else _beside(row, lines, own)
    return place, float(np.hypot(np.sqrt(np.trace(np.linalg.inv(matrix))), beside))


def _beside(row: FloatArray, lines: Sequence[Line], own: float) -> float:
    """Return how far from the middle of a row of stabs the runs meet, mm, if one is unseen.

    The middle of the others is off by half a step then, along the row, and all runs that show where
    they cross the row say so. Else a run is led on wrongly, or nothing is wrong: 0.
    """
    step = float(np.hypot(*row))
    ways = [(line, float(line.across @ row) / step) for line in lines]
    crossed = [(line.off / share, max(line.sigma, own) / abs(share))
               for line, share in ways if abs(share) > CROSSED]  # fmt: skip
    if not any(abs(along) > CONTRADICTS * sigma for along, sigma in crossed):
        return 0.0
    shifts = np.array([along for along, _ in crossed]) / step
    if np.ptp(np.sign(shifts)) or not (UNSEEN_BY[0] < abs(shifts)).all():
        return 0.0
    return float(np.abs(shifts).max()) * step if (abs(shifts) < UNSEEN_BY[1]).all() else 0.0


def continued(side: Side, middle: FloatArray) -> Line:
    """Return where a run passes a corner that is roughly at `middle`."""
    if not side.curved:
        return _fitted(side.pricks, 1, middle)
    tried = [
        _fitted(side.pricks[-count:], degree, middle)
        for degree, count in CURVES
        if len(side.pricks) >= count
    ]
    best = min(tried, key=lambda line: line.sigma)
    doubt = max(abs(line.off - best.off) for line in tried) if len(tried) > 1 else SCATTER
    gap = float(np.hypot(*(side.pricks[-1] - middle)))
    if gap > FAR * float(np.median(np.hypot(*np.diff(side.pricks, axis=0).T))):
        doubt = max(doubt, abs(_fitted(side.pricks[-3:], 1, middle).off - best.off))
    return best._replace(sigma=float(np.hypot(best.sigma, doubt)))


def _fitted(pricks: FloatArray, degree: int, middle: FloatArray) -> Line:
    """Return where the curve of a degree through pricks passes a corner."""
    ahead = (pricks[-1] - pricks[0]) / np.hypot(*(pricks[-1] - pricks[0]))
    side = np.array([-ahead[1], ahead[0]])
    along, across = (pricks - middle) @ ahead, (pricks - middle) @ side
    rows = np.vander(along, degree + 1)
    fit = np.linalg.lstsq(rows, across, rcond=None)[0]
    spread = float(np.linalg.pinv(rows.T @ rows)[-1, -1])
    off = across - rows @ fit
    spare = len(pricks) - degree - 1
    scatter = max(SCATTER, float(np.sqrt(off @ off / spare)) if spare > 0 else 0.0)
    straight = float(np.hypot(1.0, fit[-2]))
    return Line(
        (side - fit[-2] * ahead) / straight, float(fit[-1]) / straight,
        scatter * float(np.sqrt(max(spread, 0.0))) / straight,
    )  # fmt: skip
