"""Refuses an edited table whose lines contradict one another or the record of what was found.

A slip would otherwise change something else in silence: a prick's number written twice loses one
of both, and a run's name written in one line of another run renames neither, or both.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import dist
from pathlib import Path

from plotout import Place, UserError

RUNS, MARKS = ("straight", "curve", "closed"), ("notch", "drill")
NUMBERS = re.compile(r"[0-9]{1,6}(\+[0-9]{1,6})*|unseen|")
NUMBER_BACK = "Put its number back. Leave it empty only where you add a line."
FAR = 20.0  # mm that no corner is moved by hand in one of its two lines

Row = Mapping[str, str]
"""A line of the table: its cells, and its number as `line`."""


def check_rows(rows: Sequence[Row], runs: Mapping[int, str], corners: set[int], path: Path) -> None:
    """Raise UserError for the first line with a slip.

    runs: the run of every number that was found, "" if in none; corners: the numbers of corners.
    """
    lines: dict[int, list[Row]] = {}
    added: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        numbers = _check_cells(row, runs, path)
        for number in numbers:
            lines.setdefault(number, []).append(row)
        if not numbers:
            added.setdefault((row["x"], row["y"]), []).append(row)
    _check_kinds(rows, path)
    for number, its in lines.items():
        _check_twice(number, its, number in corners, path)
    new = [*(its for number, its in lines.items() if number not in corners), *added.values()]
    ends = {frozenset(row["run"] for row in its) for its in new if len(its) > 1}
    alone = {n: its[0] for n, its in lines.items() if n not in corners and len(its) == 1}
    _check_runs(alone, runs, ends, path)


def _check_cells(row: Row, runs: Mapping[int, str], path: Path) -> list[int]:
    """Return a line's numbers. Raises UserError for a cell that can't be meant."""
    number = row["number"].strip()
    if not NUMBERS.fullmatch(number):
        raise _slip(row, path, f"'{number}' is no number of a prick", NUMBER_BACK)
    numbers = [int(part) for part in number.split("+")] if number[:1].isdigit() else []
    for one in numbers:
        if one not in runs:
            raise _slip(row, path, f"no prick {one} was found", NUMBER_BACK)
    if not row["run"].strip():
        raise _slip(row, path, "it names no run", "Write the name of its run.")
    if row["kind"] not in ("", *RUNS, *MARKS):
        kinds = ", ".join((*RUNS, *MARKS))
        raise _slip(row, path, f"there is no kind '{row['kind']}'", f"Write one of these: {kinds}.")
    return numbers


def _check_kinds(rows: Sequence[Row], path: Path) -> None:
    """Raise UserError for a run of two kinds."""
    first: dict[str, Row] = {}
    for row in rows:
        if row["kind"] not in RUNS:
            continue
        other = first.setdefault(row["run"], row)
        if other["kind"] != row["kind"]:
            raise _slip(
                row,
                path,
                f"{row['run']} is {row['kind']} here, but {other['kind']} in line {other['line']}",
                "Give all lines of a run the same kind.",
            )


def _check_twice(number: int, its: Sequence[Row], corner: bool, path: Path) -> None:
    """Raise UserError for a number that stands in lines of two places."""
    for one, other in pairwise(its):
        apart = dist(*([float(row["x"]), float(row["y"])] for row in (one, other)))
        if apart > FAR or (one["run"] == other["run"] and not corner):
            raise _slip(other, path, f"prick {number} stands in line {one['line']}, too",
                        "Put back the number of one of them.")  # fmt: skip


def _check_runs(
    alone: Mapping[int, Row], runs: Mapping[int, str], ends: set[frozenset[str]], path: Path
) -> None:
    """Raise UserError for a prick by itself in another run than those that were found with it.

    A run may be given another name, and divided at a new corner, which stands in both its parts.
    alone: the lines of the pricks within runs; ends: the names of runs that meet at new corners.
    """
    names: dict[str, dict[str, Row]] = {}
    for number, row in alone.items():
        if runs[number]:
            names.setdefault(runs[number], {}).setdefault(row["run"], row)
    for run, by_name in names.items():
        first, *others = by_name
        for name in others:
            if not any({first, name} <= both for both in ends):
                row = max(by_name[first], by_name[name], key=lambda row: row["run"] != run)
                raise _slip(row, path, f"this prick was found in another run than '{row['run']}'",
                            "Give all its run's lines the same name. To divide a run, let the "
                            "corner stand in both its parts.")  # fmt: skip


def _slip(row: Row, path: Path, problem: str, fix: str) -> UserError:
    return UserError(problem, fix=fix, place=Place(path, line=int(row["line"])))
