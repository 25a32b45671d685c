"""Orders one group of strokes that may be mixed, and their touch points, together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route import exact, path
from plotout.route.budget import Budget
from plotout.route.cost import costs, model_of
from plotout.route.line import RouteLine
from plotout.route.options import Options, neighbours, options_of
from plotout.route.touch import begun_at, slide_touches

if TYPE_CHECKING:
    from plotout.route.recreate import Choices

Ints = NDArray[np.int64]

_AT_ONCE = 100
_STEPS, _STEPS_OPEN, _FEWEST = 80, 20, 500
"""Steps of the first cooling per contour with room to slide, per other stroke under precedence, and
at least. Every later cooling is twice as long."""
_CLOSE = 1e-9
"""mm between options, so small that their number is the greatest allowed."""
_WARM, _COLD = 4.0, 0.01
"""How much worse a path may be at the start and the end of a cooling, in mean travels."""


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """What is fixed while a group is ordered.

    ends: (n, 2, 2) as drawn. contours: of closed strokes, else None. after: (n,) for every stroke
    the one that must come after it, -1 for none. ahead: (m, 2) places, one of which is next, or
    None.
    """

    ends: FloatArray
    contours: list[FloatArray | None]
    after: Ints
    start: FloatArray
    ahead: FloatArray | None
    motion: Motion | None
    corners: FloatArray
    first_corner: Ints

    @property
    def independent(self) -> bool:
        """Whether the machine's axes move independently."""
        return self.motion is not None and self.motion.independent

    def nearest(self, ends: FloatArray) -> FloatArray:
        """Return the places ahead nearest to these, (..., 2) to (..., 2)."""
        assert self.ahead is not None
        from scipy.spatial import KDTree

        _, nearest = KDTree(self.ahead).query(ends, p=np.inf if self.independent else 2.0)
        return np.asarray(self.ahead[nearest])

    def beyond(self, ends: FloatArray) -> FloatArray:
        """Return the costs from these ends to the nearest places ahead: (..., 2) to (...)."""
        if self.ahead is None:
            return np.zeros(ends.shape[:-1])
        return costs(ends, self.nearest(ends), self.motion)


@dataclass(frozen=True, slots=True, eq=False)
class _Order:
    """An order. places: (n,) the strokes in order; ends: (n, 2, 2) their starts and ends."""

    places: Ints
    ends: FloatArray
    cost: float


def ordered(
    lines: Sequence[RouteLine],
    after: Ints,
    start: FloatArray,
    ahead: FloatArray | None,
    motion: Motion | None,
    budget: Budget,
    seed: int,
) -> list[RouteLine]:
    """Return the lines ordered and turned, with closed ones begun where travel is least.

    after: (n,) for every line the one that must come after it, -1 for none. start: (2,) mm.
    ahead: (m, 2) places, one of which is next, or None.
    """
    contours = [line.points if line.stroke.closed else None for line in lines]
    ends = np.array([[line.points[0], line.points[-1]] for line in lines])
    corners = np.concatenate(
        [np.empty((0, 2)), *(contour for contour in contours if contour is not None)]
    )
    first_corner = np.cumsum([0, *(0 if contour is None else len(contour) for contour in contours)])
    task = _Task(
        ends, contours, after, start, ahead, motion, corners, first_corner.astype(np.int64)
    )
    spacing = _spacing(ends)
    roomy = [
        contour is not None and np.ptp(contour, axis=0).max() > 2.0 * spacing
        for contour in contours
    ]
    moved = np.array(roomy) | (after >= 0)
    moved[after[after >= 0]] = True
    if len(lines) <= exact.MOST:
        budget.size -= len(lines)
        order = _best(task)
    elif not moved.any():
        order = _first(task, budget, seed)
    else:
        order = _first(task, Budget(path.usual_steps(len(lines)), None, len(lines)), seed)
        steps = _STEPS * sum(roomy) + _STEPS_OPEN * (int(moved.sum()) - sum(roomy))
        order = _together(task, order, spacing, np.flatnonzero(moved), steps, budget, seed)
    return [
        lines[k].along(_as_worked(lines[k], pair))
        for k, pair in zip(order.places.tolist(), order.ends, strict=True)
    ]


def _as_worked(line: RouteLine, pair: FloatArray) -> FloatArray:
    if line.stroke.closed:
        return begun_at(line.points, pair[0])
    points = line.points
    ahead = points[0, 0] == pair[0, 0] and points[0, 1] == pair[0, 1]  # quicker than as arrays
    return points if ahead else points[::-1]


def _slid(task: _Task, places: Ints, ends: FloatArray) -> _Order:
    if len(task.corners):
        goals = np.empty((0, 2)) if task.ahead is None else task.nearest(ends[-1:, 1])
        ends = ends.copy()
        model = model_of(task.motion)
        stirred = np.ones(len(places), np.bool_)
        slide_touches(
            ends, places, task.corners, task.first_corner, task.start, goals, model, stirred
        )
    before = np.vstack([task.start[None], ends[:-1, 1]])
    whole = costs(before, ends[:, 0], task.motion).sum() + task.beyond(ends[-1, 1])
    return _Order(places, ends, float(whole))


