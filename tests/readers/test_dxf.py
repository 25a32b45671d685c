"""The DXF reader against files that ezdxf writes, R12 to R2018, and sizes that are known."""

from __future__ import annotations

import itertools
import math

import ezdxf
import numpy as np
import pytest
import shapely
from plotout_dxf.read import read
from shapely.geometry import LineString, Polygon

from plotout import Role, UserError

VERSIONS = ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"]
BOX = [(10, 20), (40, 20), (40, 60), (10, 60)]


@pytest.fixture
def dxf(tmp_path):
    def write(draw, version="R2010", insunits=4):
        document = ezdxf.new(version)
        if version != "R12":
            document.header["$INSUNITS"] = insunits
        draw(document)
        path = tmp_path / "piece.dxf"
        document.saveas(path)
        return path

    return write


def box(space, layer="EDGE", corners=BOX):
    space.add_polyline2d(corners, close=True, dxfattribs={"layer": layer})


def outline(path, layer="EDGE", **more):
    (shape,) = [s for s in read(path, {"outline": layer, **more}).shapes
                if s.role is Role.OUTLINE]  # fmt: skip
    assert (shape.points[0] == shape.points[-1]).all()
    return shape.points


def same(points, corners=BOX):
    return Polygon(points).symmetric_difference(Polygon(corners)).area < 1e-6


@pytest.mark.parametrize("version", VERSIONS)
def test_every_version_is_read(dxf, version):
    path = dxf(lambda document: box(document.modelspace()), version)
    assert same(outline(path, **({"unit": "mm"} if version == "R12" else {})))


def test_loose_lines_are_joined_within_a_twentieth_of_a_mm(dxf):
    def draw(document, gap=0.04):
        space = document.modelspace()
        for a, b in [(0, 1), (1, 2), (3, 2), (0, 3)]:
            space.add_line(BOX[a], (BOX[b][0] + gap, BOX[b][1]), {"layer": "EDGE"})

    points = outline(dxf(draw))
    assert Polygon(points).symmetric_difference(Polygon(BOX)).area < 0.05 * 140
    open_ = read(dxf(lambda document: draw(document, 0.2)), {"outline": "EDGE"}).shapes
    assert len(open_) > 1  # for the pattern room to refuse, which says where the gap is


def test_lines_drawn_twice_count_once(dxf):
    def draw(document):
        for a, b in [(0, 1), (1, 0), (1, 2), (2, 3), (3, 0)]:
            document.modelspace().add_line(BOX[a], BOX[b], {"layer": "edge"})

    assert same(outline(dxf(draw)))


def test_lines_that_branch_are_refused_with_their_place(dxf):
    def draw(document):
        box(document.modelspace())
        for end in [(0, 0), (5, 90), (60, 3)]:
            document.modelspace().add_line((70, 80), end, {"layer": "EDGE"})

    with pytest.raises(UserError, match=r"at x 70.00 mm, y 80.00 mm: more than two lines"):
        outline(dxf(draw))


@pytest.mark.parametrize("entity", ["circle", "arcs", "ellipse", "bulge", "heavy", "spline",
                                    "scaled", "mirrored"])  # fmt: skip
def test_round_entities_lie_within_a_hundredth_of_their_circle(dxf, entity):
    """A circle of radius 500 about 600, 0: a large one, where cheap curves go wrong."""

    def draw(document):
        space, on = document.modelspace(), {"layer": "EDGE"}
        if entity == "circle":
            space.add_circle((600, 0), 500, on)
        elif entity == "arcs":
            space.add_arc((600, 0), 500, 30, 200, dxfattribs=on)
            space.add_arc((600, 0), 500, 200, 30, dxfattribs=on)
        elif entity == "ellipse":
            space.add_ellipse((600, 0), (0, 500), 1.0, dxfattribs=on)
        elif entity == "bulge":
            space.add_lwpolyline([(100, 0, 1), (1100, 0, 1)], format="xyb", close=True,
                                 dxfattribs=on)  # fmt: skip
        elif entity == "heavy":
            turn = math.tan(math.radians(30))  # a third of a circle a side, clockwise
            corners = [(600 + 500 * math.cos(a), -500 * math.sin(a), -turn)
                       for a in np.radians([0, 120, 240])]  # fmt: skip
            space.add_polyline2d(corners, format="xyb", close=True, dxfattribs=on)
        elif entity == "spline":
            arc = ezdxf.math.ConstructionArc((600, 0), 500, 0, 360)
            space.add_spline(dxfattribs=on).apply_construction_tool(
                ezdxf.math.rational_bspline_from_arc((600, 0), 500, 0, 360)
            )
            assert arc
        else:
            block = document.blocks.new("ROUND")
            block.add_circle((0, 0), 250, on)
            block.add_attdef("NAME", (0, 0))
            scale = {"xscale": 2, "yscale": -2 if entity == "mirrored" else 2, "rotation": 77}
            space.add_blockref("ROUND", (600, 0), scale)

    points = outline(dxf(draw))
    middles = (points[1:] + points[:-1]) / 2
    for each in (points, middles):
        assert np.abs(np.hypot(*(each - [600, 0]).T) - 500).max() < 0.0101


