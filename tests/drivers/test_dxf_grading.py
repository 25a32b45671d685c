"""Grade points in DXF: on the layers of ASTM D6673, read by ezdxf."""

import io

import ezdxf
import numpy as np
import pytest

from plotout import job

SET = """[set]
name = "Apron"
style = "AP-1"
[defaults]
allowance = 10
[sizes]
base = "M"
range = ["S", "M", "L"]
[[piece]]
name = "Bib"
points = [[0, 0], [200, 0], [200, 300], [0, 300]]
edges = ["foot", "right", "top", "left"]
grain = { along = "left", inset = "60 mm" }
cut = [{ cloth = "self" }]
[[piece.grade]]
corner = ["foot", "right"]
x = 5
[[piece.grade]]
corner = ["right", "top"]
x = 5
y = 8
[[piece.grade]]
corner = ["top", "left"]
y = 8
[[piece.grade]]
edge = "right"
at = "50 %"
x = ["-5 mm", 0, "5 mm"]
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    path = tmp_path_factory.mktemp("graded") / "set.toml"
    path.write_text(SET)
    machine = job.load_machine("dxf-file")
    read = job.open_set(path)
    requests = [job.Request(read, machine, sizes=(size,), seconds=0.0) for size in "ML"]
    return dict(zip("ML", job.plan_each(requests), strict=True))


def block_of(made):
    (result,) = made.results
    assert not result.faults
    document = ezdxf.read(io.StringIO(result.data.decode()))
    return next(block for block in document.blocks if block.name.startswith("001_bib"))


def test_points_lie_on_the_boundary_with_the_numbers_of_their_rules(made):
    block = block_of(made["M"])
    (boundary,) = block.query('LWPOLYLINE POLYLINE[layer=="1"]')
    vertices = np.array([vertex.dxf.location.vec2 for vertex in boundary.vertices])
    (sewn,) = block.query('LWPOLYLINE[layer=="14"]')
    corners = np.array(sewn.get_points("xy"))  # which are turn points without a rule
    points = {
        layer: [point.dxf.location.vec2 for point in block.query(f'POINT[layer=="{layer}"]')]
        for layer in "23"
    }
    own = [np.hypot(*(corners - at).T).min() < 1e-3 for at in points["2"]]
    assert (own.count(True), own.count(False)) == (4, 3)
    points["2"] = [at for at, sewn in zip(points["2"], own, strict=True) if not sewn]
    assert len(points["3"]) == 1
    for at in points["2"]:
        assert np.hypot(*(vertices - at).T).min() < 1e-3
    assert points["3"][0].isclose((210, 150), abs_tol=1e-3)  # 200, and the allowance
    told = {tuple(np.round(text.dxf.insert.vec2, 2)): text.dxf.text
            for text in block.query("TEXT") if text.dxf.text.startswith("# ")}  # fmt: skip
    assert len(told) == 4
    assert told[210, -10] == told[210, 150]  # 5 mm a step to the right, written in two ways
    assert len(set(told.values())) == 3
    (reference,) = block.query('LINE[layer=="5"]')
    (grain,) = block.query('LINE[layer=="7"]')
    assert {reference.dxf.start, reference.dxf.end} == {grain.dxf.start, grain.dxf.end}


def test_a_size_that_is_grown_already_has_no_rules(made):
    block = block_of(made["L"])
    assert not block.query('*[layer=="3" | layer=="5"]')
    assert not [text for text in block.query("TEXT") if text.dxf.text.startswith("# ")]
    assert "SIZE: L" in [text.dxf.text for text in block.query("TEXT")]
