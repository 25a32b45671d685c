"""Told before a job begins, or while it does: lines without room, arcs by radius, the time left."""

import math

import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine
from processes import plotout

from plotout.cli.sending import _meter
from plotout.cli.time_left import TimeLeft
from plotout.sending.order import Progress


def test_a_line_without_room_is_told_before_anything_is_sent(tmp_path, profile):
    path = tmp_path / "long.gcode"
    lines = f"({chr(120) * 400})\nG0 X1 Y1\nG1 Z-1 F900\nX9 Y9"
    path.write_text(f"G21\nG90\nG0 Z5\n{lines}\nG0 Z5\nM5\nM2\n")
    done = plotout(
        "send", path, "--machine", profile("gcode", "ok", buffer=128), jobs=tmp_path / "jobs"
    )
    said = done.stdout + done.stderr
    assert done.returncode == 2, said
    assert (
        "a line of 402 bytes, as it is sent, is longer than the machine's buffer takes, 128 bytes"
        in said
    )
    assert "line 4" in said
    assert "strokes" not in said


@pytest.mark.parametrize("mode", ["G2", "G3"])
@pytest.mark.parametrize(
    ("end", "radius", "turn"), [((10.0, 10.0), 10.0, 90), ((10.0, 10.0), -10.0, 270)]
)
def test_an_arc_by_its_radius_is_as_long_as_it_says(mode, end, radius, turn):
    """NIST IR 6556, 3.5.3.1: a negative radius is of an arc of more than 180 degrees."""
    machine = GcodeMachine(1024)
    machine.receive(
        b"G0 X0 Y0\nM3 S1\n%s X%d Y%d R%d F600\n" % (mode.encode(), *map(int, end), radius)
    )
    while machine.step() is not None:
        pass
    points = machine.head.strokes[-1].points
    length = sum(map(math.dist, points, points[1:]))
    assert points[-1] == pytest.approx(end)
    assert length == pytest.approx(10.0 * math.radians(turn), rel=1e-3)
    away = (10.0, 0.0) if (mode == "G3") != (turn == 90) else (0.0, 10.0)  # the arc's centre
    assert all(math.dist(point, away) == pytest.approx(10.0, abs=1e-6) for point in points)


def test_no_time_is_told_before_there_is_a_speed():
    class Voice:
        said = ""

        def say(self, text, **_how):
            self.said += text

    voice = Voice()
    show = _meter(voice, TimeLeft(), redraw=True)
    show(Progress(112, 208, 710.0, 2820.0))
    assert "112 of 208 strokes, 0.71 of 2.82 m" in voice.said
    assert "left" not in voice.said


def test_a_stroke_that_was_stopped_is_not_recorded_as_whole():
    machine = GcodeMachine(1024)
    machine.receive(b"M3 S1\nG1 X10 Y0 F600\nG1 X20 Y0\nM5\nM3 S1\nG1 X30 Y0\nM5\n")
    machine.step()
    machine.step()
    machine.receive(b"!\x18M5\nM3 S1\nG1 X5 Y5 F600\nM5\n")
    while machine.step() is not None:
        pass
    assert [stroke.whole for stroke in machine.head.strokes] == [False, True]


def test_a_plot_stroke_whose_rest_was_dropped_is_not_whole():
    machine = HpglMachine(1024)
    machine.receive(b"IN;SP1;PU0,0;PD400,0;PD400,400;PU;")
    while not machine.head.down:
        machine.step()
    machine.receive(b"\x1b.KPU;PU0,0;PD800,0;PU;")
    while machine.step() is not None:
        pass
    assert [stroke.whole for stroke in machine.head.strokes] == [False, True]