def test_nested_inserts_turn_scale_and_bear_their_layer(dxf):
    def draw(document):
        inner, outer = document.blocks.new("INNER"), document.blocks.new("OUTER")
        inner.add_lwpolyline([(0, 0), (1, 0), (1, 1), (0, 1)], close=True)  # on layer 0
        inner.add_circle((0.5, 0.5), 0.1, {"layer": "HOLE"})
        outer.add_blockref("INNER", (0, 0), {"xscale": 40, "yscale": 30})
        document.modelspace().add_blockref("OUTER", (40, 20), {"rotation": 90, "layer": "EDGE"})

    drawing = read(dxf(draw), {"outline": "EDGE", "drill": "HOLE"})
    shapes = {shape.role: shape for shape in drawing.shapes}
    assert same(shapes[Role.OUTLINE].points)
    assert shapes[Role.DRILL].points == pytest.approx(np.array([[25, 40]]))


def test_blocks_that_hold_themselves_are_refused(dxf):
    def draw(document):
        one, other = document.blocks.new("ONE"), document.blocks.new("OTHER")
        one.add_blockref("OTHER", (0, 0))
        other.add_blockref("ONE", (0, 0))
        document.modelspace().add_blockref("ONE", (0, 0))

    with pytest.raises(UserError, match=r"contain themselves|no outline|nothing is on"):
        outline(dxf(draw))


def test_a_spline_agrees_with_its_bezier(dxf):
    control = [(0, 0), (0, 300), (400, -100), (400, 200)]
    path = dxf(
        lambda document: (
            document.modelspace().add_open_spline(control, dxfattribs={"layer": "EDGE"}),
            document.modelspace().add_line((0, 0), (400, 200), {"layer": "EDGE"}),
        )
    )
    t = np.linspace(0, 1, 10_001)[:, None]
    p = np.array(control, float)
    exact = ((1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1]
             + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3])  # fmt: skip
    shapes = [s.points for s in read(path, {"outline": "EDGE"}).shapes]
    line = LineString(np.vstack(shapes))
    assert shapely.distance(line, shapely.points(exact)).max() < 0.0101


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (2, 304.8), (4, 1), (5, 10), (6, 1000)])
def test_insunits(dxf, code, mm):
    """DXF reference, $INSUNITS: 1 inches, 2 feet, 4 mm, 5 cm, 6 m."""
    path = dxf(lambda document: box(document.modelspace()), insunits=code)
    assert np.ptp(outline(path), axis=0) == pytest.approx([30 * mm, 40 * mm])


@pytest.mark.parametrize("code", [0, 3, 99])
def test_unknown_units_are_asked_for(dxf, code):
    path = dxf(lambda document: box(document.modelspace()), insunits=code)
    with pytest.raises(UserError, match=r"unit = "):
        outline(path)
    assert np.ptp(outline(path, unit="in"), axis=0) == pytest.approx([762, 1016])
    with pytest.raises(UserError, match="'yd' is not a unit"):
        outline(path, unit="yd")


