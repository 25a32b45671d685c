"""What a machine's own report says about the work done before a break.

The machine's own count comes first; then its position, if only one number of finished units agrees
with it. A machine that was switched on or reset since proves nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain

from plotout.conversation import Account, Point
from plotout.language import Stop
from plotout.sending.cutfile import CutFile

NEAR = 0.03  # mm within which two positions are the same; or what they are rounded to, if larger
ON_WAY = 0.06  # mm from its path within which a halted machine lies


@dataclass(frozen=True, slots=True)
class Window:
    """How many units may be done: `low` for certain, `high` at most.

    line: of unit `low`, the last message known to be done, if any. last: of unit `high - 1`, the
    last one that was sent; None if all of it may have been. coming: unit `low` is the first that
    was sent, so a halted machine may still be on its way there, from anywhere. start: where it then
    comes from, as it reports places, if that is known.
    """

    low: int
    high: int
    line: int = -1
    last: int | None = None
    coming: bool = False
    start: Point | None = None


def possible(file: CutFile, account: Account, window: Window) -> tuple[int, ...]:
    """Return every number of finished units that agrees with the machine's report, rising.

    Empty if nothing agrees, or the machine proves nothing.
    """
    if account.fresh or account.at is None:
        return ()
    counted = _counted(file, account, window)
    begin = window.low if counted is None else max(window.low, counted - 1)
    if counted is not None and is_advance(file, counted - 1):
        begin = counted
    most = file.units
    if counted is not None:  # of the unit that it counts next it has not begun the last move
        most = file.next_count(counted) - 1
        most += most < file.units and is_advance(file, most)  # done, but not counted yet
        window = replace(window, high=min(window.high, most + 1))
    if account.fresh is None and _at_origin(account):
        return ()
    rests = _rests(file, begin, counted, window)
    if counted is not None and not account.idle:  # some count what they have read, not yet worked
        rests = chain(rests, _rests(file, window.low, None, window))
    agreeing = (rest for rest in rests if _agrees(file, account, rest))
    matches = {done for rest in agreeing if (done := _finished(account, rest)) <= most}
    may_be_coming = window.coming and account.within and not account.down
    if may_be_coming and (matches or _is_coming(file, account, window)):
        matches.add(window.low)
    exact = counted if most == counted and not matches else None
    if exact is not None and not any(stops for _, stops in file.stops(exact - 1, exact)):
        return (exact,)  # it has no position to recognise it by
    return tuple(sorted(matches))


def _is_coming(file: CutFile, account: Account, window: Window) -> bool:
    """Return whether a machine is on its straight way from where it stood to the first unit sent:
    elsewhere it may have lifted its tool within any that was, if there were several.
    """
    if window.high - window.low < 2:
        return True
    assert account.at is not None
    _, stops = next(iter(file.stops(window.low, window.low + 1)), (0, []))
    if window.start is None or not stops:
        return False
    report_mm, mm = file.report_mm, file.unit_mm
    before = Stop(_scaled(window.start, report_mm / mm), False)
    return _on_way(_scaled(account.at, report_mm), stops[0], before, mm)


def partly(file: CutFile, account: Account, window: Window, done: int) -> bool:
    """Return whether the machine rests within the work of unit `done`, the first that is not
    finished: it is worked in part.
    """
    if account.at is None or not window.low <= done < window.high:
        return False
    last = window.last if done == window.high - 1 else None
    rests = _rests(file, done, None, replace(window, high=done + 1, last=last))
    within = (rest for rest in rests if rest.done == done and rest.stop.working and not rest.end)
    return any(_agrees(file, account, rest) and _is_in(file, account, rest) for rest in within)


def _finished(account: Account, rest: _Rest) -> int:
    """Return how many units are finished there: one that ends with a ramp out of the stock is, once
    the ramp has left it.
    """
    leaves = rest.leaves and account.height is not None and account.height > NEAR
    return rest.done + int(leaves)


def _is_in(file: CutFile, account: Account, rest: _Rest) -> bool:
    """Return whether a machine on its way to a place of work is in the stock, if heights tell."""
    depth = rest.stop.height
    if depth is None or account.height is None:
        return True
    return account.height * file.report_mm <= max(0.0, depth * file.unit_mm) + NEAR


def bounds(
    file: CutFile, account: Account, window: Window, done: tuple[int, ...]
) -> tuple[int, int]:
    """Return the fewest and the most units that may be done. done: see `possible`. A machine that
    stands where its count does not put it has lost some of its work: any of the rest may be done.
    """
    if done:
        return min(done), max(done)
    counted = None if account.fresh else _counted(file, account, window)
    if counted is None or account.at is not None:
        return window.low, window.high
    return max(window.low, counted - 1), min(window.high, file.next_count(counted))


def _counted(file: CutFile, account: Account, window: Window) -> int | None:
    """Return the machine's count of units if this job can have reached it."""
    if account.count is None:
        return None
    around = range(window.low, window.high + 1)
    same = file.language.same_count
    return next((unit for unit in around if unit and same(account.count, unit)), None)


