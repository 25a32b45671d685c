"""What is compared when a file is read back, on files that are wrong in one known way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from plotout import plugins
from plotout.proof import verify
from plotout.proof.compare import parting
from plotout.proof.unordered import uncovered

from .conftest import emitted, interpreter, machine_for, program_for

WAYS = [("xy", "lower left"), ("-yx", "lower right"), ("y-x", "centre"), ("-x-y", "upper right")]


@pytest.mark.parametrize("driver", ["hpgl", "hpgl2", "gcode"])
@pytest.mark.parametrize(("axes", "origin"), WAYS)
def test_good_files_pass_however_the_machine_lies(sheet, driver, axes, origin):
    program, data = emitted(driver, sheet, axes=axes, origin=origin)
    assert verify(program, sheet, data, interpreter(driver)) == ()


@pytest.mark.parametrize("tool", ["z", "spindle", "laser"])
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_good_gcode_passes_however_its_tool_is_let_down(sheet, tool, units):
    kind = "laser" if tool == "laser" else "knife"
    program, data = emitted("gcode", sheet, options={"tool": tool, "units": units}, kind=kind)
    assert verify(program, sheet, data, interpreter("gcode")) == ()


@pytest.mark.parametrize("driver", ["hpgl", "hpgl2", "gcode"])
def test_the_wrong_machine_is_noticed(sheet, driver):
    program, data = emitted(driver, sheet)
    turned = replace(program, machine=replace(program.machine, axes="y-x"))
    assert verify(turned, sheet, data, interpreter(driver))


def faults(sheet, runs=None, driver="hpgl", **changes) -> str:
    """Emit the sheet's program, and compare the file with another one."""
    program, data = emitted(driver, sheet)
    runs = program.runs if runs is None else runs(list(program.runs))
    return "\n".join(
        verify(replace(program, runs=tuple(runs), **changes), sheet, data, interpreter(driver))
    )


def test_a_missing_stroke_is_named(sheet):
    words = faults(sheet, lambda runs: [*runs[:3], runs[-3], *runs[3:]])
    assert "outline of card 'front'" in words
    assert "is missing" in words


def test_work_too_much_is_named(sheet):
    words = faults(sheet, lambda runs: [*runs[:3], *runs[4:]])
    assert words.startswith("work that was not asked for, from x ")
    assert "\n" not in words


def test_order_matters(sheet):
    assert faults(sheet, lambda runs: [runs[1], runs[0], *runs[2:]])


def test_direction_matters(sheet):
    words = faults(sheet, lambda runs: [replace(runs[0], points=runs[0].points[::-1]), *runs[1:]])
    assert "stroke 1 (lettering of card 'front'" in words


def test_a_step_more_is_too_much_and_less_is_not(sheet):
    def shifted(by):
        return lambda runs: [
            replace(runs[0], points=runs[0].points + np.array([by, 0.0])),
            *runs[1:],
        ]

    assert faults(sheet, shifted(0.06))
    assert not faults(sheet, shifted(0.004))


def test_tools_are_compared(sheet):
    def other(runs):
        return [replace(runs[0], tool=runs[-1].tool), *runs[1:]]

    assert "by the pen, not by the blade" in faults(sheet, other)


@pytest.mark.parametrize("name", ["feed", "depth"])
@pytest.mark.parametrize(("factor", "words"), [(0.5, "is more than"), (2.0, "is less than")])
def test_more_or_less_than_was_asked_for_is_told(sheet, name, factor, words):
    def changed(runs):
        return [replace(run, **{name: getattr(run, name) * factor}) for run in runs]

    found = faults(sheet, changed, driver="gcode")
    assert f"{name} " in found
    assert words in found


def test_a_cut_with_the_force_of_a_crease_is_told(sheet):
    """The blade and the creasing tool may share a number: only the force tells them apart."""
    cutter = machine_for("hpgl")
    tools = tuple(replace(tool, number=2, force=20.0 * number)
                  for number, tool in enumerate(cutter.tools, start=1))  # fmt: skip
    program = program_for(replace(cutter, tools=tools))
    data = plugins.driver("hpgl").emit(program, sheet)
    assert verify(program, sheet, data, interpreter("hpgl")) == ()
    assert b"FS40;" in data
    (fault, *_) = verify(program, sheet, data.replace(b"FS40;", b"FS20;"), interpreter("hpgl"))
    assert "force 20 is less than 40" in fault


def test_work_off_the_sheet_is_told(sheet):
    assert "goes off the sheet" in faults(sheet, width=200.0)


def test_many_faults_are_cut_short(sheet, monkeypatch):
    monkeypatch.setattr("plotout.proof.readback.MOST_FAULTS", 4)
    words = faults(sheet, lambda runs: [replace(r, points=r.points + 9.0) for r in runs])
    assert words.count("\n") == 4
    assert " more" in words


def test_arcs_may_be_flattened_elsewhere():
    one, other = np.linspace(0, np.pi, 300), np.linspace(0, np.pi, 211)
    arcs = [np.column_stack([9 * np.cos(turn), 9 * np.sin(turn)]) for turn in (one, other)]
    assert parting(*arcs, 0.01) is None
    assert parting(arcs[0], arcs[1][::-1], 0.01) is not None
    assert parting(arcs[0], arcs[1] * 1.01, 0.01) is not None


def test_a_doubling_back_is_not_the_same_way():
    there = np.array([[0.0, 0.0], [10.0, 0.0]])
    twice = np.array([[0.0, 0.0], [10.0, 0.0], [4.0, 0.0], [10.0, 0.0]])
    assert parting(there, twice, 0.01) is not None
    assert parting(twice, twice[[0, 1, 2, 3]] + 0.001, 0.01) is None


def test_a_shifted_machine_never_agrees():
    program = program_for(replace_machine())
    first = program.runs[0].points
    assert parting(first, first + 0.03, 0.025) is not None


def replace_machine():
    return machine_for("hpgl")


def test_lines_cut_into_pieces_still_cover():
    line = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 50.0]])
    pieces = [line[[0]] + [[0, 0], [60, 0]], np.array([[100.0, 50.0], [100.0, 0.0], [55.0, 0.0]])]
    assert list(uncovered([line], pieces, 0.02)) == []
    (fault,) = uncovered([line], pieces[1:], 0.02)
    assert fault[0] == 0
    assert list(uncovered([line], [pieces[0] + [0.0, 0.05], pieces[1]], 0.02))


def test_a_line_must_reach_its_ends():
    line = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 5.0]])
    for spoilt in (
        [[0.04, 0.0], [10.0, 0.0], [10.0, 5.0]],
        [[0, 0], [9.97, 0], [10, 0.03], [10, 5]],
    ):
        assert list(uncovered([line], [np.array(spoilt, float)], 0.02))
