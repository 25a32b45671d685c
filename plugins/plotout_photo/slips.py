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

KINDS = ("straight", "curve", "closed")
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
    _check_lost(lines, added, path)
    _check_kinds(rows, path)
    ends_of: dict[str, set[str]] = {}
    for number in corners & set(lines):
        for row in lines[number] if len(lines[number]) > 1 else ():
            ends_of.setdefault(row["run"], set()).add(row["number"])
    for number, its in lines.items():
        closes = number in corners and len(ends_of.get(its[0]["run"], ())) == 1
        _check_twice(number, its, closes, path)
    new = [*(its for number, its in lines.items() if number not in corners), *added.values()]
    ends = {frozenset(row["run"] for row in its) for its in new if len(its) > 1}
    inner = {n: its[0] for n, its in lines.items() if n not in corners and len(its) == 1}
    _check_runs(inner, runs, ends, path)


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
    if row["kind"] not in ("", *KINDS):
        raise _slip(
            row,
            path,
            f"there is no kind '{row['kind']}' of run",
            f"Write one of these: {', '.join(KINDS)}. Notches and drill holes are placed in the "
            "set.",
        )
    return numbers


def _check_lost(
    lines: Mapping[int, Sequence[Row]], added: Mapping[tuple[str, str], list[Row]], path: Path
) -> None:
    """Raise UserError for a line without a number in the place of one that has it, or in a run of
    which no line has one.
    """
    runs = {row["run"] for its in lines.values() for row in its}
    for other in (row for its in added.values() for row in its):
        if not other["number"].strip() and other["run"] not in runs:
            raise _slip(other, path, f"no prick was found in '{other['run']}'",
                        "Write the name of the run that it is to be in.")  # fmt: skip
    for row in (row for its in lines.values() for row in its):
        for other in added.get((row["x"], row["y"]), ()):
            raise _slip(
                other,
                path,
                f"it has no number, but the place of prick {row['number']} in line {row['line']}",
                NUMBER_BACK,
            )


def _check_kinds(rows: Sequence[Row], path: Path) -> None:
    """Raise UserError for a run of two kinds."""
    first: dict[str, Row] = {}
    for row in rows:
        if row["kind"] not in KINDS:
            continue
        other = first.setdefault(row["run"], row)
        if other["kind"] != row["kind"]:
            raise _slip(
                row,
                path,
                f"{row['run']} is {row['kind']} here, but {other['kind']} in line {other['line']}",
                "Give all lines of a run the same kind.",
            )


def _check_twice(number: int, its: Sequence[Row], closes: bool, path: Path) -> None:
    """Raise UserError for a number that stands in lines of two places, or twice in a run.

    closes: it is the only corner of its run, which ends where it begins.
    """
    for one, other in pairwise(its):
        apart = dist(*([float(row["x"]), float(row["y"])] for row in (one, other)))
        if apart > FAR or (one["run"] == other["run"] and not closes):
            raise _slip(
                other,
                path,
                f"prick {number} stands in line {one['line']}, too",
                "Put back the number of one of them. If two runs have one name, give each its own, "
                "or remove one of the two lines of the corner between them.",
            )


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