def piece(document, system="METRIC"):
    block = document.blocks.new("FRONT-M")
    box(block, "1")
    for x, y in BOX:
        block.add_point((x, y), {"layer": "2"})
    block.add_point((25, 20, 4), {"layer": "4", "angle": 90})
    for layer, x in (("80", 15), ("81", 20), ("82", 30), ("83", 35)):
        block.add_point((x, 60), {"layer": layer})
    block.add_line((10, 35), (14, 35), {"layer": "4"})
    block.add_lwpolyline([(40, 38), (36, 40), (40, 42)], dxfattribs={"layer": "4"})
    block.add_line((10, 20), (10, 60), {"layer": "6"})
    block.add_line((20, 25), (20, 55), {"layer": "7"})
    block.add_line((30, 25), (30, 55), {"layer": "8"})
    block.add_line((31, 25), (31, 55), {"layer": "9"})
    block.add_line((32, 25), (32, 55), {"layer": "10"})
    block.add_circle((25, 50), 2, {"layer": "11"})
    block.add_point((25, 30), {"layer": "13"})
    block.add_lwpolyline([(12, 22), (38, 22)], dxfattribs={"layer": "14"})
    block.add_text("PIECE NAME: Front", dxfattribs={"layer": "1", "insert": (20, 40)})
    space = document.modelspace()
    space.add_blockref("FRONT-M", (0, 0), {"layer": "1"})
    space.add_text("STYLE NAME: Smock", dxfattribs={"layer": "1"})
    if system:
        space.add_text(f"UNITS: {system}", dxfattribs={"layer": "1"})


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_an_astm_piece_with_all_its_layers(dxf, version):
    def draw(document):
        if version != "R12":
            return piece(document)
        polyline = document.blocks.new("FRONT-M").add_polyline2d
        polyline(BOX, close=True, dxfattribs={"layer": "1"})
        return document.modelspace().add_text("UNITS: METRIC", dxfattribs={"layer": "1"})

    drawing = read(dxf(draw, version, insunits=0), {"block": "front-m"})
    by_role = {}
    for shape in drawing.shapes:
        by_role.setdefault(shape.role, []).append(shape)
    assert same(by_role[Role.OUTLINE][0].points)
    if version == "R12":
        return
    counts = {role: len(shapes) for role, shapes in by_role.items()}
    assert counts == {
        Role.OUTLINE: 1, Role.TURN: 4, Role.NOTCH: 7, Role.FOLD: 1, Role.GRAIN: 1,
        Role.INTERNAL: 1, Role.STRIPE: 1, Role.PLAID: 1, Role.CUTOUT: 1, Role.DRILL: 1,
        Role.SEWING: 1, Role.TEXT: 1,
    }  # fmt: skip
    notches = {(shape.text, *shape.points[0]): shape for shape in by_role[Role.NOTCH]}
    assert {("T", 15, 60), ("castle", 20, 60), ("check", 30, 60), ("U", 35, 60)} < set(notches)
    assert (notches["", 25, 20].size, notches["", 25, 20].angle) == (4, 90)
    assert (notches["slit", 10, 35].size, notches["slit", 10, 35].angle) == (4, 0)
    assert (notches["V", 40, 40].size, notches["V", 40, 40].angle) == (4, 180)
    assert by_role[Role.GRAIN][0].points.tolist() == [[20, 25], [20, 55]]
    assert by_role[Role.TEXT][0].text == "PIECE NAME: Front"


def test_astm_units_and_names(dxf):
    english = dxf(lambda document: piece(document, "ENGLISH"), insunits=0)
    assert same(read(english, {"block": "Front"}).shapes[0].points, np.multiply(BOX, 25.4))
    with pytest.raises(UserError, match=r"(?s)no block 'FRONT-L'.*Did you mean 'FRONT-M'"):
        read(english, {"block": "FRONT-L"})
    drawing = read(dxf(lambda document: piece(document, "ENGLISH"), insunits=4),
                   {"block": "FRONT-M"})  # fmt: skip
    assert "the text was used" in drawing.notes[0]
    with pytest.raises(UserError, match="its units are not stated"):
        read(dxf(lambda document: piece(document, ""), insunits=0), {"block": "FRONT-M"})


def test_a_cross_of_two_lines_is_one_drill_hole(dxf):
    def draw(document):
        space = document.modelspace()
        box(space)
        space.add_line((20, 40), (24, 40), {"layer": "HOLES"})
        space.add_line((22, 38), (22, 42), {"layer": "HOLES"})
        space.add_circle((30, 30), 1.5, {"layer": "HOLES"})

    drawing = read(dxf(draw), {"outline": "EDGE", "drill": "HOLES"})
    drills = [shape for shape in drawing.shapes if shape.role is Role.DRILL]
    assert [shape.points[0].tolist() for shape in drills] == [[22, 40], [30, 30]]
    assert [shape.size for shape in drills] == pytest.approx([0, 3])


