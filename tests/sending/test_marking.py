"""Marks found by the machine's own word, over pseudo-terminals; a pretend user has its tool.

`DP`, `OS`, `OD`, `DC`: HP 7550A manual, from memory. Work place and its offset in a status: common
practice of small controls.
"""

import threading
import time
from collections import deque

import numpy as np
import pytest
from click.testing import CliRunner

from plotout import Asking, MachineError, UserError, job
from plotout.cli.marks_command import marks
from plotout.layout.registration.mark_file import load_marks
from plotout.sending import marking
from plotout.sending.settings import settings_of

MEANT = {
    "lower left": (10.0, 10.0),
    "lower right": (590.0, 10.0),
    "upper right": (590.0, 290.0),
    "upper left": (10.0, 290.0),
}
TURN = np.radians(0.3)
TRUE = np.array([[np.cos(TURN), -np.sin(TURN), 31.0], [np.sin(TURN), np.cos(TURN), 22.0]])
FOUND = {name: TRUE[:, :2] @ at + TRUE[:, 2] for name, at in MEANT.items()}


@pytest.fixture
def marks_file(tmp_path):
    rows = [f"{name}, {x}, {y}, ," for name, (x, y) in MEANT.items()]
    path = tmp_path / "marks.csv"
    path.write_text("name, meant x, meant y, found x, found y\n# as printed\n" + "\n".join(rows))
    return path


def asking(*typed, agreed=True):
    told, answers = [], deque(typed)
    return told, Asking(told.append, lambda _question: agreed, lambda _question: answers.popleft())


def find(line, name, *typed, names=("a",), **more):
    machine = job.load_machine(name)
    told, ask = asking(*typed, **more)
    return told, marking.find_marks(str(line.link), settings_of(machine), machine, names, ask)


def run(marks_file, machine, line, typed):
    words = [str(marks_file), "--machine", machine, "--port", str(line.link)]
    return CliRunner().invoke(marks, words, input=typed, catch_exceptions=False)


def test_entered_at_the_machine(serve, hpgl_machine, marks_file):
    """HP-GL: the user moves the pen by the machine's keys; places come back to one step."""
    hpgl_machine.head.places.extend((x / 0.025, y / 0.025) for x, y in FOUND.values())
    with serve(hpgl_machine) as line:
        done = run(marks_file, "roll-plotter", line, "y\n\n\n\n\n")
    assert done.exit_code == 0, done.output
    names, meant, found = load_marks(marks_file)
    assert names == tuple(MEANT)
    assert meant.tolist() == [list(at) for at in MEANT.values()]
    assert np.abs(found - list(FOUND.values())).max() <= 0.0125 + 1e-6
    assert "turned by +0.300 degrees" in done.output
    assert "# as printed" in marks_file.read_text()
    assert not hpgl_machine.head.strokes


def test_asked_of_a_control(serve, gcode_machine, marks_file):
    gcode_machine.head.places.extend(tuple(at) for at in FOUND.values())
    with serve(gcode_machine) as line:
        done = run(marks_file, "gantry-knife", line, "y\n\n\n\n\n")
    assert done.exit_code == 0, done.output
    _, _, found = load_marks(marks_file)
    assert np.abs(found - list(FOUND.values())).max() <= 0.001


def test_stepped_towards_a_mark(serve, gcode_machine):
    with serve(gcode_machine) as line:
        told, found = find(
            line, "gantry-knife", "x 12.5 y 7", "y-0.25", "x 80", "up a bit", "", names=["a"]
        )
    assert found["a"] == pytest.approx((12.5, 6.75))
    assert any("No more than 50 mm" in text for text in told)
    assert any("'up a bit' is not a step" in text for text in told)
    assert not gcode_machine.relative
    assert not gcode_machine.head.strokes


@pytest.mark.parametrize(
    ("status", "at"),
    [
        ("<Idle|WPos:12.000,34.000,0.000|FS:0,0>", (12.0, 34.0)),
        ("<Idle|MPos:12.000,34.000,0.000|FS:0,0|WCO:2.000,4.000,0.000>", (10.0, 30.0)),
    ],
)
def test_work_coordinates_are_what_counts(serve, gcode_machine, monkeypatch, status, at):
    told = (status + "\r\n").encode()
    monkeypatch.setattr(type(gcode_machine), "_status", lambda _self: told)
    with serve(gcode_machine) as line:
        monkeypatch.setattr(marking, "greet", lambda *_, **_more: ())
        _, found = find(line, "gantry-knife", "")
    assert found["a"] == pytest.approx(at)


