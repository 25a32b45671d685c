"""The drivers' real files, made from a set and sent as a user sends them: what the virtual machine
drew is what the interpreters, which share no code with it, read from the file: nothing lost,
nothing added, in the same order.
"""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, hausdorff_distance

from plotout import job, plugins
from plotout.machine.axes import machine_matrix

SET = """
[set]
name = "Beekeeper's smock"
style = "BK-01"
size = "M"
[[piece]]
name = "Pocket"
from = { file = "pocket.svg", outline = "#outline" }
cut = [{ cloth = "self", count = 1 }]
"""
SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="140mm" height="160mm"
viewBox="0 0 140 160"><path id="outline" d="M0 0 L140 0 L140 120 C140 150 100 160 70 160
C40 160 0 150 0 120 Z"/></svg>"""
WITHIN = {"hpgl": 0.03, "gcode": 0.06}  # mm: a step; an arc's chords


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("made")
    (folder / "set.toml").write_text(SET)
    (folder / "pocket.svg").write_text(SVG)
    pattern_set = job.read_set(folder / "set.toml")
    made = {}
    for name in ("craft-cutter", "gantry-knife", "laser", "roll-plotter"):
        machine = job.load_machine(name)
        worked = job.plan(job.Request(pattern_set, machine, seconds=1.0)).results[0]
        assert worked.faults == ()
        path = folder / f"{name}{worked.suffix}"
        path.write_bytes(worked.data)
        made[name] = (path, machine, worked)
    return made


def _meant(machine, worked):
    """The strokes that the interpreter reads, in machine mm, joined where the tool stays down."""
    interpreter = plugins.interpreter_for(machine.driver)
    reading = interpreter.read(worked.data, machine)
    strokes = []
    for traced in reading.traced:
        points = np.asarray(traced.points)
        if traced.follows and strokes:
            strokes[-1] = np.vstack([strokes[-1], points])
        else:
            strokes.append(points)
    matrix = machine_matrix(machine, worked.program.width, worked.program.height)
    return [points @ matrix[:, :2].T + matrix[:, 2] for points in strokes]


def _line(points):
    return LineString(points if len(points) > 1 else [points[0], points[0]])


@pytest.mark.parametrize("name", ["craft-cutter", "gantry-knife", "laser", "roll-plotter"])
def test_a_drivers_file_is_drawn_as_it_is_read(files, tmp_path, monkeypatch, name):
    path, machine, worked = files[name]
    monkeypatch.setenv("PLOTOUT_JOBS", str(tmp_path / "jobs"))
    out = tmp_path / "drawn.json"
    command = [sys.executable, "-c", "from plotout.cli import main; main()", "send", str(path),
               "--machine", name, "--drawn", str(out), "--json"]  # fmt: skip
    result = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert result.returncode == 0, result.stderr
    told = json.loads(result.stdout)
    assert told["done"] == told["strokes"]
    drawn = json.loads(out.read_text())
    assert all(stroke["whole"] for stroke in drawn)
    meant = _meant(machine, worked)
    assert len(drawn) == len(meant) > 10
    within = WITHIN["gcode" if machine.driver == "gcode" else "hpgl"]
    for stroke, points in zip(drawn, meant, strict=True):
        assert hausdorff_distance(_line(stroke["points"]), _line(points)) < within
    if name == "gantry-knife":
        assert Path(path).read_text().count("M0\n") == len({r.tool for r in worked.program.runs})
