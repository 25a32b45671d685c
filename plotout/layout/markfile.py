"""Measured marks, typed into a text file: name, meant x, meant y, found x, found y; a line each."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from plotout.errors import Place, UserError
from plotout.geometry.strokes import FloatArray
from plotout.units import length

COLUMNS = ("name", "meant x", "meant y", "found x", "found y")


_CORNERS = ("lower left", "lower right", "upper right", "upper left")


def to_fill_in(meant: FloatArray) -> str:
    """Return a file of a sheet's corner marks, (4, 2), mm, in which the found places are open."""
    rows = [
        f"{name}, {x:.3f}, {y:.3f}, ,"
        for name, (x, y) in zip(_CORNERS, meant.tolist(), strict=True)
    ]
    return "\n".join([", ".join(COLUMNS), *rows]) + "\n"


def load_marks(path: Path) -> tuple[tuple[str, ...], FloatArray, FloatArray]:
    """Return the marks' names, where they were meant to be and where they are, each (n, 2), mm.

    A first line of headings is passed over. Raises UserError with the line for anything else.
    """
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as fault:
        raise UserError(f"can't read the marks: {fault}", place=Place(path)) from None
    names, places = [], []
    for number, row in enumerate(csv.reader(lines, skipinitialspace=True), start=1):
        cells = [cell.strip() for cell in row]
        if not any(cells) or cells[0].startswith("#"):
            continue
        if [cell.lower() for cell in cells] == list(COLUMNS):
            continue
        if len(cells) != len(COLUMNS):
            raise UserError(
                f"this line has {len(cells)} values, not {len(COLUMNS)}",
                fix=f"Write: {', '.join(COLUMNS)}.",
                place=Place(path, number),
            )
        try:
            places.append([length(cell) for cell in cells[1:]])
        except UserError as fault:
            raise UserError(fault.problem, fix=fault.fix, place=Place(path, number)) from None
        names.append(cells[0])
    table = np.array(places, dtype=np.float64).reshape(-1, 4)
    return tuple(names), table[:, :2], table[:, 2:]