def test_two_outlines_or_none_are_refused(dxf):
    def two(document):
        box(document.modelspace())
        box(document.modelspace(), corners=[(80, 80), (90, 80), (85, 95)])

    with pytest.raises(UserError, match=r"at x 80.00 mm, y 80.00 mm: the outline consists of 2"):
        outline(dxf(two))
    path = dxf(lambda document: box(document.modelspace()))
    with pytest.raises(UserError, match=r"(?s)no outline is picked.*'EDGE'"):
        read(path, {})
    with pytest.raises(UserError, match=r"(?s)nothing is on a layer 'EGDE'.*mean 'EDGE'"):
        outline(path, "EGDE")
    text = dxf(lambda document: document.modelspace().add_text("x", dxfattribs={"layer": "EDGE"}))
    with pytest.raises(UserError, match="outline is empty"):
        outline(text)


@pytest.mark.parametrize("data", [b"", b"not a drawing", b"0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n",
                                  b"\x00\x01" * 99, b"AutoCAD Binary DXF\r\n\x1a\x00"])  # fmt: skip
def test_damaged_files_are_told(tmp_path, data):
    path = tmp_path / "bad.dxf"
    path.write_bytes(data)
    with pytest.raises(UserError) as caught:
        read(path, {"outline": "EDGE", "unit": "mm"})
    assert "bad.dxf" in str(caught.value)


def test_a_file_cut_short_is_noted_or_refused(dxf):
    path = dxf(lambda document: box(document.modelspace()))
    data = path.read_bytes()
    path.write_bytes(data[: data.rindex(b"POLYLINE") + 400])
    try:
        drawing = read(path, {"outline": "EDGE"})
    except UserError:
        return
    assert any("damaged" in note for note in drawing.notes)


def test_coordinates_that_are_not_numbers_are_told(dxf):
    path = dxf(lambda document: document.modelspace().add_line((0, 0), (7654.5, 0),
                                                               {"layer": "EDGE"}))  # fmt: skip
    path.write_bytes(path.read_bytes().replace(b"7654.5", b"1e300"))
    with pytest.raises(UserError, match="beyond a kilometre"):
        outline(path)


@pytest.mark.parametrize(
    "data",
    [b"\0" * 50, b"0\nSECTION\n2\nENTITIES\nx\n", b"\xff\xfe0\x00\n",
     b"AutoCAD Binary DXF\r\n\x1a\0x",
     b"hello\n", b"0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nQ\n0\nENDSEC\n0\nEOF\n"],
)  # fmt: skip
def test_what_is_no_dxf_is_told_without_python_s_words(tmp_path, data):
    path = tmp_path / "a.dxf"
    path.write_bytes(data)
    with pytest.raises(UserError) as caught:
        read(path, {})
    told = str(caught.value)
    assert not any(word in told for word in ("codec", "object", "NoneType", "literal", "index"))


@pytest.mark.parametrize("kind", ["circles", "bulges", "spline"])
def test_the_points_of_curves_are_bounded(dxf, kind):
    """A few kilobytes could else take gigabytes, or hours."""

    def draw(document):
        space, layer = document.modelspace(), {"layer": "EDGE"}
        far = [(index % 2 * 8e5, index % 3 * 8e5) for index in range(400)]
        if kind == "circles":
            for _ in range(60):
                space.add_circle((0, 0), 9e5, layer)
        elif kind == "bulges":
            space.add_lwpolyline([(x, y, 0, 0, 1.0) for x, y in far], dxfattribs=layer)
        else:
            space.add_spline(far, dxfattribs=layer)

    with pytest.raises(UserError, match="300000 points"):
        outline(dxf(draw))


SQUARE = "".join(
    f"0\nLINE\n8\nEDGE\n10\n{a}\n20\n{b}\n11\n{c}\n21\n{d}\n"
    for a, b, c, d in ((0, 0, 90, 0), (90, 0, 90, 60), (90, 60, 0, 60), (0, 60, 0, 0))
)
SQUARE = f"0\nSECTION\n2\nENTITIES\n{SQUARE}0\nENDSEC\n0\nEOF\n"


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_a_decimal_comma_is_not_cut_off(tmp_path, ends):
    """The DXF reference: group codes 10 to 59 hold floating-point numbers."""
    path = tmp_path / "a.dxf"
    path.write_bytes(SQUARE.replace("\n", ends).encode())
    assert same(outline(path, unit="mm"), [(0, 0), (90, 0), (90, 60), (0, 60)])
    path.write_bytes(SQUARE.replace("90", "90,5").replace("\n", ends).encode())
    with pytest.raises(UserError, match=r"line 14: '90,5' is not a number\n.*decimal points"):
        outline(path, unit="mm")


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b'{"a": 1}', "nothing in it can be read as DXF"),
        (b"AC1032\0\0\0\0" + b"\x80" * 400, "a DWG drawing"),
        (b"<svg/>", "an SVG drawing, not a DXF"),
    ],
)
def test_what_holds_nothing_is_told(tmp_path, data, told):
    path = tmp_path / "a.dxf"
    path.write_bytes(data)
    with pytest.raises(UserError, match=told):
        outline(path, unit="mm")


