"""Orders one group of strokes that may be mixed, and their touch points, together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.nearest import nearest
from plotout.geometry.polyline import all_bounds, tips
from plotout.geometry.strokes import FloatArray, Mark
from plotout.machine import Motion
from plotout.route import exact, path
from plotout.route.budget import Budget
from plotout.route.cost import costs, model_of
from plotout.route.line import RouteLine
from plotout.route.options import Options, options_of
from plotout.route.touch import begun_at, slide_touches
from plotout.route.turning import turned

if TYPE_CHECKING:
    from plotout.route.ring import Net

Ints = NDArray[np.int64]

_KICKS, _ENOUGH, _MANY = np.array([[2, 4], [10, 20]]), 20_000, 10
"""Kicks of the first cooling per stroke: where it matters little or much where it is begun, without
and under precedence; but no more than are enough for all, or so many per stroke."""
_USUAL = 1_500
"""Kicks that are enough for strokes that get more than the usual number of each."""
_DEEP = 12.0
"""Strokes that must come after one, on average, from which on there are fewer kicks: the order of
deep nests is nearly settled, and each kick costs as much more as they are deeper."""
_STARTS, _FEW = 2, 8
"""Coolings from the first order under precedence, the best of which is kept: better than one as
long as both. One suffices for a few contours."""
_CLOSE = 1e-9
"""mm between options, so small that their number is the greatest allowed."""
_SPACING, _LEAST_SPACING = 0.25, 0.1
"""Between a contour's options: of the distance to the nearest stroke, and mm."""
_ROOM = 2.0
"""Spacings that a contour is longer than, if it matters where it is begun."""
_HOT = 0.6
"""How much worse a kick may leave the path at first, in mean travels."""


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """What is fixed while a group is ordered.

    ends: (n, 2, 2) as drawn. contours: of closed strokes, else None. after: (n,) for every stroke
    the one that must come after it, -1 for none. ahead: (m, 2) places, one of which is next, or
    None. spacings: (n,) mm between the options of each contour. corners: (m, 2) points of all
    contours, first_corner: (n + 1,) where the strokes' begin.
    """

    ends: FloatArray
    contours: list[FloatArray | None]
    after: Ints
    start: FloatArray
    ahead: FloatArray | None
    motion: Motion | None
    spacings: FloatArray
    corners: FloatArray
    first_corner: Ints

    @property
    def independent(self) -> bool:
        """Whether the machine's axes move independently."""
        return self.motion is not None and self.motion.independent

    def nearest(self, ends: FloatArray) -> FloatArray:
        """Return the places ahead nearest to these, (..., 2) to (..., 2)."""
        assert self.ahead is not None
        found = nearest(ends.reshape(-1, 2), self.ahead, independent=self.independent)
        return self.ahead[found].reshape(ends.shape)

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
    ends = tips([line.points for line in lines])
    corners = np.concatenate(
        [np.empty((0, 2)), *(contour for contour in contours if contour is not None)]
    )
    first_corner = np.cumsum([0, *(0 if contour is None else len(contour) for contour in contours)])
    boxes = all_bounds([line.points for line in lines])
    spacings = _spacings(lines, boxes)
    first = first_corner.astype(np.int64)
    task = _Task(ends, contours, after, start, ahead, motion, spacings, corners, first)
    roomy = _slides(lines) & ((boxes[:, 1] - boxes[:, 0]).max(axis=1) > _ROOM * spacings)
    held = after >= 0
    held[after[held]] = True
    if len(lines) <= exact.MOST:
        budget.size -= len(lines)
        order = _best(task)
    elif not roomy.any() and not held.any():
        order = _first(task, budget, seed)
    else:
        order = _first(task, Budget(0, None, len(lines)), seed)
        kicks = int(_KICKS[roomy.astype(int), held.astype(int)].sum())
        kicks = min(kicks, max(_ENOUGH, _MANY * len(lines)))
        starts = _STARTS if (roomy & held).sum() > _FEW else 1
        usual = path.usual_steps(len(lines), _USUAL)
        kicks = int(max(kicks, usual) * min(1.0, _DEEP / _depth(after)))
        order = _together(task, order, kicks, starts, budget, seed)
    as_drawn = (ends[order.places, 0] == order.ends[:, 0]).all(axis=1).tolist()
    return [
        _as_worked(lines[k], pair, as_drawn=ahead)
        for k, pair, ahead in zip(order.places.tolist(), order.ends, as_drawn, strict=True)
    ]


