"""A program as HP-GL or HP-GL/2 instructions.

Sources: HP 7550A Interfacing and Programming Manual (Hewlett-Packard, 1984-86); HP-GL/2 and HP RTL
Reference Guide. No name from the user is written, so no label can end too soon.

FR, in HP-GL/2 and in the HP-GL of roll plotters, advances the roll by one frame of the size that
PS sets; coordinates are then those of the new frame (from memory of the guide).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from plotout import FloatArray, Machine, Program, Run, ToolKind, UserError
from plotout.kit import machine_matrix, options_of
from plotout_hpgl.driven import spoken
from plotout_hpgl.encoding import Polylines, Steps
from plotout_hpgl.options import Hpgl2Options, HpglOptions

FARTHEST = 2**23  # units: the greatest number of the 7550A
PAIRS = 256  # coordinate pairs in one instruction, so that a small buffer can be kept full


@dataclass(frozen=True, slots=True)
class Dialect:
    """The differences between HP-GL/2 and HP-GL.

    options: the model of a profile's options. closing: the end of a file; staying: the end if more
    of the same stock follows.
    """

    name: str
    options: type[HpglOptions | Hpgl2Options]
    opening: str
    closing: str
    staying: str
    sized: bool
    force: bool


HPGL = Dialect(
    name="HP-GL",
    options=HpglOptions,
    opening="IN;PA;\n",
    closing="PU;SP0;\n",
    staying="PU;SP0;\n",
    sized=False,
    force=True,
)
# ESC % -1 B enters HP-GL/2 from whatever the device spoke before; PG feeds the sheet out
HPGL2 = Dialect(
    name="HP-GL/2",
    options=Hpgl2Options,
    opening="\x1b%-1B\nIN;PA;\n",
    closing="PU;SP0;PG;\n",
    staying="PU;SP0;\n",
    sized=True,
    force=False,
)


def check(machine: Machine, dialect: Dialect) -> None:
    """Raise UserError for a profile that the dialect can't serve."""
    options_of(machine, dialect.options)
    for tool in machine.tools:
        if tool.number < 1:
            raise UserError(
                f"machine '{machine.name}': tool '{tool.name}' has number {tool.number}",
                fix="Number pens from 1: pen 0 means no pen.",
            )
        if tool.kind is ToolKind.TANGENTIAL_KNIFE:
            raise UserError(
                f"machine '{machine.name}': tool '{tool.name}' is a tangential knife, and HP-GL "
                "has no instruction that turns one",
                fix='If the machine turns it by itself, write kind = "pen": it is led along the '
                "lines as a pen is.",
            )
    longest = max(machine.bed.length, machine.bed.width)
    if longest / machine.step >= FARTHEST:
        raise UserError(
            f"machine '{machine.name}': {longest:g} mm are {longest / machine.step:.0f} steps of "
            f"{machine.step:g} mm, more than HP-GL's greatest number, {FARTHEST}",
            fix="Write the length of one unit of its coordinates, from its manual.",
        )
    if machine.bed.advance == "automatic" and machine.reach > 0.0:
        raise UserError(
            f"machine '{machine.name}': a tool moves up to {machine.reach:.2f} mm beside its line, "
            "which is out of reach at the ends of a frame that the machine advances",
            fix='Write advance = "by hand" under [bed].',
        )


def emit(program: Program, dialect: Dialect) -> bytes:
    """Return the program's instructions. Raises UserError as `check` does."""
    check(program.machine, dialect)
    polylines = options_of(program.machine, dialect.options).polylines
    parts = [dialect.opening.encode()]
    if dialect.sized or program.advances:
        parts.append(_plot_size(program))
    steps = Counter(advance.run for advance in program.advances)
    before: Run | None = None
    strokes = Polylines()
    as_lines = polylines == "encoded"
    for index, (run, path) in enumerate(_paths(program, as_lines=as_lines)):
        encoded = polylines == "encoded" and len(path) > 1
        between = b"PU;FR;\n" * steps[index]
        between += _approach(run, before, path, dialect, polylines)
        if between or not encoded:
            parts += [strokes.finished(), between]
        if encoded:
            parts.append(strokes.add(path, follows=run.follows and before is not None))
        else:
            parts.append(_WRITERS[polylines](path))
        before = run
    parts.append(strokes.finished())
    closing = dialect.staying if program.stays else dialect.closing
    parts.append((("PA;" if polylines == "relative" else "") + closing).encode())
    return b"".join(parts)


