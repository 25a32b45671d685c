"""The page's clock: each run takes what the motion model says, and the last ends at the estimate.

Trapezoid from rest to rest: d / v + v / a (any mechanics text).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Motion
from plotout.model import Advance, Program, Run, Sheet
from plotout.proof.page.content import runs_as_rows
from plotout.tool import compile_sheet
from plotout.tool.timing import run_seconds

from .conftest import HEIGHT, PEN, WIDTH, machine_for, strokes

MOTION = Motion(travel_speed=200.0, acceleration=1000.0, lift=0.3, lower=0.2, change=7.0)
MACHINE = machine_for("hpgl", motion=MOTION)


def run(points, tool=PEN, **more) -> Run:
    line = np.asarray(points, float)
    return Run(line, tool, Stroke(line, Work.DRAW, Mark.INTERNAL), tool.speed, **more)


def clock(program: Program) -> list[list[float]]:
    return [row[5:8] for row in runs_as_rows(program, {})]


def test_the_clock_ends_at_the_time_estimate():
    program = compile_sheet(Sheet("sheet", 1, WIDTH, HEIGHT, ()), strokes(), MACHINE)
    times = clock(program)
    assert times[-1][2] == pytest.approx(program.seconds, abs=0.006)
    assert times[0][0] == 0.0
    assert [row[0] for row in times[1:]] == [row[2] for row in times[:-1]]


def test_each_run_by_hand_computation():
    there, line = 100 / 200 + 200 / 1000, 50 / 100 + 100 / 1000
    blade = MACHINE.tools[1]
    times = run_seconds(
        [run([[100, 0], [150, 0]]), run([[250, 0], [300, 0]], blade), run([[300, 100]], blade)],
        MACHINE,
    )
    assert times[:, 0] == pytest.approx([there + 7.2, there + 7.2, there + 0.2])
    assert times[:, 1] == pytest.approx([line + 0.3, 50 / 50 + 50 / 1000 + 0.3, 0.3])


def test_a_tool_that_goes_on_is_lifted_at_the_end_of_its_last_run():
    runs = [run([[0, 0], [50, 0]]), run([[50, 0], [50, 40]], follows=True)]
    times = run_seconds(runs, MACHINE)
    assert times[0, 0] == pytest.approx(7.2)
    assert times[1, 0] == 0.0
    short = run_seconds(runs[:1], MACHINE)
    assert times[0, 1] < short[0, 1] - 0.2


def test_each_frame_of_a_roll_begins_anew():
    one, two = run([[100, 0], [150, 0]]), run([[400, 0], [450, 0]])
    program = Program("roll", MACHINE, 600.0, 100.0, (one, two), advances=(Advance(1, 300.0),))
    (_, begun, end), (start, other, _) = clock(program)
    assert start == end
    assert other - start == pytest.approx(begun, abs=0.011)
    joined = clock(replace(program, advances=()))
    assert joined[1][1] - joined[1][0] > other - start - MOTION.change + 0.1
