"""Drawings and work as pairs of numbers, one point a line: x y in mm; a blank line ends a shape."""

from pathlib import Path

import numpy as np

from plotout import Drawing, Driver, Pick, Place, Reader, Role, Shape, UserError, hookimpl
from plotout.kit import length


@hookimpl
def plotout_readers():
    """Reads the outline of a piece."""
    return [Reader("pairs", (".pairs",), {"unit": Pick("The unit of x and y.", '"mm"')}, read)]


@hookimpl
def plotout_drivers():
    """Writes each run's points."""
    return [Driver("pairs", ".txt", emit, language="pairs")]


@hookimpl
def plotout_languages():
    """What a machine that takes pairs is spoken to in."""
    from plotout_pairs.talking import Pairs

    return [Pairs()]


@hookimpl
def plotout_machines():
    """A machine that takes pairs."""
    return [Path(__file__).parent / "pairs-machine.toml"]


def read(path, pick):
    """Return the file's points as a closed outline."""
    scale = length(f"1 {pick.get('unit', 'mm')}")
    points = []
    for number, line in enumerate(path.read_text("utf-8").splitlines(), start=1):
        try:
            x, y = map(float, line.split())
        except ValueError:
            place = Place(file=path, line=number)
            raise UserError("this is not a pair", fix="Write x y.", place=place) from None
        points.append((x * scale, y * scale))
    return Drawing((Shape(np.array([*points, points[0]]), Role.OUTLINE),))


def emit(program, sheet):
    """Return a line per stroke: its tool's number, then x,y pairs."""
    lines = []
    for run in program.runs:
        pairs = " ".join(f"{x:.3f},{y:.3f}" for x, y in run.points)
        if run.follows:
            lines[-1] += f" {pairs}"
        else:
            lines.append(f"{run.tool.number} {pairs}")
    return "\n".join(lines).encode()
