"""SVG is read back with svgpathtools, DXF with ezdxf and its auditor (layers: ASTM D6673-10)."""

import io
import xml.etree.ElementTree as ET
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import recover
from hand_built import HEIGHT, HOSTILE, program, run, scattered, sheet
from plotout_dxf import plotout_drivers as dxf_drivers
from plotout_svg import plotout_drivers as svg_drivers
from svgpathtools import Arc, CubicBezier, Line, svgstr2paths

from plotout import Card, Mark, Placed, Stroke, Work

SVG = {driver.name: driver for driver in svg_drivers()}["svg"].emit
DXF = {driver.name: driver for driver in dxf_drivers()}["dxf"].emit
SPACE = "{http://www.w3.org/2000/svg}"
OUTLINE = np.array([[0, 0], [80, 0], [100, 40], [0, 50], [0, 0.0]])
STEP = 0.025  # of the machine, mm: its paths may be half of it off


def along(path):
    """Points along a path of svgpathtools, y up."""
    steps = [np.linspace(0.0, 1.0, 2 if isinstance(piece, Line) else 200) for piece in path]
    found = [piece.point(t) for piece, ts in zip(path, steps, strict=True) for t in ts]
    return np.array([(z.real, HEIGHT - z.imag) for z in found])


def apart(one, other):
    """The Hausdorff distance of two lines, mm, by GEOS."""
    return shapely.LineString(one).hausdorff_distance(shapely.LineString(other))


def laid(title="Front", angle=90.0, number=1):
    """A card with an outline, a grain line, a notch and lettering, on its sheet."""
    name = f"card-{number}"
    strokes = tuple(
        Stroke(np.array(points, dtype=float), work, mark, name)
        for points, work, mark in (
            (OUTLINE, Work.CUT, Mark.OUTLINE),
            ([[40, 10], [40, 30]], Work.DRAW, Mark.GRAIN),
            ([[39, 28], [40, 30], [41, 28]], Work.DRAW, Mark.GRAIN),
            ([[30, 0], [30, 5]], Work.DRAW, Mark.NOTCH),
            ([[20, 0], [22, 5], [24, 0]], Work.DRAW, Mark.NOTCH),
            ([[50, 20], [55, 22], [58, 19], [60, 25]], Work.DRAW, Mark.LETTERING),
            ([[10, 10]], Work.PUNCH, Mark.DRILL),
        )
    )
    card = Card(name, title, title, number, 2, OUTLINE, strokes, orders=("cut 1 pair self",))
    placed = Placed(card, angle, (150.0 * number, 40.0))
    runs = tuple(replace(run(s.points), stroke=s) for s in placed.strokes)
    return runs, placed


def test_svg_is_the_program_in_mm():
    runs, placed = laid()
    runs = (*scattered(), *runs)
    data = SVG(program(runs), sheet(placed=(placed,)))
    root = ET.fromstring(data)
    assert (root.get("width"), root.get("height")) == ("600mm", "300mm")
    assert root.get("viewBox") == "0 0 600 300"
    paths, attributes = svgstr2paths(data.decode())
    by_class = {}
    for path, said in zip(paths, attributes, strict=True):
        by_class.setdefault(said["class"], []).append(along(path))
    meant = {}
    for each in (*runs[40:], *runs[:40]):  # cards first, then the sheet's own
        kind = f"{each.stroke.mark.value.replace(' ', '-')} {each.stroke.work.value}"
        meant.setdefault(kind, []).append(each.points)
    assert by_class.keys() == meant.keys()
    for kind, lines in meant.items():
        for drawn, line in zip(by_class[kind], lines, strict=True):
            if len(line) > 1:
                assert apart(drawn, line) < STEP / 2.0
                assert np.abs(drawn[[0, -1]] - line[[0, -1]]).max() <= STEP / 10.0


def test_svg_writes_curves_as_curves():
    """An ellipse, a wave of six bends, a hole, a half circle, by their equations."""
    turn = np.linspace(0.0, 2.0 * np.pi, 2001)
    round_ = np.column_stack([np.cos(turn), np.sin(turn)])
    way = np.linspace(0.0, 200.0, 2001)
    curves = (
        round_ * (90.0, 60.0) + (300.0, 150.0),
        np.column_stack([way + 50.0, 200.0 + 25.0 * np.sin(way / 30.0)]),
        round_ * 4.0 + (30.0, 40.0),
        round_[:1001] * (50.0, -50.0) + (500.0, 100.0),
    )
    kinds = (CubicBezier, CubicBezier, Arc, Arc)
    paths, attributes = svgstr2paths(SVG(program([run(c) for c in curves]), sheet()).decode())
    for path, said, curve, kind in zip(paths, attributes, curves, kinds, strict=True):
        assert isinstance(path[0], kind)
        assert apart(along(path), curve) < STEP / 2.0
        in_chords = shapely.get_num_points(shapely.LineString(curve).simplify(STEP / 2.0))
        assert len(said["d"]) < 18 * in_chords / 3  # "123.4567,123.4567L"


