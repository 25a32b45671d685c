"""What a DXF of ASTM D6673 says of a piece: sewing and mirror lines, sizes, inserted scales.

The files are written by ezdxf; lengths and areas by hand.
"""

import ezdxf
import numpy as np
import pytest
from plotout_dxf.read import read
from shapely import Polygon

from plotout import Role, UserError, job
from plotout.geometry.polyline import signed_area

CUT = [(0, -10), (120, -10), (120, 225), (0, 225)]
SEWN = [(0, 0), (110, 0), (110, 200), (0, 200)]  # hem 10, side 10, top 25 mm; the mirror at x = 0
SET = """[set]
name = "Apron"
style = "AP-01"
size = "M"
[[piece]]
name = "Front"
from = { file = "a.dxf", block = "FRONT" }
edges = ["hem", "side", "top", "centre"]
cut = [{ cloth = "self", on-fold = true }]
"""


@pytest.fixture
def built(tmp_path):
    def build(draw, text=SET):
        document = ezdxf.new("R2000")
        document.header["$INSUNITS"] = 4
        draw(document)
        document.saveas(tmp_path / "a.dxf")
        (tmp_path / "set.toml").write_text(text)
        return job.read_set(tmp_path / "set.toml").piece("Front")

    return build


def block(document, name="FRONT", *, sewn=True, closed=True, mirror=True, grown=1.0, words=()):
    made = document.blocks.new(name)
    made.add_polyline2d([(x * grown, y * grown) for x, y in CUT], close=True,
                        dxfattribs={"layer": "1"})  # fmt: skip
    if sewn:
        made.add_polyline2d(SEWN, close=closed, dxfattribs={"layer": "14"})
    if mirror:
        made.add_line((0, -10), (0, 225), {"layer": "6"})
    for text in words:
        made.add_text(text, dxfattribs={"layer": "1"})


@pytest.mark.parametrize("closed", [True, False])
def test_sewing_and_mirror_lines_give_outline_allowances_and_fold(built, closed):
    piece = built(lambda document: block(document, closed=closed))
    assert signed_area(piece.outline) == pytest.approx(110 * 200)
    assert {edge.name: edge.allowance for edge in piece.edges} == {
        "hem": (10.0, 10.0), "side": (10.0, 10.0), "top": (25.0, 25.0), "centre": (0.0, 0.0)
    }  # fmt: skip
    assert piece.fold == "centre"
    assert not piece.faults
    assert not piece.lines
    assert "'centre' lies on the drawing's mirror line: it is the fold" in piece.notes


def test_what_the_set_file_says_of_an_edge_comes_before_the_drawing(built):
    piece = built(block, SET + '[piece.edge.top]\nallowance = "40 mm"\n')
    assert piece.edge("top").allowance == (40.0, 40.0)
    assert piece.edge("hem").allowance == (10.0, 10.0)


def test_a_sewing_line_that_does_not_close_is_told(built):
    piece = built(lambda document: block(document, closed=False, mirror=False))
    assert any("does not close" in note for note in piece.notes)
    assert signed_area(piece.outline) == pytest.approx(within_allowance(1.0))
    assert [line.kind for line in piece.lines] == ["internal"]


def sizes(document, told=True):
    for nth, size in enumerate("SML"):
        words = ["PIECE NAME: FRONT", *([f"SIZE: {size}"] if told else [])]
        name = f"B{nth}" if told else f"FRONT_{size}"
        block(document, name, sewn=False, mirror=False, grown=1.0 + 0.1 * nth, words=words)


@pytest.mark.parametrize("told", [True, False])
def test_of_several_sizes_the_set_s_own_is_taken(built, told):
    piece = built(lambda document: sizes(document, told))
    assert signed_area(piece.outline) == pytest.approx(within_allowance(1.1))


def test_sizes_are_known_by_the_names_of_blocks_alone(built):
    """FRONT_S, FRONT_M and FRONT_L without a text that names their piece."""

    def draw(document):
        for nth, size in enumerate("SML"):
            block(document, f"FRONT_{size}", sewn=False, mirror=False, grown=1.0 + 0.1 * nth)

    assert signed_area(built(draw).outline) == pytest.approx(within_allowance(1.1))
    with pytest.raises(UserError, match=r"no block 'FRONT' of size 'XL', only 'FRONT_S', "):
        built(draw, SET.replace('size = "M"', 'size = "XL"'))


