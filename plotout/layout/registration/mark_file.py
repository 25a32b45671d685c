"""Measured marks in a text file, one per line: name, meant x, meant y, found x, found y."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from plotout.errors import Place, UserError, collecting_errors, counted
from plotout.geometry.strokes import FloatArray
from plotout.tables import text_of
from plotout.tables.spreadsheet import decimal_comma, parted_by
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
    Raises UserError with the lines of all faults, and if no mark was found.
    """
    names, places = [], []
    with collecting_errors() as trying:
        rows = list(_rows(path, trying))
        with trying():
            _check_decimals(path, rows)
        for row in rows:
            with trying():
                if any(row.cells[3:]):
                    names.append(row.cells[0])
                    places.append(row.places())
    if not places:
        raise UserError(
            "the found places of the marks are missing",
            fix="Write x and y of three or more of them, in mm.",
            place=Place(path),
        )
    table = np.array(places, dtype=np.float64).reshape(-1, 4)
    return tuple(names), table[:, :2], table[:, 2:]


def _check_decimals(path: Path, rows: Sequence[_Row]) -> None:
    """Raise UserError for found places with points and commas, or where 1.290 may mean 1290.

    The intended places are plotout's own, with three decimals, and raise no doubt.
    """
    found = [(row.number, cell) for row in rows for cell in row.cells[3:] if cell]
    if found:
        decimal_comma(found, path, rows[0].parted)


def mark_names(path: Path) -> tuple[str, ...]:
    """Return the names of all marks in a file. Raises UserError for a file without any."""
    names = tuple(row.cells[0] for row in _every_row(path))
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None or not names:
        problem = f"two marks are called '{twice}'" if names else "the file contains no marks"
        raise UserError(problem, fix="Give every mark a line and a name.", place=Place(path))
    return names


def filled_in(path: Path, found: Mapping[str, tuple[float, float]]) -> str:
    """Return a file's text with the found places, mm, by name; others are left blank."""
    lines = text_of(path, "file of marks", MOST_BYTES).splitlines()
    for row in _every_row(path):
        there = [f"{cell:.3f}" for cell in found.get(row.cells[0], ())] or ["", ""]
        name = f'"{row.cells[0]}"' if row.parted in row.cells[0] else row.cells[0]
        between = f"{row.parted} ".replace("\t ", "\t")
        lines[row.number - 1] = between.join([name, *row.cells[1:3], *there])
    return "\n".join(lines) + "\n"


@dataclass(frozen=True, slots=True)
class _Row:
    path: Path
    number: int
    cells: tuple[str, ...]
    parted: str

    def places(self) -> list[float]:
        """Return the meant and the found place, mm. Raises UserError with all that is wrong."""
        found = []
        with collecting_errors() as trying:
            for column, cell in zip(COLUMNS[1:], self.cells[1:], strict=True):
                with trying():
                    found.append(self._length(column, cell))
        return found

    def _length(self, column: str, cell: str) -> float:
        place = Place(self.path, self.number)
        if not cell:
            fix = f"Write {column} in mm, or leave both found x and found y blank."
            raise UserError(f"{column} is missing", fix=fix, place=place)
        try:
            return length(cell if self.parted == "," else cell.replace(",", "."))
        except UserError as fault:
            raise UserError(f"{column}: {fault.problem}", fix=fault.fix, place=place) from None


def _every_row(path: Path) -> list[_Row]:
    with collecting_errors() as trying:
        return list(_rows(path, trying))


def _rows(path: Path, trying: Callable[[], AbstractContextManager[None]]) -> Iterator[_Row]:
    """Give the lines with marks, separated by commas, semicolons or tabs."""
    lines = [
        (number, line)
        for number, line in enumerate(text_of(path, "file of marks", MOST_BYTES).splitlines(), 1)
        if line.strip(" \t,;") and not line.lstrip().startswith("#")
    ]
    parted = parted_by(lines[0][1]) if lines else ","
    for number, line in lines:
        written = next(csv.reader([line], delimiter=parted, skipinitialspace=True))
        cells = tuple(cell.strip() for cell in written)
        if [cell.lower() for cell in cells] == list(COLUMNS):
            continue
        if len(cells) == len(COLUMNS):
            yield _Row(path, number, cells, parted)
            continue
        with trying():
            raise UserError(
                f"this line has {counted(len(cells), 'value')}, not {len(COLUMNS)}",
                fix=f"Write: {', '.join(COLUMNS)}.",
                place=Place(path, number),
            )
