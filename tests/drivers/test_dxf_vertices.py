"""Vertices written like the first one of their polyline are what ezdxf would have written."""

import io
import re

import ezdxf
import numpy as np
import pytest
from ezdxf import recover
from hand_built import machine, program, run, sheet
from plotout_dxf import plotout_drivers, vertices

from plotout import Card, Mark, Placed

(DRIVER,) = plotout_drivers()
CLOSED = np.array([[0, 0], [80, 0], [100, 40], [0, 50], [0, 0.0]])
AWKWARD = np.array([[1 / 3, 2e-17], [-0.0, -5.5], [1e5, 7.0], [3.0, 1e16]])


def tags(data):
    """The file's VERTEX and POLYLINE entities as text, without handles and owners."""
    text = re.sub(r"(?m)^(  5|330)\n.*\n", "", data)
    return re.findall(r"(?s)  0\n(?:POLYLINE|VERTEX|SEQEND)\n.*?(?=  0\n)", text)


@pytest.mark.parametrize("at_once", [1, 3, 10_000])
def test_the_tags_are_those_of_ezdxf(at_once, monkeypatch):
    monkeypatch.setattr(vertices, "_AT_ONCE", at_once)
    document = ezdxf.new("R2000")
    space = document.modelspace()
    space.add_polyline2d(AWKWARD.tolist(), dxfattribs={"layer": "8", "color": 5})
    closed_look = {"layer": "1 draw", "color": 5}  # an outline that is not cut
    space.add_polyline2d(CLOSED[:-1].tolist(), close=True, dxfattribs=closed_look)
    whole = io.StringIO()
    document.write(whole)
    runs = run(AWKWARD, mark=Mark.INTERNAL), run(CLOSED)
    ours = DRIVER.emit(program(runs, machine({"draw": 5})), sheet()).decode("cp1252")
    assert tags(ours) == tags(whole.getvalue())
    assert len(tags(ours)) == 2 * 2 + 4 + 4


def test_every_handle_is_one_entitys_and_below_the_seed():
    title = "a\n  0\nVERTEX\n  5\nFF\n  0\nSEQEND\n"  # words that are no tags
    card = Card("a", title, title, 1, 1, CLOSED, ())
    runs = run(CLOSED, card="a"), run(AWKWARD[:3], card="a"), run(AWKWARD[:3])
    data = DRIVER.emit(program(runs, name=title), sheet(placed=(Placed(card, 30.0, (9.0, 9.0)),)))
    document, auditor = recover.read(io.BytesIO(data))
    assert not auditor.errors
    assert not auditor.fixes
    counts = [len(line.vertices) for line in document.blocks.get("001_a").query("POLYLINE")]
    assert counts == [4, 3]
    seed, *handles = (int(each, 16) for each in re.findall(rb"(?m)^  5\r?\n(.*)\r?\n", data))
    assert len(set(handles)) == len(handles)
    assert max(handles) < seed
