"""A stroke's number means one thing: in the report, the read-back, what is sent, page and picture.

Reference: the strokes are counted in the file's own words, from each time the tool goes down.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from plotout import job, plugins
from plotout.geometry.strokes import Mark, Work
from plotout.proof.page.content import runs_as_rows
from plotout.proof.picture import sheet_picture
from plotout.proof.summary import summarise
from plotout.route import order
from plotout.sending.cutfile import cut_file
from plotout.tool import compile_sheet

from .test_sequence import sheet_of


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
    assert summarise(reading, machine).strokes == program.strokes
    path = tmp_path / f"sheet{driver.suffix}"
    path.write_bytes(data)
    with cut_file(path, plugins.language(machine.wire.language), machine.step) as file:
        assert file.strokes == program.strokes
    assert runs_as_rows(program, {})[-1][-1] == program.strokes
    assert f"{program.strokes} strokes" in sheet_picture(program, sheet).notes[0]


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
