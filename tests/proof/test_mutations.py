"""100 random corruptions of a good file in each format: what changes the geometry is caught.

Whether a corruption changes the geometry is told by others: ezdxf's HP-GL/2 interpreter, and
pygcode's machine for G-code. Hausdorff distance (shapely) never says more than the real change.
"""

from __future__ import annotations

import contextlib
import io
import re
import signal

import numpy as np
import pygcode
import pytest
import shapely
from ezdxf.addons.hpgl2.backend import Recorder
from ezdxf.addons.hpgl2.interpreter import Interpreter
from ezdxf.addons.hpgl2.plotter import Plotter
from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands

from plotout.proof import verify

from .conftest import emitted, interpreter
from .mutations import mutations


def hpgl_lines(data: bytes):
    recorder = Recorder()
    data = re.sub(rb"(?<=\d) (?=[-\d])", b",", data)  # HP-GL: a space parts numbers too
    with contextlib.redirect_stdout(io.StringIO()):
        Interpreter(Plotter(recorder)).run(hpgl2_commands(b"\x1b%-1B" + data))
    lines = [
        np.array([tuple(point) for point in record.vertices()]) * 0.025
        for kind, _, record in recorder.player().recordings()
        if kind.name == "POLYLINE"
    ]
    return shapely.MultiLineString([line for line in lines if len(line) > 1])


def gcode_lines(data: bytes):
    machine = pygcode.Machine()
    segments, last = [], (0.0, 0.0, 5.0)
    for text in data.decode("latin-1").splitlines():
        block = pygcode.Line(text).block
        machine.process_block(block)
        here = tuple(float(machine.pos.values[axis]) for axis in "XYZ")
        if last[2] <= 0.0 and here[2] <= 0.0 and here[:2] != last[:2]:
            segments.append((last[:2], here[:2]))
        last = here
        if any(isinstance(g, pygcode.GCodeEndProgram) for g in block.gcodes):
            break
    return shapely.MultiLineString(segments)


def gave_up(_number, _frame):
    raise TimeoutError


def changed(read, one, spoilt: bytes) -> float | None:
    """Return by how many mm the geometry changed; None where the other reader gives up."""
    signal.signal(signal.SIGVTALRM, gave_up)
    # of processor time: ezdxf goes round for ever on some broken PEs
    signal.setitimer(signal.ITIMER_VIRTUAL, 1.5)
    try:
        other = read(spoilt)
    except Exception:
        return None
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
    return float(shapely.hausdorff_distance(one, other)) if not other.is_empty else 999.0


@pytest.mark.parametrize(
    ("driver", "read"), [("hpgl", hpgl_lines), ("hpgl2", hpgl_lines), ("gcode", gcode_lines)]
)
def test_every_corruption_that_moves_a_line_is_caught(sheet, driver, read):
    program, data = emitted(driver, sheet)
    reader = interpreter(driver)
    assert verify(program, sheet, data, reader) == ()
    good = read(data)
    moved, missed, unread = 0, [], 0
    for nth, (kind, spoilt) in enumerate(mutations(data, 120, seed=8)):
        change = changed(read, good, spoilt)
        unread += change is None
        if change is not None and change > program.machine.step:
            moved += 1
            if not verify(program, sheet, spoilt, reader):
                missed.append((nth, kind, change))
    assert missed == []
    assert moved >= 20, (moved, unread)