def test_a_block_of_another_size_is_told(built):
    piece = built(lambda document: block(document, words=["PIECE NAME: FRONT", "SIZE: L"]))
    assert "its block 'FRONT' says that it is of size 'L', not 'M'" in piece.notes
    piece = built(lambda document: block(document, words=["PIECE NAME: FRONT", "SIZE: m"]))
    assert not any("of size" in note for note in piece.notes)


@pytest.mark.parametrize(("at", "beside"), [(120, 0), (110, 0), (115, 0), (85, 25), (124, 4)])
def test_a_notch_that_lies_beside_its_edge_is_told(built, at, beside):
    """The boundary is at 120, the sew line at 110: a notch is at either, or between."""

    def draw(document):
        block(document)
        document.blocks.get("FRONT").add_point((at, 100, 5), {"layer": "4"}).dxf.angle = 180.0

    piece = built(draw)
    assert [(notch.edge, notch.along) for notch in piece.notches] == [("side", 100.0)]
    told = f"notch at x {at}.0, y 100.0 lies {beside}.0 mm beside 'side' and its allowance"
    assert any(told in note for note in piece.notes) == bool(beside)


def within_allowance(grown: float) -> float:
    """Return the area within an allowance of 12.7 mm (half an inch), the default."""
    return (120 * grown - 25.4) * (235 * grown - 25.4)


def test_a_boundary_without_a_sewing_line_is_cut_unless_the_set_file_says_that_it_is_sewn(built):
    """ASTM D6673: layer 1 is the piece boundary, 14 the sew line."""
    piece = built(lambda document: block(document, sewn=False, mirror=False))
    assert signed_area(piece.outline) == pytest.approx(within_allowance(1.0))
    assert any('if it is the stitching line, write outline = "stitching"' in n for n in piece.notes)
    sewn = SET + 'outline = "stitching"\n'
    piece = built(lambda document: block(document, sewn=False, mirror=False), sewn)
    assert signed_area(piece.outline) == pytest.approx(120 * 235)
    assert not any("outline" in note for note in piece.notes)


