"""Lines of each kind of work can be sorted by any program: ezdxf and ElementTree read the files."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from dataclasses import replace

import ezdxf
import numpy as np
import pytest

from plotout import Card, Mark, Placed, Sheet, Stroke, UserError, Work, job, plugins
from plotout.tool import compile_sheet

BOX = np.array([[0, 0], [80, 0], [80, 60], [0, 60], [0, 0.0]])
SVG = "{http://www.w3.org/2000/svg}"


def emitted(name: str, **options) -> bytes:
    strokes = (
        Stroke(np.array([[10, 10], [40, 10.0]]), Work.DRAW, Mark.GRAIN, "a"),
        Stroke(np.array([[10, 20], [40, 20.0]]), Work.SCORE, Mark.INTERNAL, "a"),
        Stroke(np.array([[20, 40.0]]), Work.PUNCH, Mark.HOLE, "a", 8.0),
        Stroke(BOX, Work.CUT, Mark.OUTLINE, "a"),
    )
    card = Card("a", "A", "A", 1, 1, BOX, strokes)
    sheet = Sheet("sheet", 1, 200.0, 100.0, (Placed(card, 0.0, (20.0, 20.0)),))
    machine = job.load_machine(name)
    machine = replace(machine, options=dict(machine.options) | options)
    program = compile_sheet(sheet, sheet.strokes, machine)
    return plugins.driver(machine.driver).emit(program, sheet)


def test_svg_has_a_group_and_a_colour_for_each_kind_of_work():
    root = ET.fromstring(emitted("svg-file", cut="#123456"))
    groups = {g.get("id"): g for g in root.iter(f"{SVG}g") if g.get("stroke")}
    assert list(groups) == ["card-a-draw", "card-a-score", "card-a-punch", "card-a-cut"]
    assert len({g.get("stroke") for g in groups.values()}) == 4
    assert groups["card-a-cut"].get("stroke") == "#123456"
    assert all(len(g.findall(f"{SVG}path")) == 1 for g in groups.values())


def test_dxf_has_a_colour_for_each_kind_of_work():
    document = ezdxf.read(io.StringIO(emitted("dxf-file", cut=3).decode("cp1252")))
    lines = [e for e in document.blocks.get("001_a") if e.dxftype() not in ("TEXT", "MTEXT")]
    assert {(e.dxf.layer, e.dxf.color) for e in lines} == {
        ("7", 7), ("8", 30), ("hanging hole", 6), ("1", 3)}  # fmt: skip


@pytest.mark.parametrize(("name", "value"), [("svg-file", '"><x"'), ("dxf-file", 0)])
def test_what_is_no_colour_is_refused(name, value):
    with pytest.raises(UserError, match="cut"):
        emitted(name, cut=value)
