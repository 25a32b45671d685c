"""What a DXF must not lose: corners, bias, smooth joins, parts of a split piece; and its proof.

Layers: ASTM D6673-10: 2 turn points, 4 and 80 to 83 notches, 6 mirror line, 7 grain line, 14 sew
line. The pieces read again are compared with those written, and the cards made of both; the damage
is done to the file by ezdxf.
"""

import io

import ezdxf
import numpy as np
import pytest
from plotout_readback import plotout_interpreters
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon

from plotout import job
from plotout.finish import finish
from plotout.finish.derive import all_pieces
from plotout.finish.prepare import ready
from plotout.proof.described import described_wrongly

SET = """[set]
name = "Waders"
style = "W-2"
[defaults]
allowance = "11 mm"

[[piece]]
name = "Leg"
points = [[10, 0], [190, 0], [230, 300], [235, 420], [215, 640], [130, 640], [0, 600], [0, 300]]
edges = ["hem", "side", "thigh", "hip", "waist", "rise", "seat", "inseam"]
grain = { from = [100, 60], to = [140, 500] }
bias = true
one-way = true
cut = [{ cloth = "self", count = 1, pair = true }]
notch = [{ edge = "side", at = "50%" }, { edge = "seat high", at = "80%", count = 2, kind = "V" }]
[piece.edge.hem]
allowance = "45 mm"
corner = "turned back"
[piece.edge.waist]
allowance = "20 mm"
corner = "square"
[piece.edge.rise]
corner = "blunt"
[[piece.divide]]
edge = "seat"
at = "100 mm"
into = ["seat low", "seat high"]

[[piece]]
name = "Front"
points = [[0, 0], [150, 0], [160, 1400], [70, 1450], [0, 1440]]
edges = ["hem", "side", "shoulder", "neck", "centre"]
grain = { along = "centre", inset = "60 mm" }
fold = "centre"
cut = [{ cloth = "self", on-fold = true }]
notch = [{ edge = "side", at = "300 mm", count = 3 }, { edge = "side", at = "1300 mm", kind = "U" }]
[piece.edge.hem]
allowance = "30 mm"
corner = "turned back"
[[piece.split]]
line = [[0, 700], [200, 720]]
underlap = "25 mm"
"""
PIECE = '[[piece]]\nname = "{0}"\nfrom = {{ file = "w.dxf", block = "{0}" }}\n'


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The plan, and the set read from its DXF, its cards but the contents card."""
    folder = tmp_path_factory.mktemp("same")
    (folder / "set.toml").write_text(SET)
    plan = job.plan(job.Request(folder / "set.toml", job.load_machine("dxf-file"), seconds=0.0))
    (result,) = plan.results
    assert not result.faults
    (folder / "w.dxf").write_bytes(result.data)
    blocks = [block.name for block in opened(result.data).blocks if block.name[0] == "0"]
    text = '[set]\nname = "A"\nstyle = "A"\n'
    (folder / "again.toml").write_text(text + "".join(map(PIECE.format, blocks[:3])))
    return plan, result, job.read_set(folder / "again.toml")


@pytest.fixture(scope="module")
def bare(made):
    """The file without its lettering and its contents card, to be read and damaged often."""
    document = opened(made[1].data)
    for block in document.blocks:
        for entity in list(block) if block.name[0] == "0" else ():
            if entity.dxf.layer in ("1", "8", "15"):
                block.delete_entity(entity)
    return written(document)


def written(document):
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


def opened(data):
    return ezdxf.read(io.StringIO(data.decode()))


def edges_of(piece):
    """Length, allowances and corner of every edge that has an allowance, in order."""
    return [
        (round(LineString(edge.points).length, 1), edge.allowance, edge.corner.value)
        for edge in piece.edges
    ]


def test_corners_bias_and_smooth_joins_come_back(made):
    plan, _, again = made
    leg, read = ready(all_pieces(plan.pattern_set)[0]), again.pieces[0]
    assert edges_of(read) == edges_of(leg)  # nine, of which two meet without a corner
    assert (read.bias, read.one_way) == (True, True)
    for piece in (leg, read):
        (start, end) = piece.grain
        assert np.degrees(np.arctan2(*(end - start)[::-1])) == pytest.approx(90.0)
    found = [(notch.count, notch.style.kind.value, round(notch.along, 1)) for notch in read.notches]
    assert found == [(1, "slit", 151.3), (2, "V", 160.0)]


def test_others_read_the_threads_of_a_piece_on_the_bias_as_its_grain(made):
    """A laying program knows nothing of our bias: layer 7 must lie along the cloth's length."""
    block = next(b for b in opened(made[1].data).blocks if b.name.startswith("001"))
    (grain,) = [entity for entity in block if entity.dxf.layer == "7"]
    step = grain.dxf.end - grain.dxf.start
    assert np.degrees(np.arctan2(step.y, step.x)) % 180.0 == pytest.approx(135.0)


