"""Systems of linear equations, of one matrix or of many at once."""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray

_SINGULAR = 1e-9  # of the greatest singular value: what a row of less asks for is met already


def solved(rows: FloatArray, due: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the shortest x, (..., u), for which rows @ x is due; and what may be added to it.

    rows: (..., k, u), k < u. due: (..., k). The latter: orthonormal columns, (..., u, q), that rows
    make 0. Of one matrix, rows that others imply leave more of them. Of many, those that are not
    finite have no solution that is; one that isn't raises LinAlgError.
    """
    if rows.ndim > 2:
        there = np.isfinite(rows.sum(axis=(-2, -1)))
        rows = np.where(there[..., None, None], rows, 0.0)
        due = np.where(there[..., None], due, np.nan)
    left, sizes, directions = np.linalg.svd(rows)
    asked = sizes > _SINGULAR * sizes[..., :1]
    count = int(asked.sum()) if rows.ndim == 2 else rows.shape[-2]
    along = (due[..., None, :] @ left)[..., 0, :] / np.where(asked, sizes, np.inf)
    across = np.swapaxes(directions, -1, -2)
    found = (across[..., : along.shape[-1]] @ along[..., None])[..., 0]
    return found, across[..., count:]


def least_squares(rows: FloatArray, due: FloatArray) -> FloatArray:
    """Return for each of c matrices the x, (c, q), for which rows @ x comes nearest to what is due.

    rows: (c, k, q), k >= q. due: (c, k). Not finite where the numbers given are not.
    """
    across, upper = np.linalg.qr(rows)
    diagonal = np.abs(np.diagonal(upper, axis1=1, axis2=2))
    near = diagonal.min(axis=1) <= _SINGULAR * diagonal.max(axis=1)
    singular = near & np.isfinite(rows).all(axis=(1, 2))
    found = np.full((len(rows), rows.shape[2]), np.nan)
    whole = np.flatnonzero(~singular & np.isfinite(diagonal).all(axis=1))
    right = due[whole, None] @ across[whole]
    found[whole] = np.linalg.solve(upper[whole], np.swapaxes(right, 1, 2))[..., 0]
    for index in np.flatnonzero(singular):
        found[index] = np.linalg.lstsq(rows[index], due[index], rcond=None)[0]
    return found
