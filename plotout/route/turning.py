"""Which way round every stroke of an order is worked: the best of all, stroke by stroke.

The order is fixed, so the shortest way to either end of a stroke is one to either end of the stroke
before it (R. Bellman, Dynamic Programming, 1957). A search turns strokes one or some at a time,
and may not find that a whole row of parallel ones is better begun at its other side.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.cost import costs

_AT_ONCE = 10_000  # steps as Python's numbers, which take far more room than an array


def turned(
    ends: FloatArray, start: FloatArray, beyond: FloatArray, motion: Motion | None
) -> FloatArray:
    """Return the strokes' starts and ends, (n, 2, 2) mm, turned so that travel costs least.

    ends: in the order of work. start: (2,) where the tool is. beyond: (2,) the cost of going on
    from the last stroke's start and from its end.
    """
    if (ends[:, 0] == ends[:, 1]).all():
        return ends.copy()
    ways = np.stack([ends, ends[:, ::-1]], axis=1)  # (n, 2, 2, 2): as it is, and turned
    steps = costs(ways[:-1, :, None, 1], ways[1:, None, :, 0], motion)
    plain, other = costs(start, ways[0, :, 0], motion).tolist()
    came: list[tuple[bool, bool]] = []  # from the stroke before as it is turned
    for (to_plain, to_other), (from_other, both) in _rows(steps):
        came.append((other + from_other < plain + to_plain, other + both < plain + to_other))
        plain, other = (
            min(plain + to_plain, other + from_other),
            min(plain + to_other, other + both),
        )
    turn = bool(other + beyond[0] < plain + beyond[1])
    turns = [turn]
    for as_it_is, as_turned in reversed(came):
        turn = as_turned if turn else as_it_is
        turns.append(turn)
    return np.where(np.array(turns[::-1])[:, None, None], ends[:, ::-1], ends)


def _rows(steps: FloatArray) -> Iterator[list[list[float]]]:
    for at in range(0, len(steps), _AT_ONCE):
        yield from steps[at : at + _AT_ONCE].tolist()