@pytest.mark.parametrize("index", [0, 1, 2])
def test_a_card_of_what_is_read_is_the_card_that_was_written(made, index):
    plan, _, again = made
    meant, read = (Polygon(cards[index].outline) for cards in (plan.cards, finish(again)))
    low = np.subtract(meant.bounds[:2], read.bounds[:2])
    assert meant.symmetric_difference(translate(read, *low)).area < 0.01


def test_a_part_is_sewn_along_its_edges_and_not_along_its_join(made):
    _, _, again = made
    upper, lower = again.pieces[1:]
    assert edges_of(upper)[0] == (155.7, (0.0, 0.0), "mitre")
    assert edges_of(upper)[1][1] == (11.0, 11.0)
    assert edges_of(lower)[0] == (150.0, (30.0, 30.0), "turned back")
    assert (upper.fold, lower.fold) == ("5", "4")
    assert [(notch.edge, notch.count) for notch in lower.notches] == [("2", 3)]


def first(document, layer, kind):
    return next(
        (block, entity)
        for block in document.blocks
        for entity in block.query(kind)
        if entity.dxf.layer == layer and block.name[0] == "0"
    )


def erase(layer, kind):
    def change(document):
        block, entity = first(document, layer, kind)
        block.delete_entity(entity)

    return change


def shift(layer):
    def change(document):
        _, point = first(document, layer, "POINT")
        point.dxf.location += (0.1, 0.0, 0.0)

    return change


def put(where, **values):
    def change(document):
        _, point = first(document, where, "POINT")
        for name, value in values.items():
            point.dxf.set(name, value)

    return change


def bent(document):
    _, line = first(document, "14", "LWPOLYLINE")
    points = line.get_points("xy")
    line.set_points([*points[:3], (points[3][0] + 0.1, points[3][1]), *points[4:]], format="xy")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (erase("14", "LWPOLYLINE"), "its sew line at"),
        (bent, "its sew line at"),
        (erase("6", "LINE"), "its mirror line at"),
        (erase("7", "LINE"), "its grain line at"),
        (erase("4", "POINT"), "its notch at"),
        (shift("4"), "its notch at"),
        (put("4", layer="82"), "its notch at"),
        (put("4", angle=10.0), "its notch at"),
        (erase("2", "POINT"), "its turn point at"),
        (shift("2"), "its turn point at"),
    ],
)
def test_the_proof_misses_what_a_file_says_wrongly_of_a_piece(made, bare, change, told):
    _, result, _ = made
    (interpreter,) = (one for one in plotout_interpreters() if "dxf" in one.drivers)

    def faults(data):
        reading = interpreter.read(data, result.program.machine)
        return list(described_wrongly(result.program, result.sheet, reading.described))

    document = opened(bare)
    change(document)
    found = faults(written(document))
    assert any(told in fault and fault.endswith("is missing") for fault in found)
    assert all(" is missing" in fault or "belongs to no card" in fault for fault in found)
    assert not faults(bare)
