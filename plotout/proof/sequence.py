"""Checks that a sheet is worked in a workable order: nothing is done on a part already loose.

It judges from where the cards lie and where the tool goes, not from how the strokes were ordered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from plotout.geometry.polyline import all_go_somewhere, moved, tips
from plotout.geometry.region import line_shapes, lines_in
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.layout.nesting.shape import body
from plotout.machine import Machine, ToolKind
from plotout.machine.calibration import correction
from plotout.model import Program, Run, Sheet
from plotout.proof.ways import Ways, named, place_of

_NEAR = 0.1  # mm, in addition to the tool's reach
_BRIDGE = 0.5  # mm of uncut card's edge that count as a bridge
_ENTERS = 0.2  # mm of a path in an area that count as entering it

_CUTTERS = (ToolKind.TRAILING_BLADE, ToolKind.TANGENTIAL_KNIFE, ToolKind.BEAM, ToolKind.ROUTER)


@dataclass(frozen=True, eq=False)
class _Lain:
    """A card in its place on the machine. bridges: the least number of tabs in its outline."""

    id: str
    area: BaseGeometry
    bridges: int = 0

    @property
    def edge(self) -> BaseGeometry:
        """Its cutting line."""
        return shapely.get_exterior_ring(self.area)


@dataclass(frozen=True, eq=False)
class _Done:
    """The ways of a program, in turn, as geometries, (n,), with what each is."""

    ways: Ways
    machine: Machine

    @cached_property
    def firsts(self) -> list[Run]:
        """The first run of each."""
        parts = self.ways.parts
        return [_run(parts[begin]) for begin in self.ways.begins[:-1].tolist()]

    @cached_property
    def lines(self) -> NDArray[np.object_]:
        """Each way; one that goes nowhere is a point."""
        points = self.ways.points
        moves = np.array(all_go_somewhere(points), dtype=bool)
        found = np.empty(len(points), dtype=object)
        found[~moves] = shapely.points(tips(points)[~moves, 0])
        found[moves] = line_shapes([points[index] for index in np.flatnonzero(moves).tolist()])
        return found

    @cached_property
    def cuts(self) -> NDArray[np.bool_]:
        """Whether each goes through the stock, all the way down."""
        parts = self.ways.parts
        lasts = (_run(parts[end - 1]) for end in self.ways.begins[1:].tolist())
        return np.array([_through(run) for run in lasts], dtype=bool)

    @cached_property
    def _numbers(self) -> dict[str, int]:
        """The cards' ids, with a number for each."""
        ids = dict.fromkeys(run.stroke.card for run in self.firsts)
        return {card: number for number, card in enumerate(ids)}

    @cached_property
    def _card(self) -> NDArray[np.int64]:
        """The number of the card that each is of."""
        return np.array([self._numbers[run.stroke.card] for run in self.firsts])

    def of_card(self, card: str) -> NDArray[np.bool_]:
        """Return which are of that card."""
        return np.asarray(self._card == self._numbers.get(card, -1))

    @cached_property
    def frees(self) -> NDArray[np.bool_]:
        """Whether each is a part of a card's outline."""
        marks = [run.stroke.mark is Mark.OUTLINE for run in self.firsts]
        return np.asarray(self.cuts & np.array(marks, dtype=bool))

    @property
    def reach(self) -> float:
        """How far the tool's way may lie off the line that it works, mm."""
        return self.machine.reach + _NEAR

    @cached_property
    def tree(self) -> shapely.STRtree:
        """Finds ways by place."""
        return shapely.STRtree(self.lines)


