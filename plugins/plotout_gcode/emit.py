"""A program as blocks of RS-274/NGC.

Source: Kramer, Proctor, Messina: The NIST RS274NGC Interpreter, version 3 (NIST IR 6556, 2000):
words and modal groups, comments in parentheses, M0, M2 to M6. A beam at rest: see `_at_rest`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from plotout import Program, Run, ToolKind
from plotout.kit import machine_matrix
from plotout_gcode.motion import Path, Placing, worked
from plotout_gcode.options import Options, options

DOT = 0.05  # s for which a beam dwells to make a dot


def emit(program: Program) -> bytes:
    """Return the program as G-code. Raises UserError for a profile that can't be served."""
    asked = options(program.machine)
    made = bytearray()
    for lines in _written(program, asked):
        made += "".join(f"{line}\n" for line in lines).encode("ascii")
    return bytes(made)


def _written(program: Program, asked: Options) -> Iterator[list[str]]:
    """Yield the lines of the file: those of its opening, of each run and of its end."""
    matrix = machine_matrix(program.machine, program.width, program.height)
    placing = Placing(matrix, asked.scale, asked.decimals)
    yield _opening(program, asked)
    before: Run | None = None
    for run, path, blocks in worked(program.runs, placing, asked):
        lines = []
        if run.follows and before:
            lines += _adjusted(run, before, asked)
        else:
            if before:
                lines += _lifted(program, asked)
            if before is None or before.tool.number != run.tool.number:
                lines += _changed(run, before, asked)
            lines += [_there(path, asked), *_lowered(program, run, before, asked)]
        lines += blocks
        if asked.tool == "laser" and len(path.points) < 2 and not run.follows:
            lines.append(f"G4 P{DOT}")
        yield lines
        before = run
    yield _lifted(program, asked) if before else []
    yield ["M5", "M2"] if asked.tool == "z" or before is None else ["M2"]


def comment(text: str) -> str:
    """Return `text` as a comment that can't contain a command.

    Only letters, digits, blanks and `.,-_+` are kept: small controllers act on `!`, `?` and `~`
    wherever they see them (common practice).
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return f"({re.sub(r'[^A-Za-z0-9 .,_+-]+', ' ', plain)[:60].strip()})"


def _opening(program: Program, asked: Options) -> list[str]:
    lines = [
        comment(f"sheet {program.name}"),
        comment(f"machine {program.machine.name}"),
        "G20" if asked.units == "inch" else "G21",
        "G90",
        "G17",
        "G94",
        "M5",
    ]
    if asked.tool == "z":
        lines += [
            comment("Z 0 is the face of the stock"),
            f"G0 Z{asked.number(asked.up * asked.scale)}",
        ]
    return lines


def _lifted(program: Program, asked: Options) -> list[str]:
    if asked.tool == "z":
        return [f"G0 Z{asked.number(asked.up * asked.scale)}"]
    return ["M5", *(_wait(program.machine.motion.lift) if asked.tool == "spindle" else [])]


def _lowered(program: Program, run: Run, before: Run | None, asked: Options) -> list[str]:
    if asked.tool == "z":
        return [*_spun(run, before, asked), _down(run, asked)]
    power = f"S{_power(run, asked)}"
    if asked.tool != "laser":
        return [f"{asked.switch} {power}", *_wait(program.machine.motion.lower)]
    if len(run.points) < 2:
        return [*_at_rest(run, asked, power), *_wait(asked.start)]
    if asked.start <= 0.0:
        return [f"{asked.switch} {power}"]
    there = [] if asked.switch == "M3" else [f"{asked.switch} {power}"]
    return [*_at_rest(run, asked, power), *_wait(asked.start), *there]


def _at_rest(run: Run, asked: Options, power: str) -> list[str]:
    """Switch on a beam that is to burn where it rests. M4 would give it no power there; and in
    laser mode no beam burns after G0, but only after G1, G2 or G3, which want a speed (the public
    notes of the most used open-source three-axis control, version 1.1, from memory).
    """
    return [f"G1 F{asked.feed(run.feed)}", f"M3 {power}"]


def _wait(seconds: float) -> list[str]:
    """Return a dwell: a solenoid, a spindle and some beams need time."""
    return [f"G4 P{seconds:g}"] if seconds > 0.0 else []


def _changed(run: Run, before: Run | None, asked: Options) -> list[str]:
    """Change the tool, and start a spindle."""
    lines = ["M5"] if before and asked.tool == "z" else []
    if asked.change != "none":
        lines += [comment(f"tool {run.tool.number} {run.tool.name}"), f"T{run.tool.number} M6"]
    if asked.change == "by hand":
        lines.append("M0")
    if asked.tool == "z" and run.tool.kind is ToolKind.ROUTER:
        lines.append(f"{asked.switch} S{_power(run, asked)}")
        lines += _wait(asked.start)
    return lines


def _adjusted(run: Run, before: Run, asked: Options) -> list[str]:
    """Change depth or power with the tool down."""
    if asked.tool == "z":
        deeper = [_down(run, asked)] if run.depth != before.depth else []
        return _spun(run, before, asked) + deeper
    return [f"S{_power(run, asked)}"] if run.power != before.power else []


def _spun(run: Run, before: Run | None, asked: Options) -> list[str]:
    """Change the speed of a running spindle."""
    same = before is not None and before.tool.number == run.tool.number
    if before is None or not same or run.tool.kind is not ToolKind.ROUTER:
        return []
    return [f"S{_power(run, asked)}"] if run.power != before.power else []


def _there(path: Path, asked: Options) -> str:
    """Travel to a path's first point, which is rounded already."""
    turned = "" if path.angles is None else f" {asked.rotary}{path.angles[0]:.3f}"
    return f"G0 {asked.place % tuple(path.points[0].tolist())}{turned}"


def _down(run: Run, asked: Options) -> str:
    depth = asked.number(-(run.depth or 0.0) * asked.scale)
    return f"G1 Z{depth} F{asked.feed(asked.plunge)}"


def _power(run: Run, asked: Options) -> str:
    share = 100.0 if run.power is None else run.power
    return f"{share / 100.0 * asked.full:.6g}"
