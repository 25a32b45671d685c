"""Virtual machines in a thread of their own, on real pseudo-terminals."""

import threading
from contextlib import contextmanager

import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine
from simulated_job import send_simulated

from plotout.kit import Head
from plotout.sending.virtual.line import VirtualLine


@pytest.fixture(autouse=True)
def soon_at_rest(monkeypatch):
    """The machines here take 0.02 s a square: 0.15 s shows that they rest."""
    monkeypatch.setattr("plotout_hpgl.talking.RESTED", 0.15)


@pytest.fixture
def serve(tmp_path):
    """Give a function that puts a machine on a line: `with serve(machine) as line`."""

    @contextmanager
    def _serve(machine, **how):
        line = VirtualLine(machine, tmp_path / "port", **how)
        line.open()
        going = threading.Event()
        going.set()
        thread = threading.Thread(target=line.run, args=(going.is_set,), daemon=True)
        thread.start()
        try:
            yield line
        finally:
            going.clear()
            thread.join(5)

    return _serve


@pytest.fixture
def hpgl_file(tmp_path):
    """A file of `count` squares in a grid, and the strokes that it means."""

    def _make(count, side=400, step=600):
        strokes, text = [], ["IN;SP1;VS10;PA;"]
        for nth in range(count):
            x, y = nth % 20 * step, nth // 20 * step
            square = [(x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)]
            strokes.append(square)
            text.append(f"PU{x},{y};PD" + ",".join(f"{a},{b}" for a, b in square[1:]) + ";")
        path = tmp_path / "squares.hpgl"
        path.write_bytes(("".join(text) + "PU;SP0;").encode())
        return path, strokes

    return _make


@pytest.fixture
def gcode_file(tmp_path):
    """The same squares for a knife that is lowered by Z."""

    def _make(count, side=10, step=15):
        strokes, lines = [], ["G21", "G90", "G17", "F3000"]
        for nth in range(count):
            x, y = nth % 20 * step, nth // 20 * step
            square = [(x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)]
            strokes.append(square)
            lines += ["G0 Z5", f"G0 X{x} Y{y}", "G1 Z-1"]
            lines += [f"G1 X{a} Y{b}" for a, b in square[1:]]
        path = tmp_path / "squares.gcode"
        path.write_text("\n".join([*lines, "G0 Z5", "M5", "M2"]) + "\n")
        return path, strokes

    return _make


@pytest.fixture
def hpgl_machine():
    return HpglMachine(head=Head(speed=0.0))


@pytest.fixture
def gcode_machine():
    return GcodeMachine(head=Head(speed=0.0))


PROFILE = """
title = "Small machine"
kind = "pen"
driver = "{language}"
step = "0.025 mm"
[bed]
length = "300 mm"
width = "150 mm"
[[tools]]
name = "pen"
number = 1
kind = "pen"
depth = 1
does = ["draw", "cut", "score", "punch"]
speed = "100 mm/s"
[sending]
language = "{language}"
flow = "{flow}"
baud = {baud}
buffer = {buffer}
"""


@pytest.fixture
def profile(tmp_path):
    """A function that writes a small machine's profile and gives its path."""

    def _write(language="hpgl", flow="enquiry", *, buffer=256, baud=115200):
        path = tmp_path / "small.toml"
        path.write_text(PROFILE.format(language=language, flow=flow, buffer=buffer, baud=baud))
        return path

    return _write


@pytest.fixture
def sent(tmp_path, capfd):
    """A function that sends three strokes to a machine from the notes; it returns the exit code,
    what was said, the strokes that are not whole, and whether it was at rest at the end.
    """

    def _sent(machine, data=None, wire="", flow="ok", baud=19200, **during):
        code, missing, at_rest = send_simulated(tmp_path, machine, data, wire, flow, baud, **during)
        return code, "".join(capfd.readouterr()), missing, at_rest

    return _sent
