"""How a tangential knife is turned: read from blocks written by hand, and compared with what was
meant.

Words and units: NIST IR 6556: A and C are degrees whatever the unit of length (2.1.2.1), and stay
as they are until they are said again (3.2.2).
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from plotout_readback import gcode

from plotout import plugins
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Tool, ToolKind
from plotout.model import Program, Sheet
from plotout.proof import verify
from plotout.tool import compile_sheet

from .conftest import HEIGHT, WIDTH, interpreter, machine_for
from .test_verify import WAYS

KNIFE = Tool(
    "knife",
    2,
    ToolKind.TANGENTIAL_KNIFE,
    (Work.CUT,),
    50.0,
    depth=1.0,
    swivel_above=30.0,
    turn_limit=2000.0,
)
TURN = np.linspace(0.0, 2.0 * np.pi, 181)
SHAPES = [
    np.array([[60.0, 60.0], [160.0, 60.0], [200.0, 80.0], [60.0, 140.0], [60.0, 60.0]]),
    np.column_stack([220.0 + 40.0 * np.cos(TURN), 120.0 + 40.0 * np.sin(TURN)]),
]
TOP = b"G21 G90 G17\nG0 Z5\n"


def knife_machine(**changes):
    options = {"rotary": "A", **changes.pop("options", {})}
    return replace(machine_for("gcode"), tools=(KNIFE,), options=options, **changes)


def cut(**changes) -> tuple[Program, Sheet, bytes]:
    machine = knife_machine(**changes)
    sheet = Sheet("sheet", 1, WIDTH, HEIGHT, ())
    program = compile_sheet(sheet, [Stroke(way, Work.CUT, Mark.OUTLINE) for way in SHAPES], machine)
    return program, sheet, plugins.driver("gcode").emit(program, sheet)


def faults(data: bytes, program: Program, sheet: Sheet) -> str:
    return "\n".join(verify(program, sheet, data, interpreter("gcode")))


def test_headings_by_hand():
    """45 degrees along the line, then a turn to 90 made standing still in the stock."""
    blocks = b"G0 X0 Y0 A45\nG1 Z-1 F60\nX10 Y10\nA90 F900\nX10 Y20 F60\nG0 Z5\nM2\n"
    (traced,) = gcode.read(TOP + blocks, knife_machine()).traced
    assert traced.points.tolist() == [[0, 0], [10, 10], [10, 10], [10, 20]]
    assert traced.angles.tolist() == [45, 45, 90, 90]


def test_headings_along_an_arc_by_hand():
    """A rotary axis turns evenly along an arc (NIST IR 6556, 3.5.3), so from 90 degrees to
    180 along a quarter of a circle it is at the tangent everywhere.
    """
    blocks = b"G0 X10 Y0 A90\nG1 Z-1 F60\nG3 X0 Y10 I-10 J0 A180\nG0 Z5\nM2\n"
    (traced,) = gcode.read(TOP + blocks, knife_machine()).traced
    tangents = np.degrees(np.arctan2(traced.points[:, 1], traced.points[:, 0])) + 90.0
    assert len(traced.points) > 20
    assert traced.angles == pytest.approx(tangents, abs=1e-6)


def test_headings_in_inches_and_relative():
    blocks = b"G20\nG0 X0 Y0 A10\nG91\nG1 Z-.3 F60\nX1 A5\nG90\nG0 Z5\nM2\n"
    (traced,) = gcode.read(TOP + blocks, knife_machine()).traced
    assert traced.angles.tolist() == [10, 15]


def test_headings_turn_with_the_machine():
    """A quarter turn where X runs up the sheet; backwards where the machine is mirrored."""
    blocks = TOP + b"G0 X0 Y0 A30\nG1 Z-1 F60\nX10\nG0 Z5\nM2\n"
    for axes, heading in (("y-x", 120.0), ("x-y", -30.0), ("yx", 60.0)):
        (traced,) = gcode.read(blocks, knife_machine(axes=axes)).traced
        assert traced.angles == pytest.approx(heading)


@pytest.mark.parametrize(("axes", "origin"), WAYS)
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_good_files_pass(axes, origin, units):
    program, sheet, data = cut(axes=axes, origin=origin, options={"units": units})
    assert faults(data, program, sheet) == ""
    assert b" A" in data


def test_every_angle_that_is_wrong_is_told():
    program, sheet, data = cut()
    words = list(re.finditer(rb"A(-?\d+\.\d+)", data))
    for word in [*words[:6], *words[6::20]]:
        said = b"A%.3f" % (float(word[1]) + 0.5)
        spoilt = data[: word.start()] + said + data[word.end() :]
        assert "the knife is turned to" in faults(spoilt, program, sheet)


def test_a_turn_left_out_is_told():
    program, sheet, data = cut()
    alone = re.search(rb"G1 A\S+ F\S+\n", data)
    assert "the knife is turned to" in faults(data.replace(alone[0], b"", 1), program, sheet)


def test_a_file_that_does_not_turn_the_knife_is_told():
    program, sheet, data = cut()
    still = re.sub(rb"G1 A\S+ F\S+\n", b"", data)
    still = re.sub(rb" A-?[0-9.]+", b"", still)
    assert "does not turn the knife" in faults(still, program, sheet)


def test_whole_turns_more_make_no_difference_but_a_turn_on_the_way_does():
    program, sheet, data = cut()
    more = re.sub(rb"A(-?[0-9.]+)", lambda word: b"A%.3f" % (float(word[1]) + 720.0), data)
    assert faults(more, program, sheet) == ""
    half = len(data) * 3 // 4
    part = re.sub(rb"A(-?[0-9.]+)", lambda word: b"A%.3f" % (float(word[1]) + 360.0), data[half:])
    assert "the knife is turned to" in faults(data[:half] + part, program, sheet)