def test_svg_has_a_group_a_card():
    (first, where), (second, beside) = laid(), laid("Back", 0.0, 2)
    root = ET.fromstring(SVG(program((*first, *second)), sheet(placed=(where, beside))))
    groups = {group.get("id"): group for group in root.findall(f"{SPACE}g")}
    assert list(groups) == ["card-card-1", "card-card-2"]
    assert [len([*group.iter(f"{SPACE}path")]) for group in groups.values()] == [7, 7]
    assert groups["card-card-2"].find(f"{SPACE}title").text == "Back"


@pytest.mark.parametrize("hostile", HOSTILE)
def test_svg_names_are_only_words(hostile):
    runs, where = laid(hostile)
    data = SVG(program(runs, name=hostile), sheet(placed=(where,)))
    root = ET.fromstring(data)
    plain = ET.fromstring(SVG(program(runs), sheet(placed=(laid()[1],))))
    assert [each.tag for each in root.iter()] == [each.tag for each in plain.iter()]
    assert [each.attrib for each in root.iter()] == [each.attrib for each in plain.iter()]


def read_dxf(data):
    document, auditor = recover.read(io.BytesIO(data))
    assert not auditor.errors
    assert not auditor.fixes
    return document


def drawn_on(document):
    """Points by layer of everything that the model space shows, blocks in their places."""
    found = {}
    for entity in document.modelspace():
        parts = entity.virtual_entities() if entity.dxftype() == "INSERT" else [entity]
        for part in parts:
            match part.dxftype():
                case "LINE":
                    points = [part.dxf.start, part.dxf.end]
                case "POINT":
                    points = [part.dxf.location]
                case "POLYLINE":
                    points = list(part.points())
                    points += points[:1] if part.is_closed else []
                case _:
                    continue
            line = np.array([(p.x, p.y) for p in points])
            found.setdefault(part.dxf.layer, []).append(line)
    return found


@pytest.mark.parametrize("angle", [0.0, 90.0, 213.0])
def test_dxf_is_the_program_on_its_layers(angle):
    runs, placed = laid(angle=angle)
    found = drawn_on(read_dxf(DXF(program(runs), sheet(placed=(placed,)))))
    meant = {"1": [0], "7": [1], "15": [2, 5], "4 draw": [3, 4], "13": [6]}
    assert found.keys() == meant.keys()
    for layer, numbers in meant.items():
        for drawn, nth in zip(found[layer], numbers, strict=True):
            assert np.abs(drawn - runs[nth].points).max() < 1e-6


def test_dxf_has_a_block_a_card_and_says_its_units():
    (first, where), (second, beside) = laid(), laid("Back", 0.0, 2)
    document = read_dxf(DXF(program((*first, *second)), sheet(placed=(where, beside))))
    inserts = document.modelspace().query("INSERT")
    assert [insert.dxf.name for insert in inserts] == ["001_card-1", "002_card-2"]
    assert document.header["$INSUNITS"] == 4
    words = [text.dxf.text for text in document.modelspace().query("TEXT")]
    assert "UNITS: METRIC" in words
    said = [text.dxf.text for text in document.blocks.get("002_card-2").query("TEXT")]
    assert said == ["PIECE NAME: Back", "ANNOTATION: cut 1 pair self"]


def test_dxf_marks_of_the_sheet_lie_outside_the_cards():
    mark = run([[5, 5], [15, 5]], mark=Mark.REGISTRATION)
    document = read_dxf(DXF(program((mark,)), sheet()))
    assert drawn_on(document).keys() == {"15"}


@pytest.mark.parametrize("hostile", HOSTILE)
def test_dxf_names_are_only_words(hostile):
    runs, where = laid(hostile)
    document = read_dxf(DXF(program(runs, name=hostile), sheet(placed=(where,))))
    plain = read_dxf(DXF(program(runs), sheet(placed=(laid()[1],))))

    def entities(of):
        return [
            (e.dxftype(), e.dxf.layer) for space in (of.modelspace(), *of.blocks) for e in space
        ]

    assert entities(document) == entities(plain)
    for text in document.query("TEXT"):
        assert text.dxf.text.isprintable()
        assert "%%" not in text.plain_text()


@pytest.mark.parametrize("emit", [SVG, DXF])
def test_the_same_input_gives_the_same_bytes(emit):
    runs, placed = laid()
    first = emit(program(runs), sheet(placed=(placed,)))
    assert emit(program(runs), sheet(placed=(placed,))) == first
    assert ezdxf.options.write_fixed_meta_data_for_testing is False