def _depth(after: Ints) -> float:
    """Return how many strokes must come after one, on average, itself included."""
    depth, ahead = np.ones(len(after)), after.copy()
    while (inner := ahead >= 0).any():
        depth += inner
        ahead[inner] = after[ahead[inner]]
    return float(depth.mean())


def _slides(lines: Sequence[RouteLine]) -> NDArray[np.bool_]:
    """Return whether it may matter where strokes are begun: not for a letter, since words have many
    and hardly any way between them.
    """
    return np.array(
        [line.stroke.closed and line.stroke.mark is not Mark.LETTERING for line in lines]
    )


def _as_worked(line: RouteLine, pair: FloatArray, *, as_drawn: bool) -> RouteLine:
    """Return a line turned, or begun, as in an order. as_drawn: whether it begins as it was."""
    if line.stroke.closed:
        return line.along(begun_at(line.points, pair[0]))
    return line if as_drawn else line.along(line.points[::-1])


def _slid(task: _Task, places: Ints, ends: FloatArray) -> _Order:
    """Return an order with its strokes turned, and their touch points slid, to the best."""
    ends = turned(ends, task.start, task.beyond(ends[-1]), task.motion)
    if len(task.corners):
        goals = np.empty((0, 2)) if task.ahead is None else task.nearest(ends[-1:, 1])
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
    ends, close, found = task.ends, np.full(len(task.ends), _CLOSE), None
    while True:
        options = options_of(ends, task.contours, task.start, close, most)
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
    places, reverse = path.shortest(task.ends, task.start, beyond, task.motion, budget, seed)
    back = np.zeros(len(places), dtype=np.bool_)
    back[places] = reverse
    places = _allowed(places, task.after)
    ends = np.where(back[places, None, None], task.ends[places, ::-1], task.ends[places])
    return _slid(task, places, ends)


def _spacings(lines: Sequence[RouteLine], boxes: FloatArray) -> FloatArray:
    """Return the distances, mm, between contours' options: parts of those to the nearest stroke,
    beside which it matters where a contour is begun. boxes: the strokes' bounds, (n, 2, 2).
    """
    if not any(line.stroke.closed for line in lines):
        return np.full(len(lines), _LEAST_SPACING)
    middles = boxes.mean(axis=1)
    two = middles[nearest(middles, middles, count=2)]  # of which one is its own
    gaps = np.hypot(*np.moveaxis(two - middles[:, None], 2, 0)).max(axis=1)
    return np.asarray(np.maximum(_SPACING * gaps, _LEAST_SPACING))


def _together(
    task: _Task, order: _Order, kicks: int, starts: int, budget: Budget, seed: int
) -> _Order:
    """Improve order, turning and touch points together.

    kicks: of every cooling that starts from this order, and starts: how many do.
    """
    from plotout.route.cooling import Coolings
    from plotout.route.free import read, ring_of

    n, found, more = len(task.ends), order, True
    coolings = Coolings(budget, n, kicks, task.motion, seed, starts)
    net, ends = _net(task, order)
    ring = ring_of(order.places, order.ends, net)
    while more:
        if coolings.starts <= 0:
            net, ends = _net(task, found)
            ring = ring_of(found.places, found.ends, net)
        best, at, more = coolings.next(net, ring, _HOT)
        slid = _slid(task, *read(best, net, at, ends))
        if slid.cost < found.cost - 1e-9:
            found = slid
    return found


def _net(task: _Task, order: _Order) -> tuple[Net, FloatArray]:
    """Return the net of strokes with contours begun as in an order, and the strokes' ends in it."""
    from plotout.route.free import free_net

    ends = task.ends.copy()
    closed = np.array([contour is not None for contour in task.contours])[order.places]
    ends[order.places[closed]] = order.ends[closed]
    options = options_of(ends, task.contours, task.start, task.spacings)
    beyond = _beyond(task, options)
    return free_net(ends, options, task.after, task.start, beyond, task.motion), ends


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
