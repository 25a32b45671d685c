"""The residuals' derivatives, sparse."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array

from plotout import FloatArray
from plotout_photo.camera_slopes import slopes
from plotout_photo.model import CORNER, OUTWARD, SPREAD, Model

Integers = NDArray[np.intp]
Triples = list[tuple[Integers, Integers, FloatArray]]
"""Rows, columns and values."""


def jacobian(model: Model, x: FloatArray) -> csr_array:
    """Return the residuals' derivatives, (residuals, unknowns)."""
    triples: Triples = []
    row = 0

    def put(rows: Integers, column: int, values: FloatArray) -> None:
        triples.append((rows, np.full(len(rows), column), values))

    for index, view in enumerate(model.views):
        world, own = model.corners(x, index)
        rows = row + np.arange(2 * len(world))
        by_value, ways = slopes(view.kind, model.camera(x, index), world)
        ways = ways[:, :, :2]
        for k in range(by_value.shape[2]):
            put(rows, model.camera_at[index] + k, by_value[:, :, k].ravel() / CORNER)
        across = np.einsum("nij,nj->ni", ways, _by_spread(model, x, index)).ravel() / CORNER
        spread = model.camera_at[index] + len(view.kind.expected)
        put(rows, spread, across)
        put(rows, spread + 1, view.outward.ravel() / CORNER)
        for strip, part in model.rows_of[index]:
            at = (row + 2 * part[:, None] + np.arange(2)).ravel()
            for column, move in _by_strip(model, x, strip, own[part]):
                put(at, column, np.einsum("nij,nj->ni", ways[part], move).ravel() / CORNER)
        row += 2 * len(world)
        if view.pricks:
            seen = list(view.pricks)
            places, weight = model.places(x)[seen], 1.0 / np.repeat(view.sigma, 2)
            rows = row + np.arange(2 * len(seen))
            by_value, ways = slopes(view.kind, model.camera(x, index), places)
            for k in range(by_value.shape[2]):
                put(rows, model.camera_at[index] + k, by_value[:, :, k].ravel() * weight)
            for k in (0, 1):
                columns = model.prick_at + 2 * np.repeat(seen, 2) + k
                triples.append((rows, columns, ways[:, :, k].ravel() * weight))
            if model.net:
                up = ways[:, :, 2].ravel() * weight
                basis = np.repeat(model.net.basis[seen], 2, axis=0)
                hit = np.argwhere(basis)
                values = up[hit[:, 0]] * basis[hit[:, 0], hit[:, 1]]
                triples.append((rows[hit[:, 0]], model.net_at + hit[:, 1], values))
            row += 2 * len(seen)
    row = _by_priors(model, x, row, triples)
    rows, columns, values = (np.concatenate([triple[k] for triple in triples]) for k in range(3))
    return csr_array(coo_array((values, (rows, columns)), shape=(row, model.count)))


def _by_spread(model: Model, x: FloatArray, index: int) -> FloatArray:
    out = np.tile(OUTWARD, (len(model.views[index].marks), 1))
    moved = np.zeros_like(out)
    for strip, rows in model.rows_of[index]:
        origin = model.on_strip(x, strip, np.zeros((1, 2)))
        moved[rows] = model.on_strip(x, strip, out[rows]) - origin
    return moved


def _by_strip(
    model: Model, x: FloatArray, strip: int, own: FloatArray
) -> list[tuple[int, FloatArray]]:
    """Return column and movement, (n, 2), of points of a strip."""
    angle = model.pose(x, strip)[0]
    cos, sin = np.cos(angle), np.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    wide = own * np.array([1.0, 1 + x[1]])
    moves = [
        (0, wide @ turn),
        (1, own * np.array([0.0, 1 + x[0]]) @ turn),
    ]
    if strip != model.strips[0]:
        at = model.strip_at[strip]
        mm = wide * (1 + x[0])
        moves.append((at, mm @ np.array([[-sin, cos], [-cos, -sin]])))
        moves += [(at + 1 + k, np.tile(np.eye(2)[k], (len(own), 1))) for k in (0, 1)]
    return moves


def _by_priors(model: Model, x: FloatArray, row: int, triples: Triples) -> int:
    columns, values = [0, 1], [1 / spread for spread in model.print_spread]
    for index, view in enumerate(model.views):
        said = np.flatnonzero(np.isfinite(view.kind.spread))
        own = model.camera_at[index] + len(view.kind.spread) + np.arange(len(SPREAD))
        columns += [*(model.camera_at[index] + said), *own]
        values += [*(1.0 / view.kind.spread[said]), *(1.0 / spread for spread in SPREAD)]
    triples.append((row + np.arange(len(columns)), np.array(columns), np.array(values)))
    row += len(columns)
    if model.net:
        hit = np.argwhere(model.net.prior)
        picked = model.net.prior[hit[:, 0], hit[:, 1]]
        triples.append((row + hit[:, 0], model.net_at + hit[:, 1], picked))
        row += len(model.net.prior)
    for known in model.known:
        moves: dict[int, float] = {}
        ends = [model.on_strip(x, s, np.array([at]))[0] for s, at in known.ends]
        direction = (ends[0] - ends[1]) / np.hypot(*(ends[0] - ends[1]))
        for sign, (strip, at) in zip((1.0, -1.0), known.ends, strict=True):
            for column, move in _by_strip(model, x, strip, np.array([at])):
                moves[column] = moves.get(column, 0.0) + sign * float(move[0] @ direction)
        slope = np.array(list(moves.values())) / known.sigma
        triples.append((np.full(len(moves), row), np.array(list(moves)), slope))
        row += 1
    return row
