"""Reads the table of pricks as spreadsheets write it, checks it by line, and forms runs."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout.kit import (
    collecting_errors,
    decimal_comma,
    is_text,
    nearest,
    plain_number,
    plain_signs,
    read_spreadsheet,
    shown,
    unit_length,
)

COLUMNS = ("x", "y", "run", "kind")
RUNS = ("straight", "curve", "closed")
MARKS = ("notch", "drill")
MOST_PRICKS = 500  # of one run; a sleeve's head has some thirty (common practice)


@dataclass(frozen=True, slots=True, eq=False)
class Pricks:
    """A run as pricked. points: (n, 2), mm. unit: mm per unit of the file.

    line: where it begins in the file; lines: of the pricks.
    """

    name: str
    kind: str
    points: FloatArray
    line: int
    lines: tuple[int, ...]
    unit: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A notch or a drill hole among the pricks. run: its run, or its own name, or ""."""

    kind: str
    run: str
    at: FloatArray
    line: int


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """The part of a file for one piece."""

    runs: tuple[Pricks, ...]
    marks: tuple[Mark, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Prick:
    x: float
    y: float
    run: str
    kind: str
    line: int


def read_table(path: Path, pick: Mapping[str, Any]) -> Table:
    """Return the runs named in the set file, and the marks among them.

    Raises UserError with the line of any fault.
    """
    unit = unit_length(pick.get("unit", "mm"))
    pricks = _pricks(path, unit)
    runs = _runs([prick for prick in pricks if prick.kind in RUNS], path, unit)
    marks = [
        Mark(prick.kind, prick.run, np.array([prick.x, prick.y]), prick.line)
        for prick in pricks
        if prick.kind in MARKS
    ]
    _check_notches(marks, runs, path)
    wanted = pick.get("runs", list(runs))
    if not isinstance(wanted, list) or not wanted:
        raise UserError(
            "'runs' must list names of runs",
            fix='Write runs = ["neck", "side"].',
            place=Place(path),
        )
    known = {**runs, **{mark.run: mark for mark in marks if mark.run}}
    for name in wanted:
        if name not in known:
            raise UserError(f"there is no run '{name}'", fix=nearest(str(name), known),
                            place=Place(path))  # fmt: skip
    taken = [mark for mark in marks if "runs" not in pick or mark.run in wanted]
    loose = [mark for mark in marks if "runs" in pick and not mark.run]
    notes = [
        f"line {mark.line}: this {mark.kind} belongs to no run; left out, since 'runs' selects some"
        for mark in loose
    ]
    chosen = tuple(runs[name] for name in wanted if name in runs)
    if not chosen:
        raise UserError(
            "'runs' names only marks and no run",
            fix="Name the runs of the outline.",
            place=Place(path),
        )
    return Table(chosen, tuple(taken), tuple(notes))


def _check_notches(marks: Sequence[Mark], runs: Mapping[str, Pricks], path: Path) -> None:
    with collecting_errors() as trying:
        for mark in marks:
            with trying():
                if mark.kind == "notch" and mark.run and mark.run not in runs:
                    raise UserError(
                        f"there is no run {shown(mark.run)} for this notch",
                        fix=nearest(mark.run, runs),
                        place=Place(path, mark.line),
                    )


def _pricks(path: Path, unit: float) -> list[_Prick]:
    sheet = read_spreadsheet(path, COLUMNS, rows="pricks", head="x,y,run,kind")
    numbers = [(row.line, row.cells[axis]) for row in sheet.rows for axis in "xy"]
    comma = decimal_comma(numbers, sheet.file, sheet.parted)
    pricks = []
    with collecting_errors() as trying:
        for row in sheet.rows:
            with trying():
                place = Place(path, row.line)
                pricks.append(_prick(row.line, row.cells, unit, place, comma=comma))
    return pricks


def _prick(line: int, row: Mapping[str, str], unit: float, place: Place, *, comma: bool) -> _Prick:
    """Return the prick of a row. Raises UserError with all that is wrong in it."""
    name, kind = row["run"], row["kind"].lower()
    at = []
    with collecting_errors() as trying:
        for axis in "xy":
            with trying():
                at.append(_number(row[axis], place, comma=comma) * unit)
        with trying():
            if kind not in RUNS + MARKS:
                hint = nearest(kind, RUNS + MARKS)
                raise UserError(f"there is no kind {shown(kind)}", fix=hint, place=place)
        with trying():
            if not name and kind in RUNS:
                raise UserError(
                    "this prick belongs to no run",
                    fix="Write the run's name on its line, or on the one where the run begins.",
                    place=place,
                )
            if not is_text(name):
                raise UserError(
                    "its run's name holds a character that can't be shown",
                    fix="Write the name again.",
                    place=place,
                )
    return _Prick(at[0], at[1], name, kind, line)


def _runs(pricks: Sequence[_Prick], path: Path, unit: float) -> dict[str, Pricks]:
    by_name: dict[str, list[_Prick]] = {}
    with collecting_errors() as trying:
        for prick in pricks:
            run = by_name.setdefault(prick.run, [])
            with trying():
                if run and run[0].kind != prick.kind:
                    raise UserError(
                        f"run '{prick.run}' was {run[0].kind} before",
                        fix="Give this run another name, or that kind.",
                        place=Place(path, prick.line),
                    )
            run.append(prick)
    if not by_name:
        raise UserError(
            "there are no pricks in it",
            fix="Write one line per prick: x, y, run, kind.",
            place=Place(path),
        )
    for name, run in by_name.items():
        if len(run) > MOST_PRICKS:
            raise UserError(f"run '{name}' has {len(run)} pricks, more than {MOST_PRICKS}",
                            fix="Leave out some of them.",
                            place=Place(path, run[0].line))  # fmt: skip
    return {
        name: Pricks(name, run[0].kind, np.array([(one.x, one.y) for one in run]),
                     run[0].line, tuple(one.line for one in run), unit)
        for name, run in by_name.items()
    }  # fmt: skip


def _number(text: str, place: Place, *, comma: bool) -> float:
    try:
        value = plain_number(text.replace(",", ".") if comma else text)
    except ValueError as fault:
        plain = plain_signs(text)
        number = re.fullmatch(r"\s*([-+]?[\d.]+)\s*(mm|cm|m|in|inch|inches|\")?\s*", plain)
        fix = "Write it as 12.5."
        if number and number[2]:
            unit = "in" if number[2] in ('"', "inch", "inches") else number[2]
            fix = (
                f"Write {number[1]} alone; name the unit once, in the set file: "
                f'from = {{ file = "{place.file and Path(place.file).name}", unit = "{unit}" }}.'
            )
        elif number and text:
            fix = f"Write {number[1]}."
        raise UserError(f"{shown(text)} is not a number", fix=fix, place=place) from fault
    if not math.isfinite(value) or abs(value) > 1e6:
        raise UserError(
            f"'{text}' is not a coordinate within 1 km",
            fix="Check the unit.",
            place=place,
        )
    return value
