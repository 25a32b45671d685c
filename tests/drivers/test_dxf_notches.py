"""Each kind of notch keeps its kind from the piece to the file, and back by ezdxf and our reader.

Layers: ASTM D6673-10, 4 notches (V and slit), 80 T, 81 castle, 82 check, 83 U.
"""

import io
from dataclasses import replace

import numpy as np
import pytest
from ezdxf import recover
from plotout_dxf import plotout_readers
from shapely.geometry import Polygon

from plotout import Mark, NotchKind, Placed, Role, Sheet, Stroke, Work
from plotout.finish import finish
from plotout.layout.paper.frames import frames
from plotout.machine import profile
from plotout.machine.calibration import corrected
from plotout.machine.model import Calibration
from plotout.pattern.model import Cut, Edge, Notch, PatternSet, Piece
from plotout.pattern.settings import Defaults, NotchStyle
from plotout.route import order
from plotout.sheet_job import make_sheet
from plotout.tool import compile_sheet

LAYERS = {
    NotchKind.SLIT: "4",
    NotchKind.V: "4",
    NotchKind.T: "80",
    NotchKind.CASTLE: "81",
    NotchKind.CHECK: "82",
    NotchKind.U: "83",
}
ENTITIES = {NotchKind.T: 2}  # its bar and its stem; every other is one line
PLACES = {kind: 40.0 * nth for nth, kind in enumerate(LAYERS, start=1)}
DEEP, WIDE = 5.0, 4.0
CORNERS = np.array([[0, 0], [300, 0], [300, 80], [0, 80], [0, 0.0]])


def card(*, cut, kinds=tuple(LAYERS)):
    """A strip with notches of these kinds along its foot, at PLACES.

    Those that are cut need a seam allowance; drawn ones have none.
    """
    names, wide = ("foot", "right", "top", "left"), 10.0 if cut else 0.0
    edges = tuple(Edge(n, CORNERS[k : k + 2], (wide, wide)) for k, n in enumerate(names))
    edges = tuple(replace(edge, seam_notches=False) for edge in edges)
    notches = tuple(
        Notch("foot", PLACES[kind], style=NotchStyle(kind, DEEP, WIDE, cut=cut)) for kind in kinds
    )
    piece = Piece("Strip", edges, notches=notches, cuts=(Cut("self"),))
    made, *_ = finish(PatternSet("Smock", "S", "M", "", (piece,), Defaults()))
    return made


def worked(made, angle=0.0):
    shift = (400.0, 300.0)
    sheet = Sheet("sheet", 1, 900.0, 900.0, (Placed(made, angle, shift),))
    done = make_sheet(sheet, profile.load("dxf-file"), "notches")
    assert not done.faults
    return done.data


def on_layers(data):
    """How many lines lie on each notch layer of the card's block; its records are POINTs."""
    document, auditor = recover.read(io.BytesIO(data))
    assert not auditor.errors
    assert not auditor.fixes
    (insert,) = document.modelspace().query("INSERT")
    found = {}
    for entity in document.blocks.get(insert.dxf.name):
        number, _, work = entity.dxf.layer.partition(" ")
        if number in {"4", "80", "81", "82", "83"} and entity.dxftype() != "POINT":
            assert work in ("draw", "")
            found[entity.dxf.layer] = found.get(entity.dxf.layer, 0) + 1
    return found, insert.dxf.name


def read_back(data, path):
    """The notches as plotout's own reader finds them."""
    file = path / "notches.dxf"
    file.write_bytes(data)
    (reader,) = plotout_readers()
    drawing = reader.read(file, {"block": on_layers(data)[1]})
    return [shape for shape in drawing.shapes if shape.role is Role.NOTCH]


@pytest.mark.parametrize("kind", list(LAYERS))
@pytest.mark.parametrize("angle", [0.0, 90.0, 213.0])
def test_a_drawn_notch_lies_on_its_kinds_layer_and_is_read_back(kind, angle, tmp_path):
    made = card(cut=False, kinds=(kind,))
    data = worked(made, angle)
    assert on_layers(data)[0] == {f"{LAYERS[kind]} draw": ENTITIES.get(kind, 1)}
    (found,) = read_back(data, tmp_path)
    assert found.text == kind.value
    low = made.outline.min(axis=0)
    assert found.points[0] - low == pytest.approx([PLACES[kind], 0.0], abs=0.05)
    assert found.size == pytest.approx(DEEP, abs=0.05)
    assert found.angle == pytest.approx(90.0, abs=0.5)


