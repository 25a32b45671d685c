"""A piece written as DXF is the same piece when it is read again, by plotout and by ezdxf alone.

Layers: ASTM D6673-10: 1 boundary, 4 notches (V, slit), 80 T, 81 castle, 82 check, 83 U, 6 mirror
line, 13 drill holes, 14 sew line. That a notch is a POINT with its depth as z and its direction as
angle is from memory.
"""

import io

import ezdxf
import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from plotout import job

KINDS = ("slit", "V", "T", "castle", "check", "U")
PLACES = {kind: 30.0 + 35.0 * nth for nth, kind in enumerate(KINDS)}
DEEP = 5.0
SET = """[set]
name = "Smock"
style = "SM-01"
[defaults]
allowance = "12 mm"
notch = { depth = "5 mm", width = "4 mm" }
[[piece]]
name = "Front"
points = [[0, 0], [150, 0], [160, 260], [70, 300], [0, 300]]
edges = ["hem", "side", "shoulder", "neck", "centre"]
grain = { along = "centre", inset = "60 mm" }
fold = "centre"
cut = [{ cloth = "self", on-fold = true }]
notch = [%s]
drill = [{ at = [80, 100] }]
[piece.edge.hem]
allowance = "30 mm"
"""
AGAIN = """[set]
name = "Smock"
style = "SM-01"
[[piece]]
name = "Front"
from = { file = "front.dxf", block = "%s" }
edges = ["hem", "side", "shoulder", "neck", "centre"]
line = "cutting"
cut = [{ cloth = "self", on-fold = true }]
"""


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("round")
    notches = ", ".join(
        f'{{ edge = "side", at = "{at} mm", kind = "{kind}" }}' for kind, at in PLACES.items()
    )
    (folder / "set.toml").write_text(SET % notches)
    read = job.open_set(folder / "set.toml")
    plan = job.plan(job.Request(read, job.load_machine("dxf-file"), seconds=0.0))
    (result,) = plan.results
    assert not result.faults
    (folder / "front.dxf").write_bytes(result.data)
    document = ezdxf.read(io.StringIO(result.data.decode()))
    block = next(b for b in document.blocks if b.name.startswith("001"))
    return folder, block, read.in_size("").piece("Front")


def on(block, layer, kind):
    return [entity for entity in block.query(kind) if entity.dxf.layer == layer]


def test_ezdxf_finds_a_record_of_each_notch_on_its_kinds_layer(written):
    _, block, piece = written
    layers = {"slit": "4", "V": "4", "T": "80", "castle": "81", "check": "82", "U": "83"}
    side = piece.edge("side").points
    along = (side[-1] - side[0]) / np.hypot(*(side[-1] - side[0]))
    outward = np.array([along[1], -along[0]])
    low = np.array(on(block, "14", "LWPOLYLINE")[0].get_points("xy")).min(axis=0)
    for kind, at in PLACES.items():
        mouth = side[0] + along * at + outward * 12.0 - piece.outline.min(axis=0) + low
        found = [p for p in on(block, layers[kind], "POINT")
                 if np.hypot(*(np.array(p.dxf.location)[:2] - mouth)) < 0.01]  # fmt: skip
        assert len(found) == 1, kind
        assert found[0].dxf.location.z == pytest.approx(DEEP)
        angle = np.radians(found[0].dxf.angle)
        assert np.array([np.cos(angle), np.sin(angle)]) == pytest.approx(-outward, abs=1e-6)


def test_ezdxf_finds_one_mirror_line_one_sew_line_and_one_drill_hole(written):
    _, block, piece = written
    (mirror,) = [entity for entity in block if entity.dxf.layer == "6"]
    assert mirror.dxftype() == "LINE"
    assert mirror.dxf.start.distance(mirror.dxf.end) == pytest.approx(300.0)
    (sewn,) = [entity for entity in block if entity.dxf.layer == "14"]
    area = Polygon(sewn.get_points("xy")).area
    assert area == pytest.approx(abs(Polygon(piece.outline).area))
    assert len([entity for entity in block if entity.dxf.layer == "13"]) == 1


def test_plotout_reads_the_same_piece(written):
    folder, block, piece = written
    (folder / "again.toml").write_text(AGAIN % block.name)
    again = job.read_set(folder / "again.toml").piece("Front")
    assert Polygon(again.outline).area == pytest.approx(Polygon(piece.outline).area, rel=1e-6)
    assert {edge.name: edge.allowance for edge in again.edges} == {
        "hem": (30.0, 30.0), "side": (12.0, 12.0), "shoulder": (12.0, 12.0),
        "neck": (12.0, 12.0), "centre": (0.0, 0.0),
    }  # fmt: skip
    assert again.fold == "centre"
    assert len(again.drills) == 1
    found = {
        notch.style.kind.value: notch.along
        for notch in again.notches
        if notch.edge == "side" and 20.0 < notch.along < 250.0
    }
    assert found == pytest.approx(PLACES, abs=0.05)
    assert len(again.notches) == len(PLACES)  # none of those that show where seams end
    assert any("show the allowance at the ends of seams" in note for note in again.notes)
    for edge in piece.edges:
        assert LineString(again.edge(edge.name).points).length == pytest.approx(
            LineString(edge.points).length, abs=0.01
        )
