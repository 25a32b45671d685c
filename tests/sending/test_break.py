"""Breaks: the sender killed, the line dropped, the machine reset. After resume, what the machine
drew is what an undisturbed run draws, stroke for stroke: nothing lost, nothing twice.
"""

import random
import time

import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine
from processes import sender

from plotout import plugins
from plotout.kit import Head
from plotout.sending.virtual.line import Fault

PIECE = 64  # bytes that its port may hold besides
SHORTEST = 28  # bytes of a square


def _start(act, file, line, language, buffer, book, *more):
    return sender(act, file, line.link, language, buffer, book, *more)


def _finish(process):
    ended = process.ended()
    return ended.returncode, ended.stderr


def _finished(machine, strokes):
    """Return the finished strokes; what was broken off must be the beginning of one."""
    drawn = [stroke.points for stroke in machine.head.strokes]
    for points in drawn:
        known = (
            len(points) - 1 if points not in strokes else len(points)
        )  # the last may be cut short
        assert any(points[:known] == whole[:known] for whole in strokes), points
    return [points for points in drawn if points in strokes]


def _machine(language):
    """About 0.02 s a square, so that a break falls in the middle of things."""
    if language == "gcode":
        return GcodeMachine(128, head=Head(speed=2500.0))
    return HpglMachine(256, head=Head(speed=100_000.0))


@pytest.mark.parametrize("language", ["hpgl", "gcode"])
def test_killed_sender(serve, hpgl_file, gcode_file, tmp_path, language):
    path, strokes = (hpgl_file if language == "hpgl" else gcode_file)(80)
    machine = _machine(language)
    buffer = machine.buffer
    rng = random.Random(5)
    book = tmp_path / "job.journal"
    with serve(machine) as line:
        process = _start("send", path, line, language, buffer, book)
        kills = 0
        while kills < 3:
            begun = len(machine.head.strokes)
            while len(machine.head.strokes) < begun + 12 and process.poll() is None:
                time.sleep(0.005)
            time.sleep(rng.random() * 0.03)
            if process.poll() is not None:
                break
            process.kill()
            process.ended()
            kills += 1
            process = _start("resume", path, line, language, buffer, book)
        code, errors = _finish(process)
        if code == 2:  # what is asked is answered by somebody at the sheet
            assert "give the first stroke that is not complete" in errors
            whole = len(_finished(machine, strokes))
            process = _start("resume", path, line, language, buffer, book, whole + 1)
            code, errors = _finish(process)
    assert code == 0, errors
    assert _finished(machine, strokes) == strokes
    assert machine.overruns == 0


@pytest.mark.parametrize("language", ["hpgl", "gcode"])
@pytest.mark.parametrize("what", ["drop", "reset"])
def test_line_or_power_lost(serve, hpgl_file, gcode_file, tmp_path, language, what):
    path, strokes = (hpgl_file if language == "hpgl" else gcode_file)(40)
    machine = _machine(language)
    book = tmp_path / "job.journal"
    with serve(machine, faults=[Fault(what, 1100)]) as line:
        code, errors = _finish(_start("send", path, line, language, machine.buffer, book))
        assert code == 1, errors
        while not line.link.exists():
            time.sleep(0.005)
        code, errors = _finish(_start("resume", path, line, language, machine.buffer, book))
        if code == 2:  # what is asked is answered by somebody at the sheet
            assert "give the first stroke that is not complete" in errors
            more = len(_finished(machine, strokes)) + 1
            again = _start("resume", path, line, language, machine.buffer, book, more)
            code, errors = _finish(again)
    assert code == 0, errors
    done = _finished(machine, strokes)
    if what == "reset":  # what it can have held is cut again, and what its last count leaves open
        assert all(stroke in done for stroke in strokes)
        held = machine.buffer + PIECE + plugins.language(language).count_every
        assert len(done) - len(strokes) <= held // SHORTEST + 1
    else:
        assert done == strokes