def out_of_turn(program: Program, ways: Ways, sheet: Sheet) -> Iterator[str]:
    """Give in words what is done too late, too far or not at all on the cards of a sheet.

    A card is free once the cuts along its edge leave no bridge; then nothing more may be done on
    it. The same holds for waste inside a cut-out. On every card, in every frame of a roll, drawing,
    scoring and punching come before cutting. Only a card's own strokes cut into it; a card to be
    held by tabs has them, and any other is cut free all round.
    """
    done = _Done(ways, program.machine)
    if not len(ways) or not done.cuts.any():
        return
    lain = _cards(program, sheet, done)
    yield from _cut_before_drawn(done, _frame_of(program, ways))
    yield from _on_loose_waste(done)
    areas = np.array([placed.area for placed in lain], dtype=object)
    inner = np.asarray(shapely.buffer(areas, -done.reach), dtype=object)
    card, on = _entered(done, inner)
    begins = np.searchsorted(card, np.arange(len(lain) + 1))
    for index, placed in enumerate(lain):
        mine = done.of_card(placed.id)
        entering = on[begins[index] : begins[index + 1]]
        others = entering[~mine[entering]]
        last, fault = _freed(done, placed)
        if fault:
            yield fault
        yield from _cut_into(done, placed, others)
        if last is not None:
            mine[others] = True
            yield from _too_late(done, placed, mine, last)


def _run(part: object) -> Run:
    assert isinstance(part, Run)
    return part


def _through(run: Run) -> bool:
    """Return whether a run goes through the stock: a drawn, scored or partly cut line doesn't."""
    if run.tool.kind not in _CUTTERS or run.stroke.work in (Work.DRAW, Work.SCORE):
        return False
    return run.depth is None or run.tool.depth is None or run.depth >= run.tool.depth - 1e-9


def _frame_of(program: Program, ways: Ways) -> NDArray[np.int64]:
    """Return in which frame of a roll each way is done, (n,)."""
    firsts = [advance.run for advance in program.advances]
    return np.searchsorted(firsts, ways.begins[:-1], side="right")


def _cards(program: Program, sheet: Sheet, done: _Done) -> list[_Lain]:
    """Return the cards whose outlines are cut, or else all cards on the sheet."""
    there = correction(program.machine.calibration)
    freeing = (done.firsts[index] for index in np.flatnonzero(done.frees).tolist())
    bridges = {run.stroke.card: run.tool.tabs for run in freeing}
    found = []
    for placed in sheet.placed:
        matrix = moved_by(there, placed.matrix)
        area = body(placed.card, matrix, inside=True)
        found.append(_Lain(placed.card.id, area, bridges.get(placed.card.id, 0)))
    return found


