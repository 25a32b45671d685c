"""The table of pricks: read as spreadsheets write it, checked line by line, put into runs."""

from __future__ import annotations

import codecs
import csv
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout.kit import length, nearest

COLUMNS = ("x", "y", "run", "kind")
RUNS = ("straight", "curve", "closed")
MARKS = ("notch", "drill")
MOST_BYTES = 20 * 1024 * 1024
LONGEST_LINE = 2_000
MOST_PRICKS = 500  # of one run; a sleeve's head has some thirty (common practice)


@dataclass(frozen=True, slots=True, eq=False)
class Pricks:
    """One run as pricked. points: (n, 2), mm. unit: mm to one of the file's own.

    line: where it begins in the file; lines: where each prick stands.
    """

    name: str
    kind: str
    points: FloatArray
    line: int
    lines: tuple[int, ...]
    unit: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A notch or a drill hole among the pricks. run: whose it is, or a name of its own, or ""."""

    kind: str
    run: str
    at: FloatArray
    line: int


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """What a piece takes of a file."""

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
    """Return the runs that the set file asks for, and the marks among them.

    Raises UserError with the line of any fault.
    """
    unit = length(f"1 {pick.get('unit', 'mm')}")
    pricks = _pricks(path, unit)
    runs = _runs([prick for prick in pricks if prick.kind in RUNS], path, unit)
    marks = [
        Mark(prick.kind, prick.run, np.array([prick.x, prick.y]), prick.line)
        for prick in pricks
        if prick.kind in MARKS
    ]
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
        f"line {mark.line}: this {mark.kind} belongs to no run; left out: 'runs' asks for some"
        for mark in loose
    ]
    chosen = tuple(runs[name] for name in wanted if name in runs)
    if not chosen:
        raise UserError(
            "'runs' names marks alone, and no run",
            fix="Name the runs that make the outline.",
            place=Place(path),
        )
    return Table(chosen, tuple(taken), tuple(notes))


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise UserError(
                "the file is larger than 20 MiB",
                fix="A table of pricks has a few hundred lines. Is it the right file?",
                place=Place(path),
            )
        data = path.read_bytes()
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return data.decode("utf-16")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise UserError("this is not UTF-8 text", fix="Save it as UTF-8.",
                        place=Place(path)) from fault  # fmt: skip
    except OSError as fault:
        raise UserError(
            f"can't read it: {fault.strerror}", fix="May you read it?", place=Place(path)
        ) from fault


def _lines(path: Path) -> tuple[list[tuple[int, list[str]]], str]:
    """Return (line, values) of the head and of every prick, and what parts the values."""
    lines = [
        (number, line)
        for number, line in enumerate(_text(path).splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if lines and lines[0][1].lower().startswith("sep="):  # a spreadsheet's own hint
        del lines[0]
    if not lines:
        raise UserError(
            "there are no pricks in it",
            fix="Write a line for each: x, y, run, kind.",
            place=Place(path),
        )
    for number, line in lines:
        if len(line) > LONGEST_LINE:
            raise UserError(f"this line has {len(line)} letters, more than {LONGEST_LINE}",
                            fix="A prick has a line of its own: x,y,run,kind.",
                            place=Place(path, number))  # fmt: skip
    parted = max("\t;,", key=lines[0][1].count)
    values = [
        (number, [value.strip() for value in next(csv.reader([line], delimiter=parted))])
        for number, line in lines
    ]
    return values, parted


def _pricks(path: Path, unit: float) -> list[_Prick]:
    lines, parted = _lines(path)
    (head_line, head), *rows = lines
    head = [name.lower() for name in head]
    while head and not head[-1]:  # columns that a spreadsheet left empty
        head.pop()
    for name in COLUMNS:
        if name not in head:
            raise UserError(f"there is no column '{name}'", fix="The first line is: x,y,run,kind",
                            place=Place(path, head_line))  # fmt: skip
    read: list[tuple[int, dict[str, str]]] = []
    for number, values in rows:
        if not any(values):
            continue
        if len(values) < len(head) or any(values[len(head) :]):
            comma = parted == "," and len(values) > len(head)
            raise UserError(
                f"this line has {len(values)} values, not {len(head)}",
                fix="Write decimals with a point, or part the values with semicolons or tabs."
                if comma
                else "The first line says what each value is.",
                place=Place(path, number),
            )
        read.append((number, dict(zip(head, values, strict=False))))
    if not read:
        raise UserError(
            "there are no pricks in it",
            fix="Write a line for each: x, y, run, kind.",
            place=Place(path),
        )
    comma = _decimal_comma(read, path)
    return [_prick(number, row, unit, Place(path, number), comma=comma) for number, row in read]


def _decimal_comma(rows: Sequence[tuple[int, Mapping[str, str]]], path: Path) -> bool:
    """Whether decimals are written with a comma. Raises UserError where both are."""
    first: dict[str, int] = {}
    for index, row in rows:
        for text in (row["x"], row["y"]):
            for sign in ".,":
                if sign in text:
                    first.setdefault(sign, index)
    if len(first) > 1:
        raise UserError(
            f"decimals are written with a comma in line {first[',']} and with a point in line "
            f"{first['.']}",
            fix="Write all of them in one way, and no sign between thousands.",
            place=Place(path, max(first.values())),
        )
    return "," in first


def _prick(line: int, row: Mapping[str, str], unit: float, place: Place, *, comma: bool) -> _Prick:
    name, kind = row["run"], row["kind"].lower()
    if kind not in RUNS + MARKS:
        raise UserError(f"there is no kind '{kind}'", fix=nearest(kind, RUNS + MARKS), place=place)
    if not name and kind in RUNS:
        raise UserError(
            "this prick belongs to no run",
            fix="Write the run's name in its line, or in the one where the run begins.",
            place=place,
        )
    x, y = (_number(row[axis], place, comma=comma) * unit for axis in "xy")
    return _Prick(x, y, name, kind, line)


def _runs(pricks: Sequence[_Prick], path: Path, unit: float) -> dict[str, Pricks]:
    by_name: dict[str, list[_Prick]] = {}
    for prick in pricks:
        run = by_name.setdefault(prick.run, [])
        if run and run[0].kind != prick.kind:
            raise UserError(
                f"run '{prick.run}' was {run[0].kind} before",
                fix="A run is of one kind: give this one another name, or that kind.",
                place=Place(path, prick.line),
            )
        run.append(prick)
    if not by_name:
        raise UserError(
            "there are no pricks in it",
            fix="Write a line for each: x, y, run, kind.",
            place=Place(path),
        )
    for name, run in by_name.items():
        if len(run) > MOST_PRICKS:
            raise UserError(f"run '{name}' has {len(run)} pricks, more than {MOST_PRICKS}",
                            fix="Leave some of them out.",
                            place=Place(path, run[0].line))  # fmt: skip
    return {
        name: Pricks(name, run[0].kind, np.array([(one.x, one.y) for one in run]),
                     run[0].line, tuple(one.line for one in run), unit)
        for name, run in by_name.items()
    }  # fmt: skip


def _number(text: str, place: Place, *, comma: bool) -> float:
    try:
        value = float(text.replace(",", ".") if comma else text)
    except ValueError as fault:
        raise UserError(
            f"'{text}' is not a number", fix="Write it as 12.5.", place=place
        ) from fault
    if not math.isfinite(value) or abs(value) > 1e6:
        raise UserError(
            f"'{text}' is not a place on a table",
            fix="Is the unit right? A place is within a kilometre.",
            place=place,
        )
    return value