# What can't be seen, and what is longer than it looks. Source: the DXF reference (group codes 60,
# 62 and 70 of a layer; $INSUNITS), files by ezdxf.


@pytest.mark.parametrize("way", ["off", "frozen"])
def test_a_layer_that_is_off_is_told(dxf, way):
    def draw(document):
        layer = document.layers.add("EDGE")
        layer.off() if way == "off" else layer.freeze()
        box(document.modelspace())

    drawing = read(dxf(draw), {"outline": "EDGE"})
    assert any("switched off or frozen" in note for note in drawing.notes)


def test_invisible_lines_are_told(dxf):
    def draw(document):
        document.modelspace().add_polyline2d(
            BOX, close=True, dxfattribs={"layer": "EDGE", "invisible": 1}
        )

    assert any("invisible" in note for note in read(dxf(draw), {"outline": "EDGE"}).notes)


def _line(space, *ends):
    space.add_line(*ends, dxfattribs={"layer": "EDGE"})


@pytest.mark.parametrize(
    "rising",
    [
        lambda space: _line(space, (10, 60, 30), (10, 20, 0)),
        lambda space: space.add_polyline3d([(10, 60, 30), (10, 20, 0)],
                                           dxfattribs={"layer": "EDGE"}),
        lambda space: space.add_spline([(10, 60, 0), (9, 40, 9), (10, 20, 0)],
                                       dxfattribs={"layer": "EDGE"}),
        lambda space: space.add_arc((10, 40), 20, 90, 270, dxfattribs={
            "layer": "EDGE", "extrusion": (0, 0.6, 0.8)}),
        lambda space: space.add_ellipse((10, 40), (0, 20, 5), 0.3, dxfattribs={"layer": "EDGE"}),
    ],
)  # fmt: skip
def test_what_rises_is_refused(dxf, rising):
    def draw(document):
        space = document.modelspace()
        for a, b in itertools.pairwise(BOX):
            _line(space, a, b)
        rising(space)

    with pytest.raises(UserError, match="rises out of the drawing's plane"):
        outline(dxf(draw))


def test_all_at_one_height_is_flat(dxf):
    def draw(document):
        document.modelspace().add_polyline3d(
            [(x, y, 75.0) for x, y in BOX], close=True, dxfattribs={"layer": "EDGE"}
        )

    assert same(outline(dxf(draw)))


@pytest.mark.parametrize(("code", "mm"), [(9, 0.0254), (13, 0.001)])
def test_small_units(dxf, code, mm):
    grown = [(x / mm, y / mm) for x, y in BOX]
    path = dxf(lambda document: box(document.modelspace(), corners=grown), insunits=code)
    assert same(outline(path))


def test_a_unit_of_no_pattern_is_named(dxf):
    path = dxf(lambda document: box(document.modelspace()), insunits=19)  # light years
    with pytest.raises(UserError, match=r"INSUNITS 19"):
        outline(path)


def test_what_a_layer_has_no_use_for_is_told(dxf):
    """Points and words on a layer of lines; points are holes on one of those, lines on none."""

    def draw(document):
        space = document.modelspace()
        box(space)
        for x in (15, 20, 25):
            space.add_point((x, 30), {"layer": "INT"})
        space.add_text("PIN HERE", dxfattribs={"layer": "INT"})
        space.add_line((15, 40), (30, 40), {"layer": "INT"})

    path = dxf(draw)
    drawing = read(path, {"outline": "EDGE", "internal": "INT"})
    assert [shape.role for shape in drawing.shapes].count(Role.INTERNAL) == 1
    points, words = drawing.notes
    assert points.startswith("3 POINT on layer 'INT' left out")
    assert "drill" in points
    assert words == "1 TEXT on layer 'INT' left out: not a line"
    both = read(path, {"outline": "EDGE", "internal": "INT", "drill": "INT"})
    assert [shape.role for shape in both.shapes].count(Role.DRILL) == 4  # and the line's middle
    assert [note for note in both.notes if "POINT" in note] == []
