"""The CSV of pricks: read, checked line by line, and put into runs."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from plotout import FloatArray, Place, UserError, length, nearest

COLUMNS = ("x", "y", "run", "kind")
KINDS = ("straight", "curve", "closed")
MOST_BYTES = 20 * 1024 * 1024


@dataclass(frozen=True, slots=True, eq=False)
class Pricks:
    """One run as pricked. points: (n, 2), mm. line: where it begins in the file."""

    name: str
    kind: str
    points: FloatArray
    line: int


def read_runs(path: Path, pick: Mapping[str, Any]) -> tuple[Pricks, ...]:
    """Return the runs that the set file asks for. Raises UserError with the line of any fault."""
    unit = length(f"1 {pick.get('unit', 'mm')}")
    runs = _runs(_rows(path), path, unit)
    wanted = pick.get("runs", list(runs))
    if not isinstance(wanted, list) or not wanted:
        raise UserError("'runs' must list names of runs", place=Place(path))
    for name in wanted:
        if name not in runs:
            raise UserError(f"there is no run '{name}'", fix=nearest(str(name), runs),
                            place=Place(path))  # fmt: skip
    return tuple(runs[name] for name in wanted)


def _rows(path: Path) -> list[tuple[int, dict[str, str]]]:
    """Return (line, column to text) of every prick."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise UserError("the file is larger than 20 MiB", place=Place(path))
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as fault:
        raise UserError("this is not UTF-8 text", fix="Save it as UTF-8.",
                        place=Place(path)) from fault  # fmt: skip
    except OSError as fault:
        raise UserError(f"can't read it: {fault.strerror}", place=Place(path)) from fault
    lines = [
        (nth, line)
        for nth, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise UserError("there are no pricks in it", place=Place(path))
    head = [name.strip().lower() for name in next(csv.reader([lines[0][1]]))]
    for name in COLUMNS:
        if name not in head:
            raise UserError(f"there is no column '{name}'", fix="The first line is: x,y,run,kind",
                            place=Place(path, lines[0][0]))  # fmt: skip
    rows = []
    for nth, line in lines[1:]:
        values = [value.strip() for value in next(csv.reader([line]))]
        if len(values) != len(head):
            raise UserError(f"this line has {len(values)} values, not {len(head)}",
                            fix="Write decimals with a point, not a comma.",
                            place=Place(path, nth))  # fmt: skip
        rows.append((nth, dict(zip(head, values, strict=True))))
    return rows


def _runs(rows: list[tuple[int, dict[str, str]]], path: Path, unit: float) -> dict[str, Pricks]:
    points: dict[str, list[tuple[float, float]]] = {}
    kinds: dict[str, tuple[str, int]] = {}
    for line, row in rows:
        name, kind = row["run"], row["kind"].lower()
        place = Place(path, line)
        if not name:
            raise UserError("this prick belongs to no run", place=place)
        if kind not in KINDS:
            raise UserError(f"there is no kind '{kind}'", fix=nearest(kind, KINDS), place=place)
        if kinds.setdefault(name, (kind, line))[0] != kind:
            raise UserError(f"run '{name}' was {kinds[name][0]} before", place=place)
        points.setdefault(name, []).append(
            (_number(row["x"], place) * unit, _number(row["y"], place) * unit)
        )
    if not points:
        raise UserError("there are no pricks in it", place=Place(path))
    return {
        name: Pricks(name, kinds[name][0], np.array(values), kinds[name][1])
        for name, values in points.items()
    }


def _number(text: str, place: Place) -> float:
    try:
        value = float(text)
    except ValueError as fault:
        raise UserError(f"'{text}' is not a number", place=place) from fault
    if not math.isfinite(value) or abs(value) > 1e6:
        raise UserError(f"'{text}' is not a place on a table", place=place)
    return value