def moved_by(outer: NDArray[np.float64], inner: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the (2, 3) map that does `inner` first, then `outer`."""
    return np.column_stack([outer[:, :2] @ inner[:, :2], moved(inner[None, :, 2], outer)[0]])


def _entered(
    done: _Done, areas: Sequence[BaseGeometry] | NDArray[np.object_]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return which area is entered by which way, (n,) each, sorted."""
    where = np.array(areas, dtype=object)
    shapely.prepare(where)
    area, way = done.tree.query(where, predicate="intersects")
    lines, where = done.lines[way], where[area]
    inside = shapely.length(lines)
    partly = np.flatnonzero(~shapely.covers(where, lines))  # much quicker than the part inside
    inside[partly] = shapely.length(shapely.intersection(lines[partly], where[partly]))
    kept = (shapely.get_type_id(lines) == 0) | (inside > _ENTERS)
    area, way = area[kept], way[kept]
    order = np.lexsort((way, area))
    return area[order], way[order]


def _freed(done: _Done, card: _Lain) -> tuple[int | None, str]:
    """Return which way frees a card, None where none does; and what is wrong with that."""
    mine = np.flatnonzero(done.frees & done.of_card(card.id)).tolist()
    if not mine or any(done.firsts[index].tool.dashes for index in mine):
        return None, ""
    near = done.tree.query(card.edge, predicate="dwithin", distance=done.reach)
    left: BaseGeometry = card.edge
    cuts = np.sort(near[done.cuts[near]])
    gone = shapely.buffer(done.lines[cuts], done.reach, cap_style="flat")
    for index, taken in zip(cuts.tolist(), gone, strict=True):
        left = shapely.difference(left, taken)
        if not _must_bridge(left) and not _bridges(left):
            if card.bridges:
                return (
                    index,
                    f"card '{card.id}' is cut free and has none of its {card.bridges} tabs",
                )
            return index, ""
    held = _bridges(left)
    if not card.bridges:
        place = place_of(shapely.get_coordinates(held[0])[0])
        return None, f"card '{card.id}' is not cut free: its edge is left uncut at {place}"
    if len(held) < card.bridges:
        return None, f"card '{card.id}' has only {len(held)} of its {card.bridges} tabs"
    return None, ""


def _must_bridge(left: BaseGeometry) -> bool:
    """Return whether `_bridges` finds some for certain: one stretch is as long as their mean."""
    return bool(shapely.length(left) > _BRIDGE * max(int(shapely.get_num_geometries(left)), 1))


def _bridges(left: BaseGeometry) -> list[BaseGeometry]:
    """Return the uncut stretches of an edge."""
    lines = lines_in(left)
    whole = lines_in(shapely.line_merge(shapely.MultiLineString(lines))) if lines else []
    return [line for line in whole if line.length > _BRIDGE]


def _cut_into(done: _Done, card: _Lain, others: NDArray[np.int64]) -> Iterator[str]:
    for index in others[done.cuts[others]].tolist():
        yield f"{named(done.ways[index], index)} cuts into card '{card.id}'"


def _too_late(done: _Done, card: _Lain, on: NDArray[np.bool_], last: int) -> Iterator[str]:
    """Say what is done on a card once it is free. on: whether each way is."""
    late = on & ~(done.frees & done.of_card(card.id))
    for index in (np.flatnonzero(late[last + 1 :]) + last + 1).tolist():
        yield f"{named(done.ways[index], index)} is worked after card '{card.id}' is cut free"


def _cut_before_drawn(done: _Done, frame: NDArray[np.int64]) -> Iterator[str]:
    cut: set[tuple[str, int]] = set()
    reported: set[str] = set()
    for index, (run, at) in enumerate(zip(done.firsts, frame.tolist(), strict=True)):
        stroke = run.stroke
        key = (stroke.card, at)
        if stroke.work is Work.CUT:
            cut.add(key)
        elif stroke.card and key in cut and stroke.card not in reported:
            reported.add(stroke.card)
            yield f"{named(done.ways[index], index)} comes after a cut in the same card"


def _on_loose_waste(done: _Done) -> Iterator[str]:
    """Give what is worked inside a contour cut out before, other than a card's outline."""
    last: dict[int, int] = {}  # of each stroke the way that ends it: a knife lifts at its corners
    for index in np.flatnonzero(done.cuts & ~done.frees).tolist():
        stroke = done.firsts[index].stroke
        if (stroke.closed and len(stroke.points) > 3) or stroke.size > 0.0:  # 3: there and back
            last[id(stroke)] = index
    ends = sorted(last.values())
    if not ends:
        return
    entered = _entered(done, [_loose(done.firsts[index]) for index in ends])
    for which, index in np.column_stack(entered).tolist():
        by = ends[which]
        one, other = done.firsts[by].stroke, done.firsts[index].stroke
        if index > by and not np.array_equal(one.points, other.points):
            yield (
                f"{named(done.ways[index], index)} is worked within {named(done.ways[by], by)}, "
                "which is already cut out"
            )


def _loose(run: Run) -> BaseGeometry:
    """Return where no tool's middle may go once a run has cut out its waste: within its own way.

    Between that and the line drawn, the cut itself has left nothing.
    """
    own = run.tool.kerf / 2.0 + _NEAR
    return shapely.buffer(_area(run.stroke), -own, join_style="mitre")


def _area(stroke: Stroke) -> BaseGeometry:
    """Return the area that a closed stroke or a hole cuts out."""
    if stroke.size > 0.0:
        return shapely.buffer(shapely.points(stroke.points[0]), stroke.size / 2.0)
    return shapely.make_valid(shapely.Polygon(stroke.points))
