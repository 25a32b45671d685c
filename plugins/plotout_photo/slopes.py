"""The residuals' derivatives, sparse: by differences for cameras, else analytic."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array

from plotout import FloatArray
from plotout_photo.model import CORNER, OUTWARD, SPREAD, Model

Integers = NDArray[np.intp]
Triples = list[tuple[Integers, Integers, FloatArray]]
"""Rows, columns and values."""


def jacobian(model: Model, x: FloatArray) -> csr_array:
    """Return the residuals' derivatives, sparse: by differences for cameras, else analytic."""
    triples: Triples = []
    row = 0

    def put(rows: Integers, column: int, values: FloatArray) -> None:
        triples.append((rows, np.full(len(rows), column), values))

    for index, view in enumerate(model.views):
        world, own = model.corners(x, index)
        rows = row + np.arange(2 * len(world))
        for column, values in _by_camera(model, x, index, world):
            put(rows, column, values / CORNER)
        ways = _by_place(model, x, index, world)
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
            for column, values in _by_camera(model, x, index, places):
                put(rows, column, values * weight)
            ways = _by_place(model, x, index, places, deep=True)
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


def _by_camera(
    model: Model, x: FloatArray, index: int, world: FloatArray
) -> list[tuple[int, FloatArray]]:
    kind, values = model.views[index].kind, model.camera(x, index)
    made = []
    for k, step in enumerate(kind.steps):
        up, down = values.copy(), values.copy()
        up[k] += step
        down[k] -= step
        slope = (kind.see(up, world) - kind.see(down, world)) / (2 * step)
        made.append((model.camera_at[index] + k, slope.ravel()))
    return made


def _by_place(
    model: Model, x: FloatArray, index: int, world: FloatArray, *, deep: bool = False
) -> FloatArray:
    """Return how pixels move with places, (n, 2, 2), or (n, 2, 3) with height."""
    kind, values, step = model.views[index].kind, model.camera(x, index), 1e-3
    slopes = []
    for k in range(3 if deep else 2):
        move = np.zeros(3)
        move[k] = step
        slopes.append(
            (kind.see(values, world + move) - kind.see(values, world - move)) / (2 * step)
        )
    return np.stack(slopes, axis=2)


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
