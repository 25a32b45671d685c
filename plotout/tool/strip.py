"""A test strip: small shapes cut with settings that change from field to field.

Rows are lettered from the top, columns numbered from the left. The user takes the field that is cut
best, and its settings are written to the profile.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from plotout.errors import UserError, nearest
from plotout.geometry.lettering import text_lines
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Machine, Tool, ToolKind
from plotout.model import Card, Placed, Program, Sheet
from plotout.tool.assign import assigned
from plotout.tool.compile import compile_pairs

UNITS = {"force": "gf", "power": "%", "speed": "mm/s", "depth": "mm", "offset": "mm",
         "overcut": "mm"}  # fmt: skip
SHARES = (0.6, 0.8, 1.0, 1.2, 1.4)  # of the profile's own setting
OVERCUTS = (0.0, 0.25, 0.5, 1.0, 1.5)  # mm
FIELD = (26.0, 32.0)  # mm
EDGE = 8.0  # mm about all fields
TURNING = 6.0  # mm of waste below it, where a blade is turned
LETTERS = 2.5  # mm: the smallest of ISO 3098


@dataclass(frozen=True, slots=True)
class Trial:
    """One field of the strip. name: row and column, "B3". settings: field to value."""

    name: str
    settings: dict[str, float]
    tool: Tool

    @property
    def written(self) -> dict[str, str]:
        """The settings as they stand in a profile."""
        return {key: f"{value:g} {UNITS[key]}" for key, value in self.settings.items()}


def varied(tool: Tool) -> tuple[str, str]:
    """Return which settings a strip for this tool varies: from row to row, and along a row."""
    if tool.kind is ToolKind.TRAILING_BLADE:
        return "force", "offset"
    if tool.kind is ToolKind.BEAM:
        return "power", "speed"
    return "depth", "overcut"


def trials(tool: Tool, down: str, across: str) -> tuple[Trial, ...]:
    """Return the fields, row by row. Raises UserError for a setting that the tool hasn't got."""
    rows, columns = _values(tool, down), _values(tool, across)
    if down == across:
        raise UserError(f"rows and columns both vary {down}", fix="Vary two settings.")
    found = []
    for row, first in enumerate(rows):
        for column, second in enumerate(columns):
            settings = {down: first, across: second}
            changed = replace(tool, **settings)  # type: ignore[arg-type]
            if changed.force is not None and changed.swivel_force is not None:
                changed = replace(changed, swivel_force=min(changed.swivel_force, changed.force))
            found.append(Trial(f"{chr(65 + row)}{column + 1}", settings, changed))
    return tuple(found)


def strip(
    machine: Machine, tool: Tool, fields: tuple[Trial, ...], *, arcs: bool = False
) -> tuple[Sheet, Program]:
    """Return the strip as a sheet, and its program; it is cut out last, as the profile says.

    arcs: the driver finds arcs. Raises UserError where the machine's bed is too small for it.
    """
    columns = len({trial.name[1:] for trial in fields})
    rows = len(fields) // columns
    size = np.array([columns * FIELD[0] + 2 * EDGE, rows * FIELD[1] + 2 * EDGE])
    left, bottom, right, top = (max(side, 2.0) + machine.reach for side in machine.bed.margins)
    corner = np.array([left, bottom + TURNING])
    down, across = fields[0].settings
    title = f"rows: {down}, {UNITS[down]}; along: {across}, {UNITS[across]}"
    drawn = _lettered(title, corner + np.array([EDGE, size[1] - 6.0]))
    pairs: list[tuple[Stroke, Tool]] = []
    for index, trial in enumerate(fields):
        row, column = divmod(index, columns)
        at = corner + EDGE + np.array([column, rows - 1 - row]) * FIELD
        said = f"{trial.name} " + " ".join(f"{value:g}" for value in trial.settings.values())
        drawn += _lettered(said, at + np.array([0.0, FIELD[1] - 6.0]))
        pairs += [
            (Stroke(shape + at, Work.CUT, mark, "strip"), trial.tool) for shape, mark in _shapes()
        ]
    ring = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]) * size + corner
    outline = Stroke(ring, Work.CUT, Mark.OUTLINE, "strip")
    strokes = (*drawn, *(stroke for stroke, _ in pairs), outline)
    card = Card("strip", "strip", "Test strip", 1, 1, ring, strokes)
    width, height = (float(value) for value in corner + size + [right, top])
    sheet = Sheet("test strip", 1, width, height, (Placed(card, 0.0, (0.0, 0.0)),))
    lettered, told = assigned(drawn, machine)
    worked = [*lettered, *pairs, (outline, tool)]
    return sheet, compile_pairs(sheet, worked, machine, told, arcs=arcs)


def _lettered(text: str, at: FloatArray) -> list[Stroke]:
    lines = text_lines(text, LETTERS)
    return [Stroke(line + at, Work.DRAW, Mark.LETTERING, "strip") for line in lines]


def _values(tool: Tool, key: str) -> tuple[float, ...]:
    if key not in UNITS:
        raise UserError(f"a strip can't vary '{key}'", fix=nearest(key, UNITS))
    if key == "overcut":
        return OVERCUTS
    now = getattr(tool, key)
    if not now:
        raise UserError(
            f"tool '{tool.name}' has no {key} to vary", fix="Give it one to begin with."
        )
    most = {"power": 100.0, "offset": 1.5}.get(key, np.inf)
    values = [min(float(f"{now * share:.3g}"), most) for share in SHARES]
    return tuple(dict.fromkeys(values))


def _shapes() -> list[tuple[FloatArray, Mark]]:
    """A square, a circle, a star and a letter, in a field whose lower left corner is 0, 0."""
    square = np.array([[1, 1], [10, 1], [10, 10], [1, 10], [1, 1.0]])
    turn = np.linspace(0.0, 2.0 * np.pi, 97)
    circle = 4.5 * np.column_stack([np.cos(turn), np.sin(turn)]) + [18.5, 5.5]
    circle[-1] = circle[0]
    tips = np.pi / 2.0 + np.arange(11) * np.pi / 5.0
    reach = np.where(np.arange(11) % 2 == 0, 5.0, 2.0)
    star = reach[:, None] * np.column_stack([np.cos(tips), np.sin(tips)]) + [5.5, 17.5]
    star[-1] = star[0]
    letter = [line + np.array([14.5, 13.5]) for line in text_lines("R", 8.0)]
    closed = [(shape, Mark.CUTOUT) for shape in (square, circle, star)]
    return [*closed, *((line, Mark.INTERNAL) for line in letter)]
