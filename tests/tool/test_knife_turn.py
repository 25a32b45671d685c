"""A knife's axis winds up no further than its profile says, read off the emitted file itself."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from test_file_time import sheet

from plotout import job, plugins
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.proof import verify
from plotout.route import order
from plotout.tool import compile_sheet


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
