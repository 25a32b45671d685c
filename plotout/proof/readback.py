"""Compares a file, read back, with the program from which it was written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import accumulate

import numpy as np

from plotout.errors import counted
from plotout.hookspecs import Interpreter
from plotout.machine import Machine
from plotout.model import Program, Reading, Run, Sheet, Traced
from plotout.proof.compare import parting, vertex_gaps
from plotout.proof.described import described_wrongly
from plotout.proof.drawn import drawn_wrongly
from plotout.proof.knife import overwound, wrongly_turned
from plotout.proof.sequence import out_of_turn
from plotout.proof.ways import Way, Ways, meant_ways, named, place_of, ways

MOST_FAULTS = 20
MOST_BYTES = 1 << 30  # of a file of a machine: hours of work take some MiB
_SLACK = 1e-6  # mm, for rounding in arithmetic
_PRINTED = 0.02  # mm by which a drawing or a printed page may be off
_SLOWEST_SAID = 10.0  # mm/s: some formats give speeds in whole cm/s, at least 1


def verify(
    program: Program, sheet: Sheet, data: bytes, interpreter: Interpreter
) -> tuple[str, ...]:
    """Return in words how `data`, read back, differs from `program`; empty when it doesn't.

    Every stroke must be present, in order, by the right tool, within one machine step; nothing may
    lie off the sheet; feed, force, power and depth must be within the profile; the tool must end
    up and off; and nothing in the file may be unknown to the interpreter. Cuts must come in a
    workable order: see `plotout.proof.sequence`.
    """
    machine = sized(program.machine, sheet.width, sheet.height)
    reading = interpreter.read(data, machine)
    faults = list(_faults(program, machine, reading, sheet))
    if reading.described is not None:
        faults += described_wrongly(program, sheet, reading.described)
    return tuple(_shortened(faults))


def verify_frames(
    program: Program,
    sheet: Sheet,
    frames: Sequence[tuple[Program, bytes]],
    interpreter: Interpreter,
) -> tuple[str, ...]:
    """Return the same for a roll's whole program and the files of its frames, in order.

    frames: the files' programs, which give the size of the machine's window. The roll is advanced
    by hand between them, as in `program.advances`; or one file advances it itself.
    """
    readings = []
    for part, data in frames:
        readings.append(interpreter.read(data, sized(part.machine, part.width, part.height)))
    steps = [advance.by for advance in program.advances] if len(frames) > 1 else []
    machine = sized(program.machine, program.width, program.height)
    reading = joined(readings, [0.0, *accumulate(steps)])
    return tuple(_shortened(list(_faults(program, machine, reading, sheet))))


def joined(readings: Sequence[Reading], along: Sequence[float]) -> Reading:
    """Return several readings as one, each shifted by its `along` mm along the sheet."""
    shifted = [
        [replace(traced, points=traced.points + np.array([x, 0.0])) for traced in reading.traced]
        for reading, x in zip(readings, along, strict=True)
    ]
    travels = [
        reading.travels + np.array([x, 0.0])
        for reading, x in zip(readings, along, strict=True)
        if reading.travels is not None
    ]
    return Reading(
        tuple(traced for frame in shifted for traced in frame),
        all(reading.ends_safe for reading in readings),
        tuple(dict.fromkeys(text for reading in readings for text in reading.unknown)),
        tuple(dict.fromkeys(text for reading in readings for text in reading.notes)),
        ordered=all(reading.ordered for reading in readings),
        travels=np.vstack(travels) if travels else None,
        unsafe=tuple(dict.fromkeys(text for reading in readings for text in reading.unsafe)),
        distinguished=frozenset().union(*(reading.distinguished for reading in readings)),
    )


def sized(machine: Machine, width: float, height: float) -> Machine:
    """Return the machine with its bed as large as the sheet, to which coordinates refer."""
    return replace(machine, bed=replace(machine.bed, length=width, width=height))


def _shortened(faults: list[str]) -> list[str]:
    if len(faults) <= MOST_FAULTS:
        return faults
    return [*faults[:MOST_FAULTS], f"and {len(faults) - MOST_FAULTS} more"]


def _faults(program: Program, machine: Machine, reading: Reading, sheet: Sheet) -> Iterator[str]:
    yield from (f"the file holds something not understood: {words}" for words in reading.unknown)
    if not reading.ends_safe:
        yield "the file does not end with the tool up and off"
    yield from _outside(program, machine, reading)
    tolerance = machine.step + _SLACK
    if reading.ordered:
        meant, found = meant_ways(program), ways(reading.traced)
        yield from _in_order(meant, found, machine, tolerance)
        yield from out_of_turn(program, meant, sheet)
    else:
        yield from drawn_wrongly(program, reading, max(tolerance, _PRINTED))


def _outside(program: Program, machine: Machine, reading: Reading) -> Iterator[str]:
    places = [traced.points for traced in reading.traced]
    if reading.travels is not None:
        places.append(reading.travels)
    if not reading.ordered or not any(len(place) for place in places):
        return
    points = np.concatenate(places)
    limits = np.array([program.width, program.height]) + machine.step + _SLACK
    off = np.flatnonzero(((points < -machine.step - _SLACK) | (points > limits)).any(axis=1))
    if len(off):
        where = place_of(points[off[0]])
        yield f"it goes off the sheet at {where} ({counted(len(off), 'point')} in all)"


def _in_order(meant: Ways, found: Ways, machine: Machine, tolerance: float) -> Iterator[str]:
    good = _same_vertices(meant, found, tolerance)
    right: set[tuple[object, ...]] = set()  # uses without a fault: most strokes are worked alike
    i, j = 0, 0
    while i < len(meant) and j < len(found):
        one, other = meant[i], found[j]
        if not (i == j and good[i]):
            place = parting(one.points, other.points, tolerance)
            if place is not None:
                step = _resume(meant, found, i, j, tolerance)
                name = named(one, i)
                if step == (1, 0):
                    yield f"{name} is missing"
                elif step == (0, 1):
                    yield f"work that was not asked for, from {place_of(other.parts[0].points[0])}"
                else:
                    yield f"{name} goes off course at {place_of(place)}"
                i, j = i + step[0], j + step[1]
                continue
        use = (*_use(one), None, *_use(other))
        if use not in right:
            wrong = list(_wrong_use(one, i, other, machine))
            yield from wrong
            if not wrong:
                right.add(use)
        if one.first.angles is not None:
            yield from _wrong_heading(one, i, other, tolerance)
            yield from _overwound(one, i, other, machine)
        i, j = i + 1, j + 1
    for index in range(i, len(meant)):
        yield f"{named(meant[index], index)} is missing"
    for index in range(j, len(found)):
        place = found[index].parts[0].points[0]
        yield f"work that was not asked for, from {place_of(place)}"


def _same_vertices(meant: Ways, found: Ways, tolerance: float) -> list[bool]:
    """Compare vertex by vertex, all at once, what has as many; return whether each is the same."""
    many = min(len(meant), len(found))
    one, other = meant.points[:many], found.points[:many]
    counts = np.array([(len(a), len(b)) for a, b in zip(one, other, strict=True)]).reshape(-1, 2)
    alike = counts[:, 0] == counts[:, 1]
    if alike.any():
        sides = ([side[k] for k in np.flatnonzero(alike).tolist()] for side in (one, other))
        gaps = vertex_gaps(*(np.concatenate(side) for side in sides))
        ends = np.cumsum(counts[alike, 0])
        starts = ends - counts[alike, 0]
        alike[alike] = np.maximum.reduceat(gaps, starts) <= tolerance
    good: list[bool] = alike.tolist()
    return good


def _resume(meant: Ways, found: Ways, i: int, j: int, tolerance: float) -> tuple[int, int]:
    """Return (1, 0) if a stroke is missing, (0, 1) if one is too many, (1, 1) if they differ."""
    if i + 1 < len(meant) and _agree(meant[i + 1], found[j], tolerance):
        return 1, 0
    if j + 1 < len(found) and _agree(meant[i], found[j + 1], tolerance):
        return 0, 1
    return 1, 1


def _agree(meant: Way, found: Way, tolerance: float) -> bool:
    return parting(meant.points, found.points, tolerance) is None


def _use(way: Way) -> Iterator[object]:
    """Give all on which `_wrong_use` depends, of a way that is meant or of one that is found."""
    yield way.dot
    for part in way.parts:
        tool = id(part.tool) if isinstance(part, Run) else part.tool
        yield (tool, part.feed, part.force, part.power, part.depth)


def _wrong_use(meant: Way, index: int, found: Way, machine: Machine) -> Iterator[str]:
    """Compare tool, feed, force, power and depth with what was meant.

    Less is as wrong as more: with the force for a crease, or with half the depth, a card is not cut
    through, and a slow laser chars it. Two tools may share a number, and differ in nothing else.
    """
    runs = [part for part in meant.parts if isinstance(part, Run)]
    tool = runs[0].tool
    limits = {
        "feed": max(*(r.feed for r in runs), _SLOWEST_SAID),
        "force": _most([r.force for r in runs]),
        "power": _most([r.power for r in runs]),
        "depth": _most([r.depth for r in runs]),
    }
    for part in found.parts:
        assert isinstance(part, Traced)
        if part.tool is not None and part.tool != tool.number:
            by = _tool(part.tool, machine)
            yield f"{named(meant, index)} is worked by {by}, not by the {tool.name}"
        for name, limit in limits.items():
            value = getattr(part, name)
            if name == "feed" and found.dot:
                continue  # a dot has no feed
            if value is not None and limit is not None and value > limit * 1.01 + 0.01:
                yield f"{named(meant, index)}: {name} {value:g} is more than {limit:g}"
    for name, limit in limits.items():
        values = [value for part in found.parts if (value := getattr(part, name)) is not None]
        if not values or limit is None or (name == "feed" and found.dot):
            continue
        least = limit * 0.99 - (_SLOWEST_SAID if name == "feed" else 0.01)
        if max(values) < least:
            yield f"{named(meant, index)}: {name} {max(values):g} is less than {limit:g}"


def _tool(number: int, machine: Machine) -> str:
    """Return in words which tools a number of the machine's means."""
    names = [f"the {tool.name}" for tool in machine.tools if tool.number == number]
    return " or ".join(names) or f"tool {number}, which the machine does not have"


def _wrong_heading(meant: Way, index: int, found: Way, tolerance: float) -> Iterator[str]:
    """Compare how a tangential knife is turned."""
    runs = [part for part in meant.parts if isinstance(part, Run)]
    traced = [part for part in found.parts if isinstance(part, Traced)]
    wrong = wrongly_turned(runs, traced, tolerance)
    if wrong is not None and np.isnan(wrong[2]):
        yield f"{named(meant, index)}: the file does not turn the knife"
    elif wrong is not None:
        yield (
            f"{named(meant, index)}: the knife is turned to {wrong[2] % 360.0:.1f} degrees at "
            f"{place_of(wrong)}, which is not what was meant"
        )


def _overwound(meant: Way, index: int, found: Way, machine: Machine) -> Iterator[str]:
    limit = meant.first.tool.turn_limit
    traced = [part for part in found.parts if isinstance(part, Traced)]
    angle = overwound(traced, machine, limit) if meant.first.angles is not None else None
    if angle is not None:
        yield (
            f"{named(meant, index)}: the knife's axis turns to {angle:.0f} degrees, past its limit "
            f"of {limit:g}"
        )


def _most(values: Sequence[float | None]) -> float | None:
    said = [value for value in values if value is not None]
    return max(said) if said else None
