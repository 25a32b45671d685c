"""Lines of each kind of work can be sorted by any program: ezdxf and ElementTree read the files."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import ezdxf
import numpy as np
import pytest

from plotout import Card, Mark, NotchKind, Placed, Sheet, Stroke, UserError, Work, job, plugins
from plotout.tool import compile_sheet

BOX = np.array([[0, 0], [80, 0], [80, 60], [0, 60], [0, 0.0]])
WORKS = ("draw", "score", "punch", "cut")
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
    assert list(groups) == [f"{work}-of-card-a" for work in WORKS]
    assert len({g.get("stroke") for g in groups.values()}) == 4
    assert groups["cut-of-card-a"].get("stroke") == "#123456"
    assert all(len(g.findall(f"{SVG}path")) == 1 for g in groups.values())


def test_dxf_has_a_colour_for_each_kind_of_work():
    document = ezdxf.read(io.StringIO(emitted("dxf-file", cut=3).decode("cp1252")))
    lines = [e for e in document.blocks.get("001_a") if e.dxftype() not in ("TEXT", "MTEXT")]
    assert {(e.dxf.layer, e.dxf.color) for e in lines} == {
        ("7", 7), ("8 score", 30), ("hanging hole", 6), ("1", 3)}  # fmt: skip


def test_no_layer_of_a_dxf_holds_two_kinds_of_work():
    """Every kind of line with every kind of work: by the colour, ezdxf knows the work."""
    strokes = tuple(
        Stroke(np.array([[4.0 * nth, 10 + 10 * at], [4.0 * nth + 3, 10 + 10 * at]]), work, mark,
               "a", notch=kind or None)
        for nth, (mark, kind) in enumerate(
            [(mark, "") for mark in Mark if mark is not Mark.NOTCH]
            + [(Mark.NOTCH, kind) for kind in NotchKind])
        for at, work in enumerate(Work)
    )  # fmt: skip
    card = Card("a", "A", "A", 1, 1, BOX, strokes)
    sheet = Sheet("sheet", 1, 200.0, 100.0, (Placed(card, 0.0, (20.0, 20.0)),))
    machine = job.load_machine("dxf-file")
    data = plugins.driver("dxf").emit(compile_sheet(sheet, sheet.strokes, machine), sheet)
    document = ezdxf.read(io.StringIO(data.decode("cp1252")))
    lines = document.blocks.get("001_a").query("LINE")
    assert len(lines) == len(strokes)
    works: dict[str, set[int]] = {}
    for line in lines:
        works.setdefault(line.dxf.layer, set()).add(line.dxf.color)
        assert document.layers.get(line.dxf.layer).dxf.plot
    assert {len(colours) for colours in works.values()} == {1}
    assert {colour for colours in works.values() for colour in colours} == {7, 30, 6, 5}


def test_ids_of_cards_in_any_script_are_no_other_cards():
    """XML 1.0, validity constraint ID: one name, one element."""
    cards = ["a", "a-cut", "\u03c6", "\u0448", "\u00bd"]
    made = [Card(name, name, name, 1, 1, BOX, (Stroke(BOX, Work.CUT, Mark.OUTLINE, name),))
            for name in cards]  # fmt: skip
    placed = tuple(Placed(card, 0.0, (90.0 * nth, 0.0)) for nth, card in enumerate(made))
    sheet = Sheet("sheet", 1, 500.0, 100.0, placed)
    program = compile_sheet(sheet, sheet.strokes, job.load_machine("svg-file"))
    root = ET.fromstring(plugins.driver("svg").emit(program, sheet))
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids)) == 2 * len(cards)
    assert all(re.fullmatch("[A-Za-z_][A-Za-z0-9_-]*", name) for name in ids)


@pytest.mark.parametrize(("name", "value"), [("svg-file", '"><x"'), ("dxf-file", 0)])
def test_what_is_no_colour_is_refused(name, value):
    with pytest.raises(UserError, match="cut"):
        emitted(name, cut=value)