def test_a_mark_may_be_left_out(serve, hpgl_machine, marks_file):
    places = [FOUND[name] for name in MEANT if name != "upper right"]
    hpgl_machine.head.places.extend((x / 0.025, y / 0.025) for x, y in places)
    with serve(hpgl_machine) as line:
        done = run(marks_file, "roll-plotter", line, "y\n\n\ns\n\n")
    assert done.exit_code == 0, done.output
    assert load_marks(marks_file)[0] == ("lower left", "lower right", "upper left")


def test_nothing_moves_unasked_and_nothing_is_written(serve, gcode_machine, marks_file):
    before = marks_file.read_bytes()
    with serve(gcode_machine) as line, pytest.raises(UserError, match="no marks were found"):
        run(marks_file, "gantry-knife", line, "n\n")
    assert marks_file.read_bytes() == before
    assert gcode_machine.head.at == (0.0, 0.0)


def test_a_user_who_never_enters_a_mark(serve, hpgl_machine, monkeypatch):
    monkeypatch.setattr("plotout_hpgl.marking.PATIENCE", 0.5)
    with serve(hpgl_machine) as line:
        with pytest.raises(MachineError, match="was not entered"):
            find(line, "roll-plotter", "")
        time.sleep(0.2)
    assert not hpgl_machine.digitised.waiting  # DC


def test_stopped_while_waiting(serve, hpgl_machine, monkeypatch):
    """Ctrl-C: the machine no longer waits for a mark, and the port is free again."""
    looks = []

    def nap(_seconds):
        looks.append(1)
        if len(looks) > 3 and hpgl_machine.digitised.waiting:
            raise KeyboardInterrupt
        threading.Event().wait(0.02)

    with serve(hpgl_machine) as line:
        monkeypatch.setattr("plotout_hpgl.marking.POLL", 0.013)
        real = time.sleep
        monkeypatch.setattr(time, "sleep", lambda s: nap(s) if s == 0.013 else real(s))
        with pytest.raises(KeyboardInterrupt):
            find(line, "roll-plotter", "")
        monkeypatch.undo()
        until = time.monotonic() + 2.0
        while hpgl_machine.digitised.waiting and time.monotonic() < until:
            time.sleep(0.01)
        assert not hpgl_machine.digitised.waiting
        hpgl_machine.head.places.append((400.0, 800.0))
        _, found = find(line, "roll-plotter", "")
    assert found["a"] == pytest.approx((10.0, 20.0))


def test_machines_that_can_not_be_asked(serve, gcode_machine, marks_file, tmp_path, monkeypatch):
    machine = job.load_machine("craft-cutter")
    with pytest.raises(UserError, match="can't report where its tool is"):
        marking.find_marks("none", settings_of(machine), machine, ["a"], asking()[1])
    with pytest.raises(UserError, match="--machine needs --port"):
        CliRunner().invoke(marks, [str(marks_file), "--port", "x"], catch_exceptions=False)
    monkeypatch.setattr("plotout_gcode.marking.ANSWER", 0.3)
    gcode_machine.fail_line = 2  # $I is the first
    with serve(gcode_machine) as line, pytest.raises(MachineError, match="error:1"):
        find(line, "gantry-knife", "")


@pytest.mark.parametrize(
    ("axes", "origin", "at"),
    [("xy", "lower left", (30.0, 40.0)), ("y-x", "upper right", (1300.0 - 30.0, 900.0 - 40.0))],
)
def test_places_are_told_on_the_bed(axes, origin, at):
    """The other way round from what a driver does, by its own map."""
    from dataclasses import replace

    from plotout.machine.axes import machine_matrix

    machine = replace(job.load_machine("gantry-knife"), axes=axes, origin=origin)
    matrix = machine_matrix(machine, machine.bed.length, machine.bed.width)
    there = matrix[:, :2] @ at + matrix[:, 2]
    assert marking.on_bed(machine, (there[0], there[1])) == pytest.approx(at)
