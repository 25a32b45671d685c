"""A test strip: small shapes cut with settings that change from field to field.

Rows are lettered from the top, columns numbered from the left. The user picks the best field, and
its settings are written to the profile.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from plotout.errors import UserError, nearest
from plotout.geometry.lettering import text_lines
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Machine, Tool, ToolKind
from plotout.machine.tools import GREATEST_OFFSET
from plotout.model import Card, Placed, Program, Sheet
from plotout.tool.assign import assigned
from plotout.tool.compile import compile_pairs
from plotout.tool.said import IN_FILE, sayable

UNITS = {"force": "gf", "power": "%", "speed": "mm/s", "depth": "mm", "offset": "mm",
         "overcut": "mm"}  # fmt: skip
COUNT = 5  # fields in a row and in a column
SPREADS = (0.4, 0.7, 0.9)  # of the profile's own setting, either way; the next where too few differ
OVERCUTS = (0.0, 0.25, 0.5, 1.0, 1.5)  # mm
FIELD = (30.0, 32.0)  # mm
EDGE = 8.0  # mm around all fields
TURNING = 6.0  # mm of waste below it, where a blade is turned
LETTERS = 2.5  # mm: the smallest of ISO 3098
_USUAL = {
    ToolKind.TRAILING_BLADE: ("force", "offset", "speed", "overcut"),
    ToolKind.BEAM: ("power", "speed", "overcut"),
    ToolKind.PUNCH: ("depth", "force"),
    ToolKind.CREASER: ("depth", "force", "speed"),
    ToolKind.PEN: ("force", "depth", "speed", "overcut"),
}
_ELSE = ("depth", "overcut", "speed", "power")


@dataclass(frozen=True, slots=True)
class Trial:
    """A field of the strip. name: row and column, "B3". settings: field to value."""

    name: str
    settings: dict[str, float]
    tool: Tool

    @property
    def written(self) -> dict[str, str]:
        """The settings as written in a profile."""
        return {key: f"{value:g} {UNITS[key]}" for key, value in self.settings.items()}


def trials(
    machine: Machine, tool: Tool, down: str | None = None, across: str | None = None
) -> tuple[Trial, ...]:
    """Return the fields, row by row, with the settings that reach the machine.

    down, across: the settings that change from row to row and along a row; by default two that
    have an effect with this tool, or only one. Raises UserError if one does not reach the machine,
    or can't vary.
    """
    if down is not None and down == across:
        raise UserError(f"rows and columns both vary {down}", fix="Vary two settings.")
    asked = {key: _values(machine, tool, key) for key in (down, across) if key is not None}
    reasons: dict[str, list[str]] = {}
    for key in _USUAL.get(tool.kind, _ELSE):
        if len(asked) == 2:
            break
        found, why = ((), "") if key in asked else _found(machine, tool, key)
        if found:
            asked[key] = found
        elif why:
            reasons.setdefault(why, []).append(key)
    only_drawn = not any(key in IN_FILE for key in asked)
    if not asked or (only_drawn and tool.kind is ToolKind.PEN):
        raise UserError(
            f"a strip of '{tool.name}' would show nothing: "
            + "; ".join(f"{', '.join(keys)}: {why}" for why, keys in reasons.items()),
            fix="Make strips of tools with settings that differ: cutters, knives and lasers have "
            "such.",
        )
    keys = list(asked)
    if down is None and across is not None and len(keys) == 2:
        keys.reverse()
    rows, columns = asked[keys[0]], asked[keys[1]] if len(keys) == 2 else (None,)
    made = []
    for row, first in enumerate(rows):
        for column, second in enumerate(columns):
            settings = {keys[0]: first} | ({} if second is None else {keys[1]: second})
            made.append(trial(tool, f"{chr(65 + row)}{column + 1}", settings))
    return tuple(made)


def trial(tool: Tool, name: str, settings: Mapping[str, float]) -> Trial:
    """Return a field; a blade swivels with no more force or speed than it cuts."""
    changed = replace(tool, **settings)  # type: ignore[arg-type]
    if changed.force is not None and changed.swivel_force is not None:
        changed = replace(changed, swivel_force=min(changed.swivel_force, changed.force))
    if changed.swivel_speed is not None:
        changed = replace(changed, swivel_speed=min(changed.swivel_speed, changed.speed))
    return Trial(name, dict(settings), changed)


def strip(
    machine: Machine, tool: Tool, fields: tuple[Trial, ...], *, arcs: bool = False
) -> tuple[Sheet, Program]:
    """Return the strip as a sheet, and its program.

    A cutting tool cuts it out last, by its profile. arcs: the driver finds arcs. Raises UserError
    if the machine's bed is too small for it.
    """
    columns = len({trial.name[1:] for trial in fields})
    rows = len(fields) // columns
    size = np.array([columns * FIELD[0] + 2 * EDGE, rows * FIELD[1] + 2 * EDGE])
    left, bottom, right, top = (max(side, 2.0) + machine.reach for side in machine.bed.margins)
    corner = np.array([left, bottom + TURNING])
    varied = [f"{key}, {UNITS[key]}" for key in fields[0].settings]
    title = "; ".join(
        f"{direction}: {key}" for direction, key in zip(("rows", "along"), varied, strict=False)
    )
    drawn = _lettered(title, corner + np.array([EDGE, size[1] - 6.0]))
    pairs: list[tuple[Stroke, Tool]] = []
    for index, trial in enumerate(fields):
        row, column = divmod(index, columns)
        at = corner + EDGE + np.array([column, rows - 1 - row]) * FIELD
        said = f"{trial.name} " + " ".join(f"{value:g}" for value in trial.settings.values())
        drawn += _lettered(said, at + np.array([0.0, FIELD[1] - 6.0]))
        pairs += [
            (Stroke(shape + at, Work.CUT, mark, "strip"), trial.tool)
            for shape, mark in _shapes(tool)
        ]
    ring = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]) * size + corner
    outline = Stroke(ring, Work.CUT, Mark.OUTLINE, "strip")
    strokes = (*drawn, *(stroke for stroke, _ in pairs), outline)
    card = Card("strip", "strip", "Test strip", 1, 1, ring, strokes)
    width, height = (float(value) for value in corner + size + [right, top])
    sheet = Sheet("test strip", 1, width, height, (Placed(card, 0.0, (0.0, 0.0)),))
    lettered, letters = assigned(drawn, machine)
    worked = [*lettered, *pairs, *([(outline, tool)] if Work.CUT in tool.does else [])]
    return sheet, compile_pairs(sheet, worked, machine, letters, arcs=arcs)


def _lettered(text: str, at: FloatArray) -> list[Stroke]:
    lines = text_lines(text, LETTERS)
    return [Stroke(line + at, Work.DRAW, Mark.LETTERING, "strip") for line in lines]


def _values(machine: Machine, tool: Tool, key: str) -> tuple[float, ...]:
    """Return the values of a requested setting. Raises UserError if there are none."""
    if key not in UNITS:
        raise UserError(f"a strip can't vary '{key}'", fix=nearest(key, UNITS))
    values, why = _found(machine, tool, key)
    if not values:
        raise UserError(
            f"a strip of '{tool.name}' can't vary its {key}: {why}", fix="Vary another."
        )
    return values


def _found(machine: Machine, tool: Tool, key: str) -> tuple[tuple[float, ...], str]:
    """Return values distinct for the machine, including its own; or none, and why."""
    if tool.kind is ToolKind.PUNCH and key in ("speed", "overcut"):
        return (), "it only goes down and up in one place"
    if key == "overcut":
        said = sayable(machine, tool, key, OVERCUTS) or []
        return (tuple(said), "") if len(said) > 1 else ((), "the machine's step is too coarse")
    now = getattr(tool, key)
    if not now:
        return (), f"it has no {key} in the profile"
    limits = {"power": 100.0, "offset": GREATEST_OFFSET, "speed": machine.motion.travel_speed}
    most = limits.get(key, np.inf)
    best: list[float] = []
    for spread in SPREADS:
        asked = now * np.linspace(1.0 - spread, 1.0 + spread, 41)
        asked = np.append(
            asked[asked <= most], [value for value in (now, most) if value < asked[-1]]
        )
        found = sayable(machine, tool, key, [float(f"{value:.3g}") for value in asked])
        if found is None:
            return (), f"files for '{machine.name}' don't set it"
        differ = [value for value in found if 0.0 < value <= most]
        best = max(best, differ, key=len)
        if len(best) >= COUNT:
            break
    if len(best) < 2:
        return (), f"files for '{machine.name}' can't set it finely enough"
    return _spread(best, now), ""


def _spread(values: list[float], now: float) -> tuple[float, ...]:
    """Pick some evenly from least to most, including the one nearest to the profile's."""
    wanted = np.linspace(values[0], values[-1], min(COUNT, len(values)))
    wanted[np.argmin(np.abs(wanted - now))] = now
    there = np.array(values)
    nearest_to = [int(np.argmin(np.abs(there - value))) for value in wanted]
    return tuple(values[place] for place in dict.fromkeys(nearest_to))


def _shapes(tool: Tool) -> list[tuple[FloatArray, Mark]]:
    """Return a square, a circle, a star and a letter in a field with its lower left at 0, 0.

    For a punch: two holes.
    """
    if tool.kind is ToolKind.PUNCH:
        return [(np.array([[x, y]]), Mark.HOLE) for x, y in ((6.0, 6.0), (20.0, 14.0))]
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
