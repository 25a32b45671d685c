"""What a DXF must not lose where edges hardly turn: allowances cut off, slits that stand far away.

Pieces are written and read again; the cards made of both are compared, with shapely.
"""

import numpy as np
import pytest
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon

from plotout import job
from plotout.finish import finish

SET = """[set]
name = "Sling"
style = "S-1"

[[piece]]
name = "Both ends"
points = [[510, 267.5], [372.8, 429.2], [189.2, 478.2], [47.1, 298.4], \
[244.6, 163.4], [340.6, 179.4]]
edges = ["a", "b", "c", "d", "e", "f"]
grain = { from = [280, 250], to = [280, 400] }
cut = [{ cloth = "self", count = 1 }]
notch = [{ edge = "e", at = "30.3 mm", count = 2, kind = "V" }, { edge = "c", at = "50%" }]
edge = { a = { allowance = "10 mm" }, b = { allowance = "40 mm" }, c = { allowance = "40 mm" }, \
d = { allowance = "10 mm" }, e = { allowance = "40 mm" }, f = { allowance = "20 mm" } }

[[piece]]
name = "V aslant"
points = [[499.3, 296.5], [443.9, 369.5], [368.5, 395.9], [303.7, 384.5], \
[223.8, 311.5], [271.8, 89.7]]
edges = ["a", "b", "c", "d", "e", "f"]
grain = { from = [350, 200], to = [350, 300] }
cut = [{ cloth = "self", count = 1 }]
notch = [{ edge = "b", at = "60.3 mm", kind = "V" }]
edge = { a = { allowance = "12.7 mm" }, b = { allowance = "20 mm" }, c = { allowance = 0 }, \
d = { allowance = "6 mm" }, e = { allowance = "6 mm" }, f = { allowance = "20 mm" } }

[[piece]]
name = "Far slits"
points = [[626.8, 169.6], [520.5, 278.5], [406.1, 328], [161.4, 135.9], \
[253.6, 13.3], [612.8, -19.1]]
edges = ["a", "b", "c", "d", "e", "f"]
grain = { from = [400, 100], to = [400, 200] }
cut = [{ cloth = "self", count = 1 }]
notch = [{ edge = "b", at = "90 mm", kind = "U" }]
edge = { a = { allowance = "40 mm" }, b = { allowance = "40 mm" }, c = { allowance = "6 mm" }, \
d = { allowance = "6 mm" }, e = { allowance = "6 mm" }, f = { allowance = "12.7 mm" } }

[[piece]]
name = "Slight corner"
points = [[0, 0], [300, 0], [300, 200], [160, 230], [0, 225]]
edges = ["a", "b", "c", "d", "e"]
allowance = "15 mm"
grain = { along = "b" }
cut = [{ cloth = "self", count = 1 }]
"""
PIECE = '[[piece]]\nname = "{0}"\nfrom = {{ file = "w.dxf", block = "{0}" }}\n'
PIECES = range(SET.count("[[piece]]"))


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The set, its cards, and the set read from its DXF."""
    folder = tmp_path_factory.mktemp("cut-off")
    (folder / "set.toml").write_text(SET)
    plan = job.plan(job.Request(folder / "set.toml", job.load_machine("dxf-file"), seconds=0.0))
    (folder / "w.dxf").write_bytes(plan.results[0].data)
    blocks = [f"{card.number:03d}_{card.id}" for card in plan.cards[: len(PIECES)]]
    text = '[set]\nname = "A"\nstyle = "A"\n'
    (folder / "again.toml").write_text(text + "".join(map(PIECE.format, blocks)))
    return job.read_set(folder / "set.toml"), plan.cards, job.read_set(folder / "again.toml")


@pytest.mark.parametrize("index", PIECES)
def test_allowances_come_back(made, index):
    pieces = made[0].pieces[index], made[2].pieces[index]
    meant, read = (
        np.array(sorted((LineString(e.points).length, *e.allowance) for e in piece.edges))
        for piece in pieces
    )
    assert read == pytest.approx(meant, abs=0.02)


@pytest.mark.parametrize("index", PIECES)
def test_no_slit_of_a_seam_s_end_becomes_a_match_notch(made, index):
    meant, read = (
        sorted((notch.style.kind, notch.count, round(notch.along, 1)) for notch in piece.notches)
        for piece in (made[0].pieces[index], made[2].pieces[index])
    )
    assert read == meant


@pytest.mark.parametrize("index", PIECES)
def test_the_card_comes_back(made, index):
    meant, read = (Polygon(cards[index].outline) for cards in (made[1], finish(made[2])))
    low = np.subtract(meant.bounds[:2], read.bounds[:2])
    assert meant.symmetric_difference(translate(read, *low)).area < 0.5
