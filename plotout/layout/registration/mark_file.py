"""Measured marks in a text file, one per line: name, meant x, meant y, found x, found y."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from plotout.errors import Place, UserError, counted
from plotout.geometry.strokes import FloatArray
from plotout.tables import text_of
from plotout.units import length

COLUMNS = ("name", "meant x", "meant y", "found x", "found y")
MOST_BYTES = 64 * 1024  # a sheet has four marks, a large one a dozen

_CORNERS = ("lower left", "lower right", "upper right", "upper left")


def to_fill_in(meant: FloatArray) -> str:
    """Return a file of a sheet's corner marks, (4, 2), mm, with the found places left blank."""
    rows = [
        f"{name}, {x:.3f}, {y:.3f}, ,"
        for name, (x, y) in zip(_CORNERS, meant.tolist(), strict=True)
    ]
    return "\n".join([", ".join(COLUMNS), *rows]) + "\n"


def load_marks(path: Path) -> tuple[tuple[str, ...], FloatArray, FloatArray]:
    """Return the marks' names, intended places and found places, (n, 2), mm.

    A first line of headings is skipped, and so is a mark with a blank found place.
    Raises UserError with the line for anything else, and if no mark was found.
    """
    names, places = [], []
    for row in _rows(path):
        if any(row.cells[3:]):
            names.append(row.cells[0])
            places.append(row.lengths(row.cells[1:]))
    if not places:
        raise UserError(
            "the found places of the marks are missing",
            fix="Write x and y of three or more of them, in mm.",
            place=Place(path),
        )
    table = np.array(places, dtype=np.float64).reshape(-1, 4)
    return tuple(names), table[:, :2], table[:, 2:]


def mark_names(path: Path) -> tuple[str, ...]:
    """Return the names of all marks in a file. Raises UserError for a file without any."""
    names = tuple(row.cells[0] for row in _rows(path))
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None or not names:
        problem = f"two marks are called '{twice}'" if names else "the file contains no marks"
        raise UserError(problem, fix="Give every mark a line and a name.", place=Place(path))
    return names


def filled_in(path: Path, found: Mapping[str, tuple[float, float]]) -> str:
    """Return a file's text with the found places, mm, by name; others are left blank."""
    lines = text_of(path, "file of marks", MOST_BYTES).splitlines()
    for row in _rows(path):
        there = [f"{cell:.3f}" for cell in found.get(row.cells[0], ())] or ["", ""]
        name = f'"{row.cells[0]}"' if "," in row.cells[0] else row.cells[0]
        lines[row.number - 1] = ", ".join([name, *row.cells[1:3], *there])
    return "\n".join(lines) + "\n"


@dataclass(frozen=True, slots=True)
class _Row:
    path: Path
    number: int
    cells: tuple[str, ...]

    def lengths(self, cells: Sequence[str]) -> list[float]:
        """Return some of the cells as mm."""
        try:
            return [length(cell) for cell in cells]
        except UserError as fault:
            place = Place(self.path, self.number)
            raise UserError(fault.problem, fix=fault.fix, place=place) from None


def _rows(path: Path) -> list[_Row]:
    """Return the lines with marks."""
    lines = text_of(path, "file of marks", MOST_BYTES).splitlines()
    rows = []
    for number, line in enumerate(lines, start=1):
        cells = tuple(cell.strip() for cell in next(csv.reader([line], skipinitialspace=True), ()))
        heading = [cell.lower() for cell in cells] == list(COLUMNS)
        if heading or not any(cells) or cells[0].startswith("#"):
            continue
        if len(cells) != len(COLUMNS):
            raise UserError(
                f"this line has {counted(len(cells), 'value')}, not {len(COLUMNS)}",
                fix=f"Write: {', '.join(COLUMNS)}.",
                place=Place(path, number),
            )
        rows.append(_Row(path, number, cells))
    return rows