def _best(task: _Task) -> _Order:
    """Return the best order: exact for open strokes.

    Eight contours may be begun at places a fortieth of their lengths apart (fewer ones, closer) and
    then slide: at most that much per contour above the optimum; in 60 trials of four, at most
    0.23 %.
    """
    most = exact.MOST * 40 // len(task.ends)
    ends, found = task.ends, None
    while True:
        options = options_of(ends, task.contours, task.start, _CLOSE, most)
        places, pick = exact.cheapest(options, _beyond(task, options), task.after, task.motion)
        order = _slid(task, places, options.ends[pick].reshape(-1, 2, 2))
        if found is not None and order.cost >= found.cost - 1e-6:
            return found
        ends, found = np.empty_like(ends), order
        ends[order.places] = order.ends


def _beyond(task: _Task, options: Options) -> FloatArray:
    """Return the costs of going on from the options once all is done; 0 for the start."""
    return np.append(0.0, task.beyond(options.ends[1:, 2:]))


def _first(task: _Task, budget: Budget, seed: int) -> _Order:
    """Order the strokes with contours begun as they are drawn; then slide their touch points."""
    beyond = task.beyond(task.ends)
    places, turned = path.shortest(task.ends, task.start, beyond, task.motion, budget, seed)
    back = np.zeros(len(places), dtype=np.bool_)
    back[places] = turned
    places = _allowed(places, task.after)
    ends = np.where(back[places, None, None], task.ends[places, ::-1], task.ends[places])
    return _slid(task, places, ends)


def _spacing(ends: FloatArray) -> float:
    """Return the distance, mm, between a contour's options: a part of the gap between strokes."""
    across = float(np.ptp(ends.reshape(-1, 2), axis=0).max())
    return float(max(across / np.sqrt(len(ends)) / 4.0, 0.1))


def _together(
    task: _Task, order: _Order, spacing: float, seeds: Ints, steps: int, budget: Budget, seed: int
) -> _Order:
    """Improve order, turning and touch points together, in coolings of doubling length.

    A longer search begins like a shorter one, so it is never worse. A search without a set length
    ends after a cooling that found nothing. seeds: strokes around which it looks. steps: wanted in
    the first cooling.
    """
    from plotout.route.recreate import path_of, recreated, walk_of

    n = len(task.ends)
    state = np.array([seed * 2 + 88172645463325253], dtype=np.uint64)
    mean = max(order.cost / n, 1e-9)
    at_once = max(_AT_ONCE, n // (2 * _AT_ONCE) * _AT_ONCE)
    usual = max(steps, _FEWEST)
    chunks = -(-usual // at_once)
    done, found, began = chunks, order, None
    try:
        for some in budget.shares(n, usual, at_once):
            if done == chunks:
                if found is began and not budget.asked:
                    break
                chunks, done, began = (chunks * 2 if found is not order else chunks), 0, found
                ends = np.empty_like(task.ends)
                ends[found.places] = found.ends
                options = options_of(ends, task.contours, task.start, spacing)
                choices = _choices(task, options, seeds)
                walk, bench = walk_of(found.places, options.first[:-1])
            warm, cold = (
                mean * _WARM * (_COLD / _WARM) ** (index / chunks) for index in (done, done + 1)
            )
            recreated(walk, bench, choices, warm, cold, some, state)
            done += 1
            places = path_of(walk)
            slid = _slid(task, places, options.ends[walk.pick[places]].reshape(-1, 2, 2))
            if slid.cost < found.cost - 1e-9:
                found = slid
    except KeyboardInterrupt:
        budget.stopped = True
    return found


def _choices(task: _Task, options: Options, seeds: Ints) -> Choices:
    from plotout.route.recreate import Choices

    places = options.ends[1:].reshape(-1, 2, 2)
    first = options.first[:-1] - 1
    low = np.minimum.reduceat(places.min(axis=1), first)
    high = np.maximum.reduceat(places.max(axis=1), first)
    box = np.column_stack([low[:, 0], high[:, 0], low[:, 1], high[:, 1]])
    near = neighbours(options, task.independent)
    beyond, model = _beyond(task, options), model_of(task.motion)
    inner = _inner(task.after)
    return Choices(options.first, options.ends, box, beyond, near, task.after, *inner, seeds, model)


def _allowed(places: Ints, after: Ints) -> Ints:
    """Return the order with strokes put off until all that must come before them are done."""
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
    return np.array(result, dtype=np.int64)


def _inner(after: Ints) -> tuple[Ints, Ints]:
    """Return all strokes that must come before every stroke, concatenated, and their starts."""
    within: list[list[int]] = [[] for _ in after]
    for k in range(len(after)):
        outer = int(after[k])
        while outer >= 0:
            within[outer].append(k)
            outer = int(after[outer])
    first = np.cumsum([0, *(len(members) for members in within)]).astype(np.int64)
    return np.array([k for members in within for k in members], dtype=np.int64), first
