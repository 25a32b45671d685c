"""The sample's cards, cut by a simulated blade (tractrix.py): bounds: aims of this project."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from tractrix import drag

from plotout import job
from plotout.finish import finish
from plotout.geometry.polyline import bounds
from plotout.geometry.strokes import Mark, Work
from plotout.machine import Bed
from plotout.model import Placed, Sheet
from plotout.tool import compile_sheet

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"


@pytest.fixture(scope="module")
def cards():
    return finish(job.read_set(SAMPLE))


@pytest.mark.parametrize("offset", [0.25, 1.0])
def test_the_tip_stays_within_a_twentieth_of_a_millimetre_on_the_samples_cards(cards, offset):
    shipped = job.load_machine("craft-cutter")
    tools = tuple(replace(t, offset=offset) if t.offset else t for t in shipped.tools)
    machine = replace(shipped, bed=Bed(5000.0, 5000.0), tools=tools)
    worst = 0.0
    for card in cards:
        low_x, low_y, high_x, high_y = bounds(card.outline)
        placed = Placed(card, 0.0, (30.0 - low_x, 30.0 - low_y))
        sheet = Sheet("s", 1, high_x - low_x + 60.0, high_y - low_y + 60.0, (placed,))
        cuts = [s for s in sheet.strokes if s.work is Work.CUT]
        assert any(stroke.mark is Mark.OUTLINE for stroke in cuts)
        program = compile_sheet(sheet, cuts, machine)
        heading, tracks = 2.2, []
        for run in program.runs:
            tips, _, heading = drag(run.points, offset, heading, step=0.03)
            if run.follows:
                tracks[-1][1] = np.vstack([tracks[-1][1], tips])
            else:
                tracks.append([run.stroke, tips])
        assert [stroke for stroke, _ in tracks[1:]] == cuts
        for stroke, tips in tracks[1:]:
            line, track = shapely.LineString(stroke.points), shapely.LineString(tips)
            there = shapely.distance(shapely.points(tips[::5]), line).max()
            back = shapely.distance(shapely.points(stroke.points), track).max()
            worst = max(worst, there, back)
    assert worst < 0.05