@pytest.mark.parametrize("scales", [[(-1, 1)], [(1, -1), (-1, 1)], [(-1, -1)], [(1, 1), (-1, 1)]])
def test_a_block_that_is_always_inserted_mirrored_is_read_turned_over(tmp_path, scales):
    """A piece with its only slanted side on the right has it on the left once turned over."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    made = document.blocks.new("CUFF")
    made.add_polyline2d([(0, 0), (90, 0), (60, 40), (0, 40)], close=True, dxfattribs={"layer": "1"})
    made.add_point((30, 0, 5), {"layer": "4", "angle": 60})
    for x, y in scales:
        document.modelspace().add_blockref("CUFF", (0, 0), {"xscale": x, "yscale": y})
    document.saveas(tmp_path / "a.dxf")
    drawing = read(tmp_path / "a.dxf", {"block": "CUFF"})
    turned = all(x * y < 0 for x, y in scales)  # the determinant of the INSERT's matrix
    (outline,) = [s for s in drawing.shapes if s.role is Role.OUTLINE]
    (notch,) = [s for s in drawing.shapes if s.role is Role.NOTCH]
    assert sorted(outline.points[:, 0])[0] == (-90 if turned else 0)
    assert notch.points.tolist() == [[-30 if turned else 30, 0]]
    assert notch.angle == (120 if turned else 60)
    assert any("mirrored" in note for note in drawing.notes) == turned


@pytest.mark.parametrize(("scale", "told"), [(1, False), (2, True), (0.5, True)])
def test_a_block_inserted_at_another_scale_is_noted(tmp_path, scale, told):
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    made = document.blocks.new("CUFF")
    made.add_polyline2d([(0, 0), (90, 0), (60, 40), (0, 40)], close=True, dxfattribs={"layer": "1"})
    document.modelspace().add_blockref("CUFF", (0, 0), {"xscale": scale, "yscale": scale})
    document.saveas(tmp_path / "a.dxf")
    drawing = read(tmp_path / "a.dxf", {"block": "CUFF"})
    assert np.ptp(drawing.shapes[0].points[:, 0]) == pytest.approx(90.0 * scale)
    assert any(f"at scale {scale:g}" in note for note in drawing.notes) == told


def test_without_a_size_it_asks(built):
    with pytest.raises(UserError, match=r"3 blocks are called 'FRONT': 'B0', 'B1', 'B2'"):
        built(sizes, SET.replace('size = "M"\n', ""))


def test_an_inserted_block_has_the_scale_that_it_is_inserted_at(tmp_path):
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    block(document, sewn=False, mirror=False)
    document.modelspace().add_blockref("FRONT", (50, 60), {"xscale": 2.5, "yscale": 2.5})
    document.saveas(tmp_path / "a.dxf")
    (shape,) = [s for s in read(tmp_path / "a.dxf", {"block": "FRONT"}).shapes
                if s.role is Role.OUTLINE]  # fmt: skip
    assert np.ptp(shape.points, axis=0) == pytest.approx([300.0, 587.5])
    document.modelspace().add_blockref("FRONT", (0, 0))
    document.saveas(tmp_path / "a.dxf")
    with pytest.raises(UserError, match=r"inserted at several scales: 1, 2\.5"):
        read(tmp_path / "a.dxf", {"block": "FRONT"})


ELL = [(40, 0), (260, 0), (260, 230), (0, 230), (0, 40), (40, 40)]  # one box corner
SLOT = [(0, 0), (88, 0), (88, 60), (112, 60), (112, 0), (200, 0), (200, 100), (0, 100)]
ARROW = [(0, 0), (100, 40), (200, 0), (120, 180)]  # an inner corner of 44 degrees
STEPS = [(0, 0), (300, 0), (300, 30), (260, 30), (260, 70), (220, 70), (220, 200), (0, 200)]


@pytest.mark.parametrize(
    ("sewn", "wide"),
    [(ELL, 10.0), (ELL, 30.0), (SLOT, 10.0), (ARROW, 12.0), (STEPS, 12.7), (STEPS, 25.0)],
)
def test_an_allowance_is_measured_beside_inner_corners(built, sewn, wide):
    """The cutting line is shapely's: an even buffer with mitres."""
    cut = Polygon(sewn).buffer(wide, join_style="mitre", mitre_limit=2.5)

    def draw(document):
        made = document.blocks.new("FRONT")
        for line, layer in ((list(cut.exterior.coords)[:-1], "1"), (sewn, "14")):
            made.add_polyline2d(line, close=True, dxfattribs={"layer": layer})

    text = SET.replace('edges = ["hem", "side", "top", "centre"]\n', "").replace(
        ", on-fold = true", ""
    )
    piece = built(draw, text)
    assert [e.allowance for e in piece.edges] == [pytest.approx((wide, wide), abs=0.02)] * len(sewn)
    assert [note for note in piece.notes if "sewing line" not in note] == []


def test_each_edge_of_a_box_corner_keeps_its_own_allowance(built):
    """15 and 5 mm at the box corner, the rest 10: the cutting line by hand."""
    cut = [(35, -10), (270, -10), (270, 240), (-10, 240), (-10, 25), (35, 25)]

    def draw(document):
        made = document.blocks.new("FRONT")
        for line, layer in ((cut, "1"), (ELL, "14")):
            made.add_polyline2d(line, close=True, dxfattribs={"layer": layer})

    text = SET.replace('edges = ["hem", "side", "top", "centre"]\n', "").replace(
        ", on-fold = true", ""
    )
    piece = built(draw, text)
    assert [edge.allowance[0] for edge in piece.edges] == [10.0] * 4 + [15.0, 5.0]
    assert [note for note in piece.notes if "sewing line" not in note] == []


def test_a_v_that_is_not_square_to_its_edge_is_a_v(built):
    """Straight down into an edge that falls by 3 in 10, as where an allowance is cut off.

    Its sides, 2 across and 5 up, meet the edge after t = 5 / (5 + 0.6) and 5 / (5 - 0.6) of that.
    """
    right, left = (50 + 2 * 5 / 5.6, 60 + 5 * 5 / 5.6), (50 - 2 * 5 / 4.4, 60 + 5 * 5 / 4.4)
    ring = [(0, 0), (100, 0), (100, 50), right, (50, 60), left, (0, 80)]

    def draw(document):
        made = document.blocks.new("FRONT")
        made.add_polyline2d(ring, close=True, dxfattribs={"layer": "1"})
        record = made.add_point((50, 65, 5), {"layer": "4"})
        record.dxf.angle = 270.0

    piece = built(draw, SET + 'outline = "stitching"\nallowance = 0\n')
    assert [(n.edge, n.style.kind.value) for n in piece.notches] == [("top", "V")]
    assert signed_area(piece.outline) == pytest.approx(100 * 65, abs=0.5)
