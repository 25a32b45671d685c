"""A setting of a profile that no file holds is told, for the user has to set it himself.

HP-GL has FS for the force and nothing for power or depth (HP 7550A manual); HP-GL/2's pen and
vector instructions have no force (PCL 5 technical reference, HP-GL/2 part); RS-274/NGC has S and Z
but no force (NIST IR 6556); PDF and SVG have none of them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from plotout import plugins
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import profile
from plotout.model import Sheet
from plotout.sheet_job import make_sheet

FORCE = {"force": 120.0}
CASES = [
    ("craft-cutter", FORCE, ""),
    ("roll-plotter", FORCE, "don't set the force of tool 'pen'"),
    ("laser", FORCE, "don't set the force of tool 'mark'"),
    ("laser", {"power": 30.0}, ""),
    ("gantry-knife", {"depth": 0.5}, ""),
    ("svg-file", FORCE | {"power": 30.0}, "don't set the force and the power of tool 'line'"),
]


@pytest.mark.parametrize(("name", "settings", "told"), CASES)
def test_a_setting_that_no_file_holds_is_told(name, settings, told):
    machine = profile.load(name, (), plugins)
    line = np.array([[20.0, 20.0], [60.0, 20.0]])
    sheet = Sheet("sheet", 1, 100.0, 100.0, (), marks=(Stroke(line, Work.DRAW, Mark.INTERNAL),))
    drawing, *others = machine.tools
    machine = replace(machine, tools=(replace(drawing, **settings), *others))
    made = make_sheet(sheet, machine, "one")
    assert not made.faults
    words = [text for text in made.warnings if "don't set" in text]
    assert [told in text for text in words] == ([True] if told else [])
