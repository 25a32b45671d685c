"""Nothing enters the bed's margins: the motion of every tool, its turning in the waste too."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from plotout import job
from plotout.errors import UserError
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.layout.stock.model import margins_for
from plotout.machine import Bed, Calibration
from plotout.machine.calibration import corrected
from plotout.model import Card, Placed, Sheet
from plotout.tool import compile_sheet

# A square, and a triangle whose tip a mitre would carry far out.
SHAPES = {
    "square": np.array([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0.0]]),
    "tip": np.array([[0.1, 0], [1, 0.45], [0.1, 0.15], [0.1, 0.0]]),
}


def filled(machine, shape, inset=(0.0, 0.0, 0.0, 0.0)):
    """Return a sheet whose one card reaches to `inset` mm from each of its edges."""
    left, bottom, right, top = inset
    width, height = machine.bed.length, machine.bed.width
    low, size = np.ptp(shape, axis=0), np.array([width - left - right, height - bottom - top])
    outline = (shape - shape.min(axis=0)) / low * size + [left, bottom]
    card = Card("c", "Yoke", "Yoke", 1, 1, outline, (Stroke(outline, Work.CUT, Mark.OUTLINE, "c"),))
    return Sheet("s", 1, width, height, (Placed(card, 0.0, (0.0, 0.0)),))


@pytest.mark.parametrize("name", ["craft-cutter", "gantry-knife", "laser", "router"])
@pytest.mark.parametrize("shape", SHAPES)
def test_a_card_that_fills_what_is_left_can_be_cut(name, shape):
    machine = job.load_machine(name)
    machine = replace(machine, bed=replace(machine.bed, margins=(5.0, 6.0, 7.0, 8.0)))
    sheet = filled(
        machine, SHAPES[shape], margins_for(machine, machine.bed.length, machine.bed.width)
    )
    program = compile_sheet(sheet, sheet.strokes, machine)
    points = np.vstack([run.points for run in program.runs])
    low, high = points.min(axis=0), [sheet.width, sheet.height] - points.max(axis=0)
    assert (low > [5.0 - 0.02, 6.0 - 0.02]).all()
    assert (high > [7.0 - 0.02, 8.0 - 0.02]).all()


def test_a_card_in_the_margins_is_refused_by_name_and_millimetres():
    machine = job.load_machine("craft-cutter")  # margins of 3 mm, a blade 0.45 mm behind
    sheet = filled(machine, SHAPES["square"], (3.0, 4.0, 4.0, 4.0))
    with pytest.raises(UserError, match=r"outline .* by 0\.45 mm at the left") as caught:
        compile_sheet(sheet, sheet.strokes, machine)
    assert caught.value.place.piece == "c"
    assert "margins = [3, 3, 3, 3] in the stock file" in caught.value.fix


def test_room_is_kept_for_what_the_calibration_moves():
    shipped = job.load_machine("laser")
    machine = replace(shipped, calibration=Calibration(0.998, 0.999, 0.1), bed=Bed(600.0, 400.0))
    sheet = filled(
        machine, SHAPES["square"], margins_for(machine, machine.bed.length, machine.bed.width)
    )
    sent = corrected(sheet.strokes, machine.calibration)
    compile_sheet(sheet, sent, machine)
    bare = filled(machine, SHAPES["square"], (0.1,) * 4)
    with pytest.raises(UserError, match="reach of"):
        compile_sheet(bare, corrected(bare.strokes, machine.calibration), machine)
