"""One group of strokes that may be mixed: their order and touch points, improved in turns."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route import exact, path
from plotout.route.budget import Budget
from plotout.route.cost import costs, model_of
from plotout.route.line import Line
from plotout.route.touch import begun_at, slide

Ints = NDArray[np.int32]

_ROUNDS = 4


def ordered(
    lines: Sequence[Line],
    after: Ints,
    start: FloatArray,
    ahead: FloatArray | None,
    motion: Motion | None,
    budget: Budget,
    seed: int,
) -> list[Line]:
    """Return the lines in their order, turned, closed ones begun where travel is least.

    after: (n,) for each line the one that must come after it, -1 for none. start: (2,) mm.
    ahead: (m, 2) places of which one is gone to next, or None.
    """
    contours = [line.points if line.stroke.closed else None for line in lines]
    ends = np.array([[line.points[0], line.points[-1]] for line in lines])
    best: tuple[float, Ints, NDArray[np.bool_], FloatArray] | None = None
    for turn in range(_ROUNDS):
        places, turned = _order(ends, after, start, ahead, motion, budget, seed + turn)
        mine = [contours[k] for k in places]
        slid = slide(_turned(ends[places], turned), mine, start, motion)
        whole = _whole(slid, start, ahead, motion)
        if best is not None and whole > best[0] - 1e-6:
            break
        best = (whole, places, turned, slid)
        if budget.stopped or not any(contour is not None for contour in contours):
            break
        for k, contour, touch in zip(places.tolist(), mine, slid, strict=True):
            if contour is not None:
                ends[k] = touch
    assert best is not None
    _, places, turned, slid = best
    return [
        lines[k].along(_as_worked(lines[k], back, touch[0]))
        for k, back, touch in zip(places.tolist(), turned.tolist(), slid, strict=True)
    ]


def _as_worked(line: Line, back: bool, touch: FloatArray) -> FloatArray:
    if line.stroke.closed:
        return begun_at(line.points, touch)
    return line.points[::-1] if back else line.points


def _turned(ends: FloatArray, turned: NDArray[np.bool_]) -> FloatArray:
    return np.where(turned[:, None, None], ends[:, ::-1], ends)


def _whole(
    ends: FloatArray, start: FloatArray, ahead: FloatArray | None, motion: Motion | None
) -> float:
    before = np.vstack([start[None], ends[:-1, 1]])
    return float(
        costs(before, ends[:, 0], motion).sum() + _beyond(ends[-1:, 1:], ahead, motion).sum()
    )


def _beyond(ends: FloatArray, ahead: FloatArray | None, motion: Motion | None) -> FloatArray:
    """What going on from each end to the nearest place ahead costs, the shape of ends[..., 0]."""
    if ahead is None:
        return np.zeros(ends.shape[:-1])
    from scipy.spatial import KDTree

    norm = np.inf if motion is not None and motion.independent else 2.0
    _, nearest = KDTree(ahead).query(ends, p=norm)
    return costs(ends, ahead[nearest], motion)


def _order(
    ends: FloatArray,
    after: Ints,
    start: FloatArray,
    ahead: FloatArray | None,
    motion: Motion | None,
    budget: Budget,
    seed: int,
) -> tuple[Ints, NDArray[np.bool_]]:
    n = len(ends)
    beyond = _beyond(ends, ahead, motion)
    if n <= exact.MOST:
        return exact.cheapest(ends, start, beyond, after, motion)
    model = model_of(motion)
    if (after < 0).all():
        return path.shortest(ends, start, beyond, model, budget, seed)
    return _constrained(ends, after, start, beyond, model, budget, seed)


def _constrained(
    ends: FloatArray,
    after: Ints,
    start: FloatArray,
    beyond: FloatArray,
    model: FloatArray,
    budget: Budget,
    seed: int,
) -> tuple[Ints, NDArray[np.bool_]]:
    from plotout.route.nested import constrained

    free = Budget(0, None, len(ends))
    places, back = path.shortest(ends, start, beyond, model, free, seed)
    places = _allowed(places, after)
    turned = np.zeros(len(ends), dtype=np.int32)
    turned[:] = back
    state = np.array([seed * 2 + 88172645463325253], dtype=np.uint64)
    constrained(places, turned, after, ends, start, beyond, model, 0, state)
    try:
        for kicks in budget.shares(len(ends), _usual_steps(len(ends)), 10):
            constrained(places, turned, after, ends, start, beyond, model, kicks, state)
    except KeyboardInterrupt:
        budget.stopped = True
    return places, turned.astype(np.bool_)


def _allowed(places: Ints, after: Ints) -> Ints:
    """The same order, but each stroke put off until all that must come before it is done."""
    waits = np.bincount(after[after >= 0], minlength=len(after)).tolist()
    due = [False] * len(after)
    result: list[int] = []
    for place in places.tolist():
        k, due[place] = place, True
        while k >= 0 and due[k] and waits[k] == 0:
            result.append(k)
            due[k] = False
            k = int(after[k])
            if k >= 0:
                waits[k] -= 1
    return np.array(result, dtype=np.int32)


def _usual_steps(strokes: int) -> int:
    """Return how many kicks under precedence are worth their time: each looks at all strokes."""
    return max(10, min(2 * strokes, 6000 // strokes))
