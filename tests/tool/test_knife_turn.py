"""A knife's axis winds up no further than its profile says, read off the emitted file itself."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from test_file_time import sheet

from plotout import job, plugins
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.proof import verify
from plotout.route import order
from plotout.tool import compile_sheet


def program_of(*lines: np.ndarray):
    """Return what the gantry's knife does along these lines."""
    machine = job.load_machine("gantry-knife")
    bare = replace(sheet(), width=800.0, height=800.0, placed=(), marks=())
    strokes = [Stroke(line, Work.CUT, Mark.INTERNAL) for line in lines]
    return compile_sheet(bare, strokes, machine, arcs=True), bare


def bezier(*corners: tuple[float, float]) -> np.ndarray:
    """Return points of a cubic, by its definition."""
    u = np.linspace(0.0, 1.0, 3000)[:, None]
    a, b, c, d = np.array(corners)
    return (1 - u) ** 3 * a + 3 * u * (1 - u) ** 2 * b + 3 * u * u * (1 - u) * c + u**3 * d


def words(data: bytes) -> list[float]:
    return [float(value) for value in re.findall(rb"A(-?[\d.]+)", data)]


@pytest.mark.parametrize("limit", [200.0, 360.0])
@pytest.mark.parametrize("axes", ["xy", "-yx", "yx"])
def test_the_axis_stays_within_its_limit_and_along_every_line(limit, axes):
    machine = job.load_machine("gantry-knife")
    tools = tuple(replace(tool, turn_limit=limit) for tool in machine.tools)
    machine = replace(machine, tools=tools, axes=axes)
    turn = np.linspace(0.0, 6.0 * np.pi, 500)  # a spiral that turns thrice
    spiral = np.column_stack([650 + 6 * turn * np.cos(turn), 150 + 6 * turn * np.sin(turn)])
    laid = sheet()
    laid = replace(laid, width=800.0, marks=(Stroke(spiral, Work.CUT, Mark.INTERNAL),))
    strokes = order(laid.strokes, machine=machine, steps=50).strokes
    program = compile_sheet(laid, strokes, machine, arcs=True)
    data = plugins.driver("gcode").emit(program, laid)
    assert max(map(abs, words(data))) <= limit + 0.001
    interpreter = plugins.interpreter_for("gcode")
    assert verify(program, laid, data, interpreter) == ()
    tight = tuple(replace(run, tool=replace(run.tool, turn_limit=90.0)) for run in program.runs)
    assert any("past its limit" in text for text in verify(
        replace(program, runs=tight), laid, data, interpreter))  # fmt: skip
    for run in program.runs:
        if run.angles is not None:
            steps, heading = np.diff(run.points, axis=0), np.radians(run.angles)
            moves = np.hypot(*steps.T) > 0.0
            way = np.arctan2(steps[moves, 1], steps[moves, 0])
            off = (heading[:-1][moves] - way + np.pi) % (2 * np.pi) - np.pi
            assert np.degrees(np.abs(off)).max() < 5.0


ROUND = np.linspace(0.0, 2.0 * np.pi, 2001)
CURVES = {
    "circle": np.column_stack([400 + 50 * np.cos(ROUND), 300 + 50 * np.sin(ROUND)]),
    "neck": bezier((100, 100), (100, 60), (140, 30), (200, 30)),
    "armhole": bezier((100, 100), (180, 120), (120, 300), (260, 340)),
}


@pytest.mark.parametrize("name", CURVES)
def test_curves_are_arcs_whose_axis_is_at_the_tangent(name):
    """Centres and evenly turned axis: NIST IR 6556, 3.5.3. Lines: by shapely, half a step off."""
    program, bare = program_of(CURVES[name])
    data = plugins.driver("gcode").emit(program, bare)
    at, angle, arcs, lines = np.zeros(2), 0.0, 0, 0
    for block in data.decode().splitlines():
        said = {word[0]: float(word[1:]) for word in block.split() if re.match(r"[A-Z]-?\d", word)}
        if "X" not in said:
            continue
        end = np.array([said["X"], said["Y"]])
        if "I" in said:
            arcs += 1
            centre = at + np.array([said["I"], said["J"]])
            sense = 1.0 if said["G"] == 3.0 else -1.0
            swept = np.angle(complex(*(end - centre)) / complex(*(at - centre)))
            assert sense * swept > 0.0
            for share in (0.0, 0.5, 1.0):
                out = complex(*(at - centre)) * np.exp(1j * swept * share)
                tangent = np.degrees(np.angle(out * 1j * sense))
                off = angle + share * (said["A"] - angle) - tangent
                assert abs((off + 180.0) % 360.0 - 180.0) < 1.0
        elif said["G"] == 1.0:
            lines += 1
        at, angle = end, said["A"]
    assert arcs
    assert lines <= 1  # the cut beyond a circle's end
    chords = len(shapely.LineString(CURVES[name]).simplify(0.005).coords)
    assert len(data) < 0.4 * chords * len("G1 X300.471 Y250.002 A0.540\n")


def test_a_straight_is_cut_straight_up_to_its_curve():
    """By geometry: no knife leans along a straight, whether a curve or a slight corner follows."""
    turn = np.linspace(0.0, 1.2, 200)[1:]
    curve = np.column_stack([600 + 50 * np.sin(turn), 250 - 50 * np.cos(turn)])
    bent = [[100.0, 500.0], [400.0, 500.0], [700.0, 500.0 + 300.0 * np.tan(np.radians(4.0))]]
    program, _ = program_of(np.vstack([[[100.0, 200.0], [600.0, 200.0]], curve]), np.array(bent))
    straight, corner = (run for run in program.runs)
    at = straight.points[:, 0] <= 600.0
    assert straight.angles[at] == pytest.approx(0.0, abs=1e-9)
    inside = (corner.points[:, 0] > 300.0) & (corner.points[:, 0] < 500.0)
    assert corner.angles[inside] == pytest.approx([0.0, 4.0], abs=1e-9)
