"""A stroke's number means one thing: in the report, the read-back, what is sent, page and picture.

Reference: the strokes are counted in the file's own words, from each time the tool goes down.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from plotout import job, plugins
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.language import Stop
from plotout.model import Advance, Program, Run
from plotout.proof import verify
from plotout.proof.page.content import runs_as_rows
from plotout.proof.picture import numbered, sheet_picture
from plotout.proof.summary import summarise
from plotout.route import order
from plotout.sending.cutfile import cut_file
from plotout.tool import compile_sheet

from .test_sequence import sheet_of

NOWHERE = Stop((0.0, 0.0), False)


def lowered(data: bytes, driver: str) -> int:
    """Count how often the tool goes down."""
    text = data.decode("latin-1")
    if driver == "gcode":
        if "Z" in text.split("G17")[1][:400]:
            return len(re.findall(r"(?m)^G0 Z[\d.]+\n(?=(?:[^Z]*\n)*?.*Z-?[\d.]+ F)", text)) or 0
        return len(re.findall(r"(?m)^M[34] S", text))
    down, count = False, 0
    for word in re.findall(r"P[UDE]", text):
        if word != "PU" and not down:
            count += 1
        down = word != "PU"
    return count


@pytest.mark.parametrize("name", ["craft-cutter", "gantry-knife", "router", "laser"])
def test_one_count_everywhere(tmp_path, name):
    machine = job.load_machine(name)
    machine = replace(machine, bed=replace(machine.bed, length=900.0, width=600.0))
    driver = plugins.driver(machine.driver)
    sheet = sheet_of(17.3, 6)
    strokes = order(sheet.strokes, machine=machine, steps=100).strokes
    program = compile_sheet(sheet, strokes, machine, arcs=driver.arcs)
    data = driver.emit(program, sheet)
    assert program.strokes == lowered(data, driver.name)
    reading = plugins.interpreter_for(driver.name).read(data, machine)
    summary = summarise(reading, machine)
    assert summary.strokes == program.strokes
    assert program.worked == pytest.approx(summary.work, rel=0.001)
    path = tmp_path / f"sheet{driver.suffix}"
    path.write_bytes(data)
    with cut_file(path, plugins.language(machine.sending.language), machine.step) as file:
        assert file.strokes == program.strokes
    assert runs_as_rows(program, {})[-1][-1] == program.strokes
    assert f"{program.strokes} strokes" in sheet_picture(program, sheet).notes[0]


def test_every_stroke_is_numbered_in_the_picture_letters_together():
    """The numbers beside the strokes, written out, are all there are, each once."""
    machine = job.load_machine("gantry-knife")
    sheet = sheet_of(0.0, 6)
    letter = np.array([[40, 40], [42, 40.0]])
    words = [Stroke(letter + np.array([5.0 * n, 0.0]), Work.DRAW, Mark.LETTERING, f"card-{k}")
             for k in range(2) for n in range(4)]  # fmt: skip
    strokes = [*words, *order(sheet.strokes, machine=machine, steps=100).strokes]
    program = compile_sheet(sheet, strokes, machine)
    labels = dict(numbered(program))
    found = []
    for label, nth in labels.items():
        first, _, last = label.partition("-")
        assert int(first) == program.stroke_numbers[nth]
        found += range(int(first), int(last or first) + 1)
    assert found == list(range(1, program.strokes + 1))
    assert {"1-4", "5-8", "9"} <= labels.keys()


def test_frames_that_are_files_of_their_own_count_for_themselves():
    machine = job.load_machine("roll-plotter")
    lines = [np.array([[10.0 * n, 5], [10.0 * n, 50]]) for n in range(5)]
    pen = machine.tools[0]
    runs = [Run(line, pen, Stroke(line, Work.DRAW, Mark.INTERNAL), 100.0) for line in lines]
    runs[1] = replace(runs[1], follows=True)
    by_hand = Program("roll", machine, 100.0, 60.0, tuple(runs),
                      advances=(Advance(2, 20.0), Advance(4, 20.0)))  # fmt: skip
    assert by_hand.stroke_labels == ("1:1", "1:1", "2:1", "2:2", "3:1")
    bed = replace(machine.bed, advance="automatic", window=900.0)
    automatic = replace(by_hand, machine=replace(machine, bed=bed))
    assert automatic.stroke_labels == ("1", "1", "3", "4", "6")
    assert automatic.strokes == by_hand.strokes == 4


@pytest.mark.parametrize("unit", range(5))
def test_a_stroke_after_an_advance_is_sent_by_the_number_that_the_page_has(tmp_path, unit):
    """An advance on command is sent, and may break off, like a stroke."""
    machine = job.load_machine("roll-plotter")
    bed = replace(machine.bed, advance="automatic", window=900.0)
    machine, pen = replace(machine, bed=bed), machine.tools[0]
    lines = [np.array([[10.0 * n, 5], [10.0 * n, 50]]) for n in range(3)]
    runs = [Run(line, pen, Stroke(line, Work.DRAW, Mark.INTERNAL), 100.0) for line in lines]
    program = Program("roll", machine, 100.0, 60.0, tuple(runs),
                      advances=(Advance(1, 0.0), Advance(2, 0.0)))  # fmt: skip
    path = tmp_path / "roll.plt"
    path.write_bytes(plugins.driver(machine.driver).emit(program, sheet_of(0.0, 1)))
    with cut_file(path, plugins.language("hpgl"), machine.step) as file:
        assert file.strokes == 5
        works = any(stop.working for stop in file.language.stops(file.unit(unit), NOWHERE))
    assert works == (str(unit + 1) in program.stroke_labels)


def test_a_wrong_tool_is_named():
    machine = job.load_machine("gantry-knife")
    sheet = sheet_of(0.0, 1)
    program = compile_sheet(sheet, order(sheet.strokes, steps=50).strokes, machine)
    data = plugins.driver("gcode").emit(program, sheet).replace(b"T2 M6", b"T4 M6")
    faults = verify(program, sheet, data, plugins.interpreter_for("gcode"))
    assert "is worked by the creaser, not by the knife" in " ".join(faults)
    data = data.replace(b"T4 M6", b"T9 M6")
    faults = verify(program, sheet, data, plugins.interpreter_for("gcode"))
    assert "is worked by tool 9, which the machine does not have" in " ".join(faults)


def test_tools_that_share_a_number_are_told_apart_by_their_force():
    machine = job.load_machine("craft-cutter")
    machine = replace(machine, bed=replace(machine.bed, length=900.0, width=600.0))
    sheet = sheet_of(0.0, 2)
    program = compile_sheet(sheet, order(sheet.strokes, steps=50).strokes, machine)
    data = plugins.driver("hpgl").emit(program, sheet)
    told = summarise(plugins.interpreter_for("hpgl").read(data, machine), machine)
    assert set(told.by_tool) == {"pen", "blade"}
    cut = sum(
        np.hypot(*np.diff(run.points, axis=0).T).sum()
        for run in program.runs
        if run.stroke.work in (Work.CUT, Work.PUNCH) and run.stroke.mark is not Mark.GRAIN
    )
    assert told.by_tool["blade"] == pytest.approx(cut, rel=0.05)


def test_the_work_of_a_beam_is_told_by_its_power():
    """A beam has no tool number in its files."""
    machine = job.load_machine("laser")
    sheet = sheet_of(0.0, 2)
    program = compile_sheet(sheet, order(sheet.strokes, steps=50).strokes, machine)
    data = plugins.driver("gcode").emit(program, sheet)
    told = summarise(plugins.interpreter_for("gcode").read(data, machine), machine)
    assert set(told.by_tool) == {"mark", "cut"}
    assert told.by_tool["mark"] == pytest.approx(
        sum(
            np.hypot(*np.diff(run.points, axis=0).T).sum()
            for run in program.runs
            if run.stroke.work is Work.DRAW
        ),
        rel=0.01,
    )
