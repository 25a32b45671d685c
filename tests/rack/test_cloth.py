"""How much cloth: against the area bound, and by shapely, which knows nothing of laying."""

import json
from dataclasses import replace
from itertools import combinations

import pytest
import shapely
from click.testing import CliRunner

from plotout import job
from plotout.cli import plotout
from plotout.errors import UserError
from plotout.rack.cloth import Cloth, cloths, need


@pytest.fixture(scope="module")
def smock(request):
    root = request.config.rootpath
    return job.read_set(root / "samples" / "beekeepers-smock" / "set.toml")


def _apart(found):
    shapes = [shapely.Polygon(each.outline) for each in found.sheet.placed]
    width = found.cloth.width / (2 if found.cloth.folded else 1)
    for shape in shapes:
        low_x, low_y, _, high_y = shape.bounds
        assert low_x >= -0.01
        assert low_y >= -0.01
        assert high_y <= width + 0.01
    for one, other in combinations(shapes, 2):
        assert one.distance(other) >= found.cloth.gap - 0.02


@pytest.mark.parametrize("how", [{}, {"nap": True}, {"folded": True}, {"lean": 2.0}])
def test_pieces_lie_apart_and_the_area_bounds_the_length(smock, how):
    found = need(smock, Cloth("self", 1400.0, **how), seconds=0)
    _apart(found)
    assert found.length >= found.bound
    assert found.used == pytest.approx(100 * found.bound / found.length)


def test_every_piece_is_there_as_often_as_it_is_cut(smock):
    """Counted by hand from the set file: body, sleeve, gusset ... in self: 19; fusing: 3."""
    assert cloths(smock) == ("self", "fusing")
    assert need(smock, Cloth("self", 1400.0), seconds=0).pieces == 19
    assert need(smock, Cloth("fusing", 900.0), seconds=0).pieces == 3


def test_pairs_are_mirrored(smock):
    found = need(smock, Cloth("self", 1400.0, nap=True), seconds=0)
    one, two = (each for each in found.sheet.placed if each.card.piece == "Body")
    mirrored = shapely.Polygon(one.card.outline * [-1.0, 1.0])
    assert mirrored.symmetric_difference(shapely.Polygon(two.card.outline)).area < 0.01


def test_narrow_loom_cloth_is_pieced(smock):
    found = need(smock, Cloth("self", 360.0), seconds=0)
    assert {"Sleeve", "Neck band"} <= set(found.pieced)
    _apart(found)


def test_repeat_puts_every_piece_at_the_same_place_of_it(smock):
    found = need(smock, Cloth("self", 1400.0, repeat=(60.0, 40.0)), seconds=0)
    _apart(found)
    for each in found.sheet.placed:
        low = each.outline.min(axis=0)
        assert abs(low[0] / 60.0 - round(low[0] / 60.0)) < 1e-6
        assert abs(low[1] / 40.0 - round(low[1] / 40.0)) < 1e-6


def test_shrinkage_grows_the_piece_not_the_lay(smock):
    plain = need(smock, Cloth("fusing", 900.0), seconds=0)
    grown = need(smock, Cloth("fusing", 900.0, shrinkage=(5.0, 2.0)), seconds=0)
    assert grown.bound == pytest.approx(plain.bound * 1.05 * 1.02, rel=1e-6)


def test_price_is_of_a_metre(smock):
    found = need(smock, Cloth("fusing", 900.0, price=8.0), seconds=0)
    assert found.cost == pytest.approx(found.length / 1000 * 8.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": "silk"}, "nothing of this set"),
        ({"width": 3.6}, "no cloth's"),
        ({"shrinkage": (70.0, 0.0)}, "slip"),
        ({"repeat": (-1.0, 0.0)}, "negative"),
        ({"lean": 40.0}, "no tolerance"),
    ],
)
def test_what_is_no_cloth_is_refused(smock, change, words):
    with pytest.raises(UserError, match=words):
        need(smock, replace(Cloth("self", 1400.0), **change), seconds=0)


def test_widths_are_compared_in_one_table(request, tmp_path):
    sample = str(request.config.rootpath / "samples" / "beekeepers-smock" / "set.toml")
    words = ["cloth", sample, "--cloth", "fusing", "--width", "90 cm", "--width", "36 cm",
             "--price", "8", "--seconds", "0"]  # fmt: skip
    table = CliRunner().invoke(plotout, [*words, "--out", str(tmp_path)], catch_exceptions=False)
    assert table.exit_code == 0
    rows = [line.split() for line in table.output.splitlines() if "fusing" in line]
    assert [row[1] for row in rows] == ["900", "360"]
    assert {path.name for path in tmp_path.glob("*.png")} == {
        "fusing-900mm.png", "fusing-360mm.png"
    }  # fmt: skip
    told = json.loads(CliRunner().invoke(plotout, [*words, "--json"]).output)
    for each in told:
        assert each["cost"] == pytest.approx(each["length_mm"] / 1000 * 8.0, abs=0.01)
        assert each["least_by_area_mm"] <= each["length_mm"]


def test_every_name_stands_within_its_piece(smock):
    found = need(smock, Cloth("fusing", 900.0), seconds=0)
    shapes = [shapely.Polygon(each.outline) for each in found.sheet.placed]
    assert found.sheet.marks
    for stroke in found.sheet.marks:
        letter = shapely.LineString(stroke.points)
        assert any(shape.contains(letter) for shape in shapes)
