"""How uncertain a solution's unknowns are, by the marks' own noise."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from plotout import FloatArray
from plotout_photo.model import CORNER
from plotout_photo.slopes import jacobian
from plotout_photo.solve import Solution

DRAWS = 48
LEAST_NOISE = 0.2  # of the assumed noise of marks: less is luck


@lru_cache(maxsize=1)  # asked several times of one solution
def draws(solution: Solution) -> FloatArray:
    """Return unknowns drawn at random from their covariance, (DRAWS, unknowns).

    The noise of the marks is taken from what they leave; what is expected of a lens beforehand
    stays as it is. Where no distance was measured, the strips are taken to be true to scale.
    """
    model, x = solution.model, solution.x
    slopes = jacobian(model, x)
    seen, said = slopes[: model.seen], slopes[model.seen :]
    by_seen, by_said = (np.asarray((rows.T @ rows).todense()) for rows in (seen, said))
    square = by_seen / noise(solution, by_seen, by_seen + by_said) ** 2 + by_said
    square[np.diag_indices_from(square)] *= 1.0 + 1e-9
    square[np.diag_indices_from(square)] += 1e-9
    lower = np.linalg.cholesky(square)
    random = np.random.default_rng(1).standard_normal((model.count, DRAWS))
    # of x with covariance inverse(L L'): solve L' x = random
    drawn = np.asarray(x + np.linalg.solve(lower.T, random).T)
    drawn.setflags(write=False)
    return drawn


def noise(solution: Solution, by_seen: FloatArray, square: FloatArray) -> float:
    """Return the noise of what is seen, in multiples of that assumed.

    It is greater where whole marks are off, and not just their corners: then the lens or the strips
    are not as they are modelled. by_seen, square: the normal equations of what is seen, and of all.
    """
    model, x = solution.model, solution.x
    off = model.residuals(x)[: model.seen]
    if not len(off):
        return 1.0
    taken = float(np.trace(np.linalg.pinv(square, hermitian=True) @ by_seen))  # unknowns found
    marks = np.concatenate([
        model.off(x, index).reshape(-1, 4, 2).mean(axis=1).ravel() / CORNER
        for index in range(len(model.views))
    ])  # fmt: skip
    alone = float(off @ off) / max(len(off) - taken, len(off) / 5.0)
    together = 4.0 * float(marks @ marks) / max(len(marks) - taken, len(marks) / 4.0)
    return max(float(np.sqrt(max(alone, together))), LEAST_NOISE)