def _paths(program: Program, *, as_lines: bool) -> Iterator[tuple[Run, Steps]]:
    """Give the runs with their points in whole steps, (n, 2), without repeats.

    A run's first point is its start; that of one that follows is where the tool already is.
    as_lines: a pen's dot is a line of one step, no longer than the machine can tell. Some firmware
    leaves out a line without length, and any other instruction would end the encoded one. A punch
    isn't moved while it is down.
    """
    if not program.runs:
        return
    exact = _in_exact_steps(np.vstack(list(_in_frames(program))), program)
    steps = _whole(exact)
    last: Steps | None = None
    start = 0
    for run in program.runs:
        path = steps[start : start + len(run.points)]
        start += len(run.points)
        if run.follows and last is not None:
            path = np.vstack([last, path])
        last = path[-1:]
        kept = np.ones(len(path), dtype=bool)
        np.any(path[1:] != path[:-1], axis=1, out=kept[1:])
        path = path[kept]
        if as_lines and len(path) == 1 and run.tool.kind is ToolKind.PEN:
            last = path + _one_step(exact[start - 1] - path[0])
            path = np.vstack([path, last])
        yield run, path


def _one_step(towards: FloatArray) -> Steps:
    """Return the step, (1, 2), that leads nearest to a place less than one away, (2,)."""
    step = np.zeros((1, 2), dtype=np.int64)
    axis = int(np.argmax(np.abs(towards)))
    step[0, axis] = 1 if towards[axis] >= 0.0 else -1
    return step


def _in_frames(program: Program) -> Iterator[FloatArray]:
    """Give the runs' points in their frames of the roll, mm."""
    moves = iter(program.advances)
    move = next(moves, None)
    origin = np.zeros(2)
    for index, run in enumerate(program.runs):
        while move is not None and move.run <= index:
            origin = origin + np.array([move.by, 0.0])
            move = next(moves, None)
        yield run.points - origin


def _in_exact_steps(points: FloatArray, program: Program) -> FloatArray:
    matrix = machine_matrix(program.machine, _length(program), program.height)
    matrix = matrix / program.machine.step
    return np.asarray(points @ matrix[:, :2].T + matrix[:, 2])


def _whole(exact: FloatArray) -> Steps:
    return np.asarray(np.rint(exact), dtype=np.int64)


def _length(program: Program) -> float:
    """Return the length in mm of a frame: the whole sheet, unless the machine advances it."""
    window = program.machine.bed.window
    return window if program.advances and window is not None else program.width


def _plot_size(program: Program) -> bytes:
    corners = np.array([[0.0, 0.0], [_length(program), program.height]])
    length, width = np.abs(np.diff(_whole(_in_exact_steps(corners, program)), axis=0))[0].tolist()
    return f"PS{length},{width};\n".encode()


def _approach(run: Run, before: Run | None, path: Steps, dialect: Dialect, polylines: str) -> bytes:
    """Lift, change the tool if needed, go to the run's start, set speed and force."""
    text = ""
    if not (run.follows and before):
        if polylines == "relative":
            text += "PA;"
        if before is None or before.tool.number != run.tool.number:
            text += f"PU;SP{run.tool.number};\n"
            before = None
        if polylines != "encoded" or len(path) < 2:
            text += f"PU{path[0, 0]},{path[0, 1]};"
    if before is None or spoken(before.feed) != spoken(run.feed):
        text += f"VS{spoken(run.feed)};"
    force = _force(run) if dialect.force else None
    if force is not None and (before is None or _force(before) != force):
        text += f"FS{force};"
    return text.encode()


def _force(run: Run) -> int | None:
    return None if run.force is None else round(run.force)


def _absolute(path: Steps) -> bytes:
    return _pen_down(path[1:])


def _relative(path: Steps) -> bytes:
    return b"PR;" + _pen_down(np.diff(path, axis=0))


def _pen_down(pairs: Steps) -> bytes:
    if not len(pairs):
        return b"PD;\n"
    return b"".join(
        b"PD" + ",".join(map(str, pairs[at : at + PAIRS].ravel().tolist())).encode() + b";\n"
        for at in range(0, len(pairs), PAIRS)
    )


_WRITERS = {"absolute": _absolute, "relative": _relative, "encoded": _absolute}  # of a dot
