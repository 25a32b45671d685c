"""What a DXF of ASTM D6673 says of a piece: sewing and mirror lines, sizes, inserted scales.

The files are written by ezdxf; lengths and areas by hand.
"""

import ezdxf
import numpy as np
import pytest
from plotout_dxf.read import read

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
    assert signed_area(piece.outline) == pytest.approx(120 * 235)
    assert [line.kind for line in piece.lines] == ["internal"]


def sizes(document, told=True):
    for nth, size in enumerate("SML"):
        words = ["PIECE NAME: FRONT", *([f"SIZE: {size}"] if told else [])]
        name = f"B{nth}" if told else f"FRONT_{size}"
        block(document, name, sewn=False, mirror=False, grown=1.0 + 0.1 * nth, words=words)


@pytest.mark.parametrize("told", [True, False])
def test_of_several_sizes_the_set_s_own_is_taken(built, told):
    piece = built(lambda document: sizes(document, told))
    assert signed_area(piece.outline) == pytest.approx(120 * 235 * 1.1**2)


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