@dataclass(frozen=True, slots=True)
class _Rest:
    """Where the machine may stand. done: units finished there. before: where it comes from.

    end: the unit's work is finished there. halted: it stands on its path there. leaves: which leads
    out of the stock, with the last of the unit's work.
    """

    done: int
    stop: Stop
    before: Stop | None
    end: bool = False
    halted: bool = False
    leaves: bool = False


def _rests(file: CutFile, begin: int, counted: int | None, window: Window) -> Iterator[_Rest]:
    before: Stop | None = None
    first = max(0, begin - 1)
    for unit, stops in file.stops(first, min(window.high, file.units)):
        if not stops and is_advance(file, unit):
            yield _Rest(unit + 1, Stop(file.place_before(unit), False), None, end=True)
        earliest = _earliest(stops, unit, begin, counted, window)
        for index, stop in enumerate(stops):
            end = index == len(stops) - 1
            late = unit == window.high - 1 and window.last is not None and window.last < stop.line
            if index >= earliest and not late:
                yield _Rest(unit + end, stop, before, end)
            if before is not None and (index > earliest or index == earliest == 0):
                leaves = end and stop.working and stop.height is not None and stop.height > 0.0
                yield _Rest(unit, stop, before, halted=True, leaves=leaves)
            before = stop


def is_advance(file: CutFile, unit: int) -> bool:
    """Return whether a unit is an advance of the roll: without a place, and its count after it."""
    data = file.unit(unit)
    return file.language.must_count(data) and not file.language.stops(data, Stop((0.0, 0.0), False))


def _earliest(stops: list[Stop], unit: int, begin: int, counted: int | None, window: Window) -> int:
    """Return the first of a unit's stops at which the machine can stand."""
    if unit < begin:
        return len(stops) - 1
    if unit + 1 == counted:
        return max(0, len(stops) - 2)  # it counts a unit just before its last move
    if unit == window.low:
        return max(
            (index for index, stop in enumerate(stops) if stop.line <= window.line), default=0
        )
    return 0


def _agrees(file: CutFile, account: Account, rest: _Rest) -> bool:
    assert account.at is not None
    mm, report_mm, stop = file.unit_mm, file.report_mm, rest.stop
    at = (account.at[0] * report_mm, account.at[1] * report_mm)
    height = None if account.height is None else account.height * report_mm
    if not rest.halted:
        lifted = account.down is False and stop.working and not rest.end
        near = max(NEAR, 1.01 * file.rounding_mm)
        return (
            not lifted and _same(at, _scaled(stop.at, mm), near) and _level(height, stop, stop, mm)
        )
    if not account.within or rest.before is None:
        return False
    if account.dropped and (account.down != stop.working or _same(at, _scaled(stop.at, mm), NEAR)):
        return False  # it would be in another move, or at the end of this one
    return _on_way(at, stop, rest.before, mm) and _level(height, rest.before, stop, mm)


def _level(height: float | None, one: Stop, other: Stop, mm: float) -> bool:
    """Return whether a height lies between those of two stops, if all are known."""
    if height is None or one.height is None or other.height is None:
        return True
    low, high = sorted((one.height * mm, other.height * mm))
    return low - NEAR <= height <= high + NEAR


def _on_way(at: Point, stop: Stop, before: Stop, mm: float) -> bool:
    start, end = _scaled(before.at, mm), _scaled(stop.at, mm)
    if stop.centre is not None:
        return _on_arc(at, start, end, _scaled(stop.centre, mm), stop.clockwise)
    far = math.dist(start, end)
    if far < NEAR:
        return _same(at, end, ON_WAY)
    along = ((end[0] - start[0]) / far, (end[1] - start[1]) / far)
    x, y = at[0] - start[0], at[1] - start[1]
    ahead = x * along[0] + y * along[1]
    return -NEAR <= ahead <= far + NEAR and abs(x * along[1] - y * along[0]) <= ON_WAY


def _on_arc(at: Point, start: Point, end: Point, centre: Point, clockwise: bool) -> bool:
    radius = math.dist(start, centre)
    if abs(math.dist(at, centre) - radius) > ON_WAY:
        return False

    def turned(to: Point) -> float:
        first = math.atan2(start[1] - centre[1], start[0] - centre[0])
        angle = math.atan2(to[1] - centre[1], to[0] - centre[0]) - first
        return (-angle if clockwise else angle) % math.tau

    slack = NEAR / max(radius, NEAR)
    whole = turned(end) or math.tau
    return turned(at) <= whole + slack or turned(at) >= math.tau - slack


def at_stop(file: CutFile, account: Account, stop: Stop) -> bool:
    """Return whether a machine stands at a place, as far as it reports its own."""
    return account.at is not None and _agrees(file, account, _Rest(0, stop, None, end=True))


def _at_origin(account: Account) -> bool:
    """Return whether it is at its origin: it may just have been switched on."""
    assert account.at is not None
    return max(abs(account.at[0]), abs(account.at[1])) <= NEAR


def _same(one: Point, other: Point, near: float) -> bool:
    return abs(one[0] - other[0]) <= near and abs(one[1] - other[1]) <= near


def _scaled(point: Point, by: float) -> Point:
    return point[0] * by, point[1] * by
