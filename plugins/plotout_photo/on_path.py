"""Takes doubtful spots for pricks where the path between certain ones passes over them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.groups import LIKELY, STAB
from plotout_photo.missing import turns_at
from plotout_photo.pencil import renumbered
from plotout_photo.ring import STABS
from plotout_photo.runs import Run, Way
from plotout_photo.sift import DOUBTFUL
from plotout_photo.turning import turns

OFF_CURVE = 0.7  # mm beside its neighbours' curve up to which a doubtful spot is a prick of a run
SHARP = 25.0  # degrees by which the path turns at a prick that may be one of a corner's stabs


def on_path(
    table: FloatArray, sure: FloatArray, drawn: NDArray[np.intp], order: Callable[..., Way]
) -> NDArray[np.intp]:
    """Return which are kept: the certain ones, and doubtful ones on the path between them.

    Three in one place are a corner's stabs, though writing beside them may make each doubtful. Two
    are, where the path turns.
    order: `way_round`, as of this picture.
    """
    stabs = _in_threes(table, sure)
    certain = np.flatnonzero((sure >= DOUBTFUL) | stabs)
    if len(certain) < 4:
        return np.arange(len(sure))
    way = order(table[certain], sure=sure[certain], lined=renumbered(drawn, certain))
    turned = _where_it_turns(way, table, sure, stabs)
    if turned.any():
        stabs |= turned
        certain = np.flatnonzero((sure >= DOUBTFUL) | stabs)
        way = order(table[certain], sure=sure[certain], lined=renumbered(drawn, certain))
    doubtful = np.flatnonzero((sure < DOUBTFUL) & ~stabs)
    if not way.pieces or not len(doubtful):
        return certain
    taken = [_belongs(way, runs, table[doubtful]) for runs in way.pieces]
    return np.sort(np.concatenate([certain, doubtful[np.any(taken, axis=0)]]))


def _in_threes(table: FloatArray, sure: FloatArray) -> NDArray[np.bool_]:
    """Return which places, (n, 2) mm, have others beside them, so that they may be stabs, (n,)."""
    made = np.zeros(len(table), dtype=bool)
    likely = np.flatnonzero(sure >= LIKELY)
    if len(likely):
        tree = cKDTree(table[likely])
        made[likely] = tree.query_ball_point(table[likely], STAB, return_length=True) >= STABS
    return made


def _where_it_turns(
    way: Way, table: FloatArray, sure: FloatArray, stabs: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Return which doubtful places, (n, 2) mm, are stabs of a corner to which a path leads, (n,).

    Two of them are likely, and the path turns at once there, as it goes on from either side. So
    writing over a corner may leave little of it.
    """
    made = np.zeros(len(table), dtype=bool)
    doubtful = np.flatnonzero((sure < DOUBTFUL) & ~stabs)
    likely = doubtful[sure[doubtful] >= LIKELY]
    if len(likely) < 2:
        return made
    pairs = likely[cKDTree(table[likely]).query_pairs(STAB, output_type="ndarray")]
    for runs in way.pieces if len(pairs) else ():
        ring = way.ring(runs)
        line, corner = (np.array([getattr(one, name) for one in ring]) for name in ("at", "corner"))
        for middle in table[pairs].mean(axis=1):
            if turns_at(line, corner, middle):
                made[doubtful[np.hypot(*(table[doubtful] - middle).T) < STAB]] = True
    return made


def _belongs(way: Way, runs: Sequence[Run], places: FloatArray) -> NDArray[np.bool_]:
    """Return which places (n, 2) are on a piece's path, or are stabs of its corners."""
    ring = way.ring(runs)
    line = np.array([group.at for group in ring])
    corner = np.array([group.corner for group in ring]) | (turns(line) > SHARP)
    near = np.hypot(*(places[:, None] - line).transpose(2, 0, 1)) < STAB
    stabs = near & (corner | (near.sum(axis=0) > 1))
    return np.asarray(
        stabs.any(axis=1) | (~near.any(axis=1) & on_curve(line, corner, places).any(axis=1))
    )


def on_curve(line: FloatArray, corner: NDArray[np.bool_], places: FloatArray) -> NDArray[np.bool_]:
    """Return by which steps of a closed path, (m, 2) mm, places (n, 2) lie as it goes on, (n, m).

    It goes on as the parabola does through a step's two ends and the place before them, or the one
    after them, or anywhere between these two. Where it turns at once, at a corner, (m,), it may as
    well go straight.
    """
    after = np.roll(line, -1, axis=0)
    span = np.hypot(*(after - line).T)
    ahead = (after - line) / np.maximum(span, 1e-9)[:, None]
    side = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    ends = (np.roll(line, 1, axis=0), corner), (np.roll(line, -2, axis=0), np.roll(corner, -1))
    bends = np.array([np.where(turns, 0.0, _bend(at - line, ahead, side, span))
                      for at, turns in ends])  # fmt: skip
    along, off = (np.sum((places[:, None] - line) * way, axis=2) for way in (ahead, side))
    bow = along * (along - span)  # 0 at both ends of a step, less between them
    least, most = bow * bends.max(axis=0), bow * bends.min(axis=0)
    return np.asarray((bow < 0.0) & (off > least - OFF_CURVE) & (off < most + OFF_CURVE))


def _bend(offset: FloatArray, ahead: FloatArray, side: FloatArray, span: FloatArray) -> FloatArray:
    """Return the bend of parabolas through steps' two ends and another place, (m,) 1 / mm.

    offset: (m, 2) of that from where the step begins; ahead, side, span: of the step. 0 if it lies
    beside the step.
    """
    along, off = (np.sum(offset * way, axis=1) for way in (ahead, side))
    bow = along * (along - span)
    return np.where(bow > 0.0, off / np.maximum(bow, 1e-9), 0.0)