def test_all_kinds_on_one_card_are_told_apart(tmp_path):
    data = worked(card(cut=False))
    meant = {"4 draw": 2, "80 draw": 2, "81 draw": 1, "82 draw": 1, "83 draw": 1}
    assert on_layers(data)[0] == meant
    found = {shape.text: shape.points[0, 0] for shape in read_back(data, tmp_path)}
    assert found == pytest.approx({kind.value: at for kind, at in PLACES.items()}, abs=0.05)


def test_of_cut_notches_slit_and_t_are_lines_and_the_others_are_in_the_outline(tmp_path):
    data = worked(card(cut=True))
    assert on_layers(data)[0] == {"4": 1, "80": 2}
    assert sorted(shape.text for shape in read_back(data, tmp_path)) == sorted(LAYERS)


@pytest.mark.parametrize("hollow", [True, False])
def test_dents_are_filled_in_along_a_curve(hollow, tmp_path):
    """A disc's or a hollow's boundary, 60 mm in radius, with an opening of each kind."""
    kinds = [NotchKind.V, NotchKind.CASTLE, NotchKind.CHECK, NotchKind.U]
    t = np.linspace(0.0, np.pi, 181)
    arc = 60.0 * np.column_stack([np.cos(t), np.sin(t)])
    names = ("bow", "left", "foot", "right")
    if hollow:
        frame = np.array([[-60, 0], [-100, 0], [-100, 100], [100, 100], [100, 0], [60, 0.0]])
        lines = [arc, frame[:2], frame[1:3], frame[2:]]
        lines = [line[::-1] for line in lines][::-1]
        names = ("right", "foot", "left", "bow")
    else:
        frame = np.array([[-60, 0], [-60, -40], [60, -40], [60, 0.0]])
        lines = [arc, frame[:2], frame[1:3], frame[2:]]
    edges = tuple(Edge(n, line, (12.0, 12.0), seam_notches=False)
                  for n, line in zip(names, lines, strict=True))  # fmt: skip
    notches = tuple(Notch("bow", 30.0 * nth, style=NotchStyle(kind, DEEP, WIDE))
                    for nth, kind in enumerate(kinds, start=1))  # fmt: skip
    piece = Piece("Bow", edges, notches=notches, cuts=(Cut("self"),))
    made, *_ = finish(PatternSet("Smock", "S", "M", "", (piece,), Defaults()))
    smooth, *_ = finish(
        PatternSet("Smock", "S", "M", "", (replace(piece, notches=()),), Defaults())
    )
    data = worked(made)
    found = {shape.text for shape in read_back(data, tmp_path)}
    assert found == {kind.value for kind in kinds}
    (reader,) = plotout_readers()
    shapes = reader.read(tmp_path / "notches.dxf", {"block": on_layers(data)[1]}).shapes
    outline = next(shape.points for shape in shapes if shape.role is Role.OUTLINE)
    assert Polygon(outline).symmetric_difference(Polygon(smooth.outline)).area < 4.0  # of 50


def test_a_kind_survives_whatever_is_done_to_strokes():
    made = card(cut=False)
    sheet = Sheet("sheet", 1, 900.0, 900.0, (Placed(made, 90.0, (400.0, 20.0)),))
    meant = kinds(sheet.strokes)
    assert set(meant) == set(LAYERS)
    sent = corrected(sheet.strokes, Calibration(1.002, 0.999, 0.1))
    assert kinds(sent) == meant
    assert kinds(order(sent).strokes) == meant
    halves = frames(sheet.strokes, [397.5])  # a joint through every notch but those along it
    assert len(halves) == 2
    assert all(set(kinds(half.strokes)) == set(LAYERS) for half in halves)
    program = compile_sheet(sheet, order(sheet.strokes).strokes, profile.load("dxf-file"))
    assert kinds(run.stroke for run in program.runs) == meant


def test_notches_of_two_kinds_that_meet_are_not_joined():
    lines = ([[0, 0], [2, 5], [4, 0]], NotchKind.V), ([[4, 0], [4, 5], [8, 0]], NotchKind.CHECK)
    strokes = [
        Stroke(np.array(points, dtype=float), Work.DRAW, Mark.NOTCH, "a", notch=kind)
        for points, kind in lines
    ]
    assert len(order(strokes).strokes) == 2
    assert len(order([replace(each, notch=NotchKind.V) for each in strokes]).strokes) == 1


def kinds(strokes):
    found = [stroke.notch for stroke in strokes if stroke.mark is Mark.NOTCH]
    return {kind: found.count(kind) for kind in found}
