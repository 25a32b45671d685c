"""Places corners of which stabs are unseen, where their runs meet.

Two stabs of three say little about the point that they were set around: the runs on both sides,
continued, say more. Both are weighed by how far off they may be (least squares).
"""

from __future__ import annotations

import numpy as np

from plotout import FloatArray

STABS = {1: 1.2, 2: 0.7, 3: 0.3}  # mm by which the middle of so many stabs may be off
SCATTER = 0.15  # mm by which pricks are off their line
BENDS = 0.2  # mm more by which a curve may be off beyond its last prick
NEAREST = 5  # pricks that tell how a curve goes on


def placed(stabs: int, middle: FloatArray, runs: list[tuple[FloatArray, bool]]) -> FloatArray:
    """Return the place of a corner, mm. middle: of its stabs, whose number is `stabs`.

    runs: on either side the run's pricks, (n, 2), the nearest to the corner last, and whether it is
    a curve.
    """
    if stabs not in STABS:
        return middle
    matrix, right = np.eye(2) / STABS[stabs] ** 2, np.zeros(2)
    for pricks, curved in runs:
        if len(pricks) < (4 if curved else 3):
            continue
        across, off, sigma = _continued(pricks[-NEAREST:] if curved else pricks, curved, middle)
        matrix += np.outer(across, across) / sigma**2
        right += across * off / sigma**2
    return np.asarray(middle + np.linalg.solve(matrix, right))


def _continued(
    pricks: FloatArray, curved: bool, middle: FloatArray
) -> tuple[FloatArray, float, float]:
    """Return the direction across a run where it passes a corner, and how far it passes it.

    The last value is by how much, mm, that may be off.
    """
    ahead = (pricks[-1] - pricks[0]) / np.hypot(*(pricks[-1] - pricks[0]))
    side = np.array([-ahead[1], ahead[0]])
    along, across = (pricks - middle) @ ahead, (pricks - middle) @ side
    degree = 2 if curved else 1
    rows = np.vander(along, degree + 1)
    fit = np.linalg.lstsq(rows, across, rcond=None)[0]
    spread = np.linalg.inv(rows.T @ rows)[-1, -1]
    sigma = np.hypot(SCATTER * np.sqrt(spread), BENDS if curved else 0.0)
    straight = np.hypot(1.0, fit[-2])
    return (side - fit[-2] * ahead) / straight, float(fit[-1] / straight), float(sigma / straight)
