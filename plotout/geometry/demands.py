"""What a fair curve must meet exactly, whatever its pricks say: its ends, or that it closes."""

from __future__ import annotations

import numpy as np

from plotout.geometry.bending import Basis, Drawn, Indices
from plotout.geometry.smoothing import Condition
from plotout.geometry.strokes import FloatArray


def is_square(condition: Condition | None) -> bool:
    """Return whether a curve's end is to be square to a line, not along it."""
    return condition is not None and abs(float(condition.flat @ condition.normal)) < 0.5


def demands(
    now: Drawn, basis: Basis, start: Condition | None, end: Condition | None
) -> tuple[FloatArray, FloatArray]:
    """Return a step's exact constraints: rows over the unknowns, (k, b + 4), and sums, (k,).

    Of several curves, with a first axis.
    """
    count = now.values.shape[-1] + 4
    first, last = now.points[..., 0, :], now.points[..., -1, :]
    at_end = np.full((*first.shape[:-1], 1), now.points.shape[-2] - 1)

    def moved(index: Indices, along: FloatArray) -> FloatArray:
        return now.push(index, along)[..., 0, :]

    def begun(along: FloatArray) -> FloatArray:
        row = np.zeros((*first.shape[:-1], count))
        row[..., :2] = along
        return row

    heading = begun(np.zeros(2))
    heading[..., 2] = 1.0
    turn = heading.copy()
    turn[..., 3:-1] = now.turn
    size = begun(np.zeros(2))
    size[..., -1] = 1.0
    rows: list[FloatArray] = []
    due: list[FloatArray] = []
    if basis.closed:
        for axis in np.eye(2):
            row = moved(at_end, axis)
            row[..., :2] = 0.0  # the start moves too
            rows.append(row)
            due.append((first - last) @ axis)
        rows.append(turn - heading)
        all_turned = now.angles[..., -1] - now.angles[..., 0]
        due.append(2.0 * np.pi * np.round(all_turned / (2.0 * np.pi)) - all_turned)
        rows.append(now.slide())
        due.append(np.zeros(first.shape[:-1]))  # and it doesn't slide along the curve
        return np.stack(rows, axis=-2), np.stack(due, axis=-1)
    if end is None or end.anchor is None:
        rows.append(size)
        due.append(np.zeros(first.shape[:-1]))
    if start is None:
        rows.append(begun(now.directions[..., 0, :]))
        due.append(np.zeros(first.shape[:-1]))
    else:
        rows += [begun(start.normal), heading]
        due += [start.offset - first @ start.normal, _askew(start, now, 0)]
        if start.anchor is not None:
            along = np.array([start.normal[1], -start.normal[0]])
            rows.append(begun(along))
            due.append((start.anchor - first) @ along)
    if end is not None:
        rows.append(turn)
        due.append(_askew(end, now, -1))
        if not is_square(end):
            rows.append(moved(at_end, end.normal))
            due.append(end.offset - last @ end.normal)
        if end.anchor is not None:
            along = np.array([end.normal[1], -end.normal[0]])
            rows.append(moved(at_end, along))
            due.append((end.anchor - last) @ along)
    return np.stack(rows, axis=-2), np.stack(due, axis=-1)


def _askew(condition: Condition, now: Drawn, index: int) -> FloatArray:
    """Return the turn, radians, after which the curve doesn't move along `flat` there."""
    tangent, flat = now.directions[..., index, :], condition.flat
    sine = tangent @ flat
    cosine = tangent[..., 1] * flat[0] - tangent[..., 0] * flat[1]
    askew = np.abs(cosine) > 1e-9
    return np.where(askew, np.arctan(sine / np.where(askew, cosine, 1.0)), np.pi / 2.0)
