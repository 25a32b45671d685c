"""How much cloth: against the area bound, and by shapely, which knows nothing of laying."""

import json
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from shapely import affinity

from plotout import job
from plotout.cli import plotout
from plotout.cli.cloth_command import _metres
from plotout.errors import UserError
from plotout.finish.derive import cut_pieces
from plotout.pattern.model import (
    Area,
    Cut,
    Derivation,
    Derive,
    Edge,
    InternalLine,
    PatternSet,
    Piece,
    Seam,
    Side,
)
from plotout.proof.card_names import card_names
from plotout.rack.cloth import cloths, need
from plotout.rack.cloth_pieces import Cloth
from plotout.rack.must import by_cloth


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
    """Counted by hand from the set file: body, sleeve, gusset ... in self: 19; fusing: 5, two of
    them the area that is marked on the pocket."""
    assert cloths(smock) == ("self", "fusing")
    assert need(smock, Cloth("self", 1400.0), seconds=0).pieces == 19
    assert need(smock, Cloth("fusing", 900.0), seconds=0).pieces == 5


def test_pairs_are_mirrored(smock):
    found = need(smock, Cloth("self", 1400.0, nap=True), seconds=0)
    one, two = (each for each in found.sheet.placed if each.card.piece == "Body")
    mirrored = shapely.Polygon(one.card.outline * [-1.0, 1.0])
    assert mirrored.symmetric_difference(shapely.Polygon(two.card.outline)).area < 0.01


def test_narrow_loom_cloth_is_pieced(smock):
    found = need(smock, Cloth("self", 360.0), seconds=0)
    assert {"Sleeve", "Neck band"} <= set(found.pieced)
    _apart(found)


STRIPED = (InternalLine("stripe", np.array([[10.0, 37.0], [90.0, 37.0]]), "stripe"),
           InternalLine("plaid", np.array([[23.0, 10.0], [23.0, 50.0]]), "plaid"))  # fmt: skip
UP = np.array([[50.0, 10.0], [50.0, 50.0]])


def _square(name, grain=UP, wide=100.0, tall=60.0, **more):
    corners = np.array([[0, 0], [wide, 0], [wide, tall], [0, tall], [0, 0]], float)
    edges = [
        Edge(n, corners[k : k + 2], (0.0, 0.0)) for k, n in enumerate(("foot", "r", "top", "l"))
    ]
    more.setdefault("cuts", (Cut("self", 4, pair=True),))
    return Piece(name, tuple(edges), grain=grain, **more)


def _set(*pieces):
    return PatternSet("Smock", "BK-02", "M", "2026-04-11", pieces)


@pytest.mark.parametrize("nap", [False, True])
def test_every_piece_s_own_lines_lie_at_the_same_place_of_the_repeat(nap):
    """By shapely's affine maps of the drawn lines, turned and mirrored pieces among them."""
    odd = np.array([[10.0, 13.0], [80.0, 13.0]])
    lines = (InternalLine("stripe", odd, "stripe"), STRIPED[1])
    made = _set(_square("A", lines=STRIPED), _square("B", lines=lines))
    found = need(made, Cloth("self", 400.0, nap=nap, repeat=(60.0, 40.0)), seconds=0)
    assert not found.unmatched
    _apart(found)
    assert len(found.sheet.placed) == 16
    given = {"A": STRIPED, "B": lines}
    first: dict[int, float] = {}
    for each in found.sheet.placed:
        flip = -1.0 if "mirrored" in each.card.id else 1.0
        for line, step, axis in zip(given[each.card.piece], (60.0, 40.0), (0, 1), strict=True):
            own = affinity.scale(shapely.LineString(line.points), flip, 1.0, origin=(0.0, 0.0))
            own = affinity.rotate(own, each.angle, origin=(0.0, 0.0))
            place = affinity.translate(own, *each.shift).centroid.coords[0][axis] / step
            first.setdefault(axis, place if axis == 0 else 0.0)  # its length is cut off anywhere
            assert abs(place - first[axis] - round(place - first[axis])) < 1e-6
    angles = {round(each.angle) % 360 for each in found.sheet.placed}
    assert len(angles) == 1 if nap else angles <= {90, 270}


@pytest.mark.parametrize("nap", [False, True])
def test_matched_pieces_lie_as_near_to_each_other_as_their_repeat_allows(nap):
    """By hand: two of 420 mm beside each other, then two of 270. From their upper ends the lines
    lie at 273 and 199 mm, turned half round, so that the second row begins at 74 + 4 x 90 = 434.
    """
    made = _set(
        *(
            _square(name, UP, wide, tall, cuts=(Cut("self", 2),),
                    lines=(InternalLine("s", np.array([[0.0, at], [wide, at]]), "plaid"),))
            for name, wide, tall, at in (("A", 320.0, 420.0, 147.0), ("B", 220.0, 270.0, 71.0))
        )
    )  # fmt: skip
    found = need(made, Cloth("self", 700.0, nap=nap, repeat=(90.0, 0.0)), seconds=0)
    _apart(found)
    assert found.length == 434.0 + 270.0


@pytest.mark.parametrize("turn", [0.0, 90.0, 30.0])
@pytest.mark.parametrize(
    ("line", "repeat", "off"),
    [(20.0, 200.0, 0.0), (33.0, 13.0, 0.0), (33.0, 200.0, 13.0), (33.0, 24.0, 11.0)],
)
def test_stripes_that_cannot_meet_across_a_seam_are_told(line, repeat, off, turn):
    """By hand: bars 20 mm above A's foot and `line` mm above B's are `line - 20` mm apart, but for
    whole repeats. B is drawn turned, with its grain.
    """

    def turned(points):
        spin = np.radians(turn)
        sin, cos = np.sin(spin), np.cos(spin)
        return np.asarray(points, float) @ np.array([[cos, sin], [-sin, cos]])

    def bar(at):
        return InternalLine("stripe", np.array([[10.0, at], [90.0, at]]), "stripe")

    one, other = _square("A", lines=(bar(20.0),)), _square("B")
    edges = tuple(replace(edge, points=turned(edge.points)) for edge in other.edges)
    stripe = replace(bar(line), points=turned(bar(line).points))
    other = replace(other, edges=edges, grain=turned(UP), lines=(stripe,))
    sides = Side((("A", "r", False),), 1), Side((("B", "l", True),), 1)
    made = replace(_set(one, other), seams=(Seam("side", *sides),))
    found = need(made, Cloth("self", 900.0, repeat=(repeat, 0.0)), seconds=0).parted
    assert [round(each.off, 6) for each in found] == ([off] if off else [])
    level = Seam("across", Side((("A", "foot", False),), 1), Side((("B", "top", True),), 1))
    assert not need(replace(made, seams=(level,)), Cloth("self", 900.0, repeat=(repeat, 0.0)),
                    seconds=0).parted  # fmt: skip


@pytest.mark.parametrize("folded", [True, False])
@pytest.mark.parametrize("fold", ["l", "foot"])
@pytest.mark.parametrize("at", [0.0, 5.0, 20.0, 23.0, 40.0])
def test_stripes_that_cannot_match_on_both_halves_of_a_piece_on_the_fold_are_told(at, fold, folded):
    """By hand: a line `at` mm from the fold, and its mirror image, are twice that apart.

    On the fold of the cloth, at 0, the line itself must lie on a whole repeat of 40 mm, as the
    others' do. A fold across the grain can't lie there.
    """
    line = np.array([[at, 10.0], [at, 50.0]] if fold == "l" else [[10.0, at], [90.0, at]])
    lines = (InternalLine("plaid", line, "plaid"),)
    piece = _square("A", lines=lines, cuts=(Cut("self", on_fold=True),), fold=fold)
    cloth = Cloth("self", 800.0, folded=folded, repeat=(40.0, 40.0))
    found = need(_set(piece), cloth, seconds=0).uneven
    apart = at if folded and fold == "l" else 2.0 * at
    off = min(apart % 40.0, -apart % 40.0)
    assert found == ({"A": pytest.approx(off)} if off else {})


def test_pieces_without_a_line_are_not_called_matched(smock):
    found = need(smock, Cloth("self", 1400.0, repeat=(60.0, 40.0)), seconds=0)
    assert {"Body", "Pocket"} <= set(found.unmatched)
    half = need(_set(_square("A", lines=STRIPED[:1])), Cloth("self", 400.0, repeat=(60.0, 40.0)),
                seconds=0)  # fmt: skip
    assert half.unmatched == ("A",)
    none = need(_set(_square("A", lines=STRIPED[:1])), Cloth("self", 400.0, repeat=(60.0, 0.0)),
                seconds=0)  # fmt: skip
    assert none.unmatched == ()


@pytest.mark.parametrize("degrees", [90.0, 45.0, 30.0, -45.0, 200.0])
def test_a_piece_is_laid_by_its_grain(degrees):
    """Its grain must come to lie along the cloth, which runs along x."""
    way = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])
    grain = np.array([50.0, 30.0]) + np.array([[-20.0], [20.0]]) * way
    found = need(_set(_square("A", grain, cuts=(Cut("self"),))), Cloth("self", 400.0, nap=True),
                 seconds=0)  # fmt: skip
    (placed,) = found.sheet.placed
    there = shapely.Polygon(placed.outline)
    corners = np.array([[0, 0], [100, 0], [100, 60], [0, 60]], float)
    own = affinity.rotate(shapely.Polygon(corners), -degrees, origin=(0.0, 0.0))
    turns = [affinity.rotate(own, half, origin=(0.0, 0.0)) for half in (0.0, 180.0)]
    moves = [
        affinity.translate(t, *(np.array(there.centroid.coords[0]) - t.centroid.coords[0]))
        for t in turns
    ]
    assert min(there.symmetric_difference(each).area for each in moves) < 1e-3


def test_shrinkage_is_of_the_cloth_as_bought():
    """ISO 5077: of the length before. 1 / 0.95 m, less 5 %, is a metre again; the piece grows."""
    made = _set(_square("A", cuts=(Cut("fusing", 3),)))
    plain = need(made, Cloth("fusing", 900.0), seconds=0)
    grown = need(made, Cloth("fusing", 900.0, shrinkage=(5.0, 2.0)), seconds=0)
    assert grown.bound * 0.95 * 0.98 == pytest.approx(plain.bound, rel=1e-9)


def test_what_is_only_marked_is_cut_too():
    """A marked fusing and an area called fusing, by their areas; the half one is laid open."""
    plan = Derivation(Derive.FUSING, along=("top",), width=20.0, marked=True)
    band = np.array([[0, 0], [30, 0], [30, 60], [0, 60], [0, 0]], float)
    made = _set(
        _square("A", areas=(Area("fusing", band),), cuts=(Cut("self", 2, on_fold=True),), fold="l"),
        Piece("A top", (), cuts=(Cut("fusing"),), parent="A", derive=plan),
    )
    assert cloths(made) == ("self", "fusing")
    found = need(made, Cloth("fusing", 900.0), seconds=0)
    sizes = sorted(round(shapely.Polygon(each.outline).area) for each in found.sheet.placed)
    assert sizes == [100 * 20, 60 * 60, 60 * 60]
    rows = by_cloth(cut_pieces(made))["fusing"]
    assert [(name, many) for name, _, many in rows] == [("A fusing", 2), ("A top", 1)]


@pytest.mark.parametrize(
    ("how", "metres"),
    [(["--width", "900 mm"], "1.60"), (["--width", "907 mm", "--gap", "3 mm"], "1.61"),
     (["--width", "905 mm", "--gap", "3 mm"], "2.42"),
     (["--width", "930 mm", "--shrinkage", "5", "3"], "1.69")],
)  # fmt: skip
def test_pieces_that_just_fill_the_width_share_their_cuts(tmp_path, how, metres):
    """By sum: 3 of 300 mm across 900, 4 of 400 along; 3 gaps of 3 mm between those, or two across
    only, 6 along with 5 gaps. 930 mm less 3 % is 902; 1.60 m over 0.95 is 1.684 m, rounded up."""
    (tmp_path / "set.toml").write_text(
        '[set]\nname = "Cloths"\nstyle = "C-1"\n[[piece]]\nname = "Cloth"\nallowance = 0\n'
        'rectangle = ["300 mm", "400 mm"]\ngrain = { along = "left" }\n'
        'cut = [{ cloth = "self", count = 12 }]\n'
    )
    words = ["cloth", str(tmp_path / "set.toml"), *how, "--seconds", "0"]
    told = CliRunner().invoke(plotout, words, catch_exceptions=False).stdout
    (row,) = [line.split() for line in told.splitlines() if line.split()[:1] == ["self"]]
    assert row[2] == metres


def test_price_is_of_a_metre(smock):
    found = need(smock, Cloth("fusing", 900.0, price=8.0), seconds=0)
    assert found.cost == pytest.approx(found.length / 1000 * 8.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": "silk"}, "nothing of this set"),
        ({"width": 3.6}, "impossible for cloth"),
        ({"shrinkage": (70.0, 0.0)}, "too large"),
        ({"repeat": (-1.0, 0.0)}, "negative"),
        ({"gap": -1.0}, "negative"),
        ({"lean": 40.0}, "is too much"),
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
    rows = [line.split() for line in table.stdout.splitlines() if "fusing" in line]
    assert [row[1] for row in rows] == ["900", "360"]
    assert {path.name for path in tmp_path.glob("*.png")} == {
        "fusing-900mm.png", "fusing-360mm.png"
    }  # fmt: skip
    told = json.loads(CliRunner().invoke(plotout, [*words, "--json"]).output)["cloths"]
    for each in told:
        assert each["cost"] == pytest.approx(each["length_mm"] / 1000 * 8.0, abs=0.01)
        assert each["least_by_area_mm"] <= each["length_mm"]


def test_every_piece_is_named_once_within_it_and_off_its_lines():
    line = InternalLine("stripe", np.array([[-50.0, 40.0], [150.0, 40.0]]), "stripe")
    made = _set(replace(_square("Strap", cuts=(Cut("self", pair=True),)), lines=(line,)))
    sheet = need(made, Cloth("self", 400.0), seconds=0).sheet
    assert [each.card.title for each in sheet.placed] == ["Strap", "Strap, mirrored"]
    assert not sheet.marks
    names = list(card_names(sheet, 8.0))
    shapes = [shapely.Polygon(each.outline) for each in sheet.placed]
    for name in names:
        assert any(shape.contains(shapely.LineString(name.points)) for shape in shapes)
    for placed, shape in zip(sheet.placed, shapes, strict=True):
        outline, grain, stripe = (shapely.LineString(each.points) for each in placed.strokes)
        assert shape.exterior.hausdorff_distance(outline) < 1e-9
        assert all(shape.buffer(1e-6).covers(inner) for inner in (grain, stripe))
        assert np.ptp(grain.xy[1]) < 1e-6  # along the cloth
        assert stripe.length == pytest.approx(100.0)  # cut off at the piece's edge
        assert all(each.distance(grain) > 1.0 for each in map(_drawn, names))


def _drawn(line):
    return shapely.LineString(line.points)


@pytest.mark.parametrize(
    ("skew", "pair", "count", "laid"),
    [(True, False, 2, 2), (True, False, 3, 3), (True, True, 2, 2), (False, False, 3, 2)],
)
def test_folded_cloth_gives_two_of_a_pair_or_a_symmetric_piece_alone(skew, pair, count, laid):
    """Reference: two layers face to face give one piece and its mirror image; the use is the area
    of what is cut, as shapely has it, in the whole cloth that is bought."""
    square = _square("A", cuts=(Cut("self", count, pair=pair),))
    if skew:
        ring = np.array([[0, 0], [90, 0], [90, 20], [30, 20], [30, 120], [0, 120], [0, 0]], float)
        edges = tuple(Edge(str(k), ring[k : k + 2], (0.0, 0.0)) for k in range(6))
        square = replace(square, edges=edges)
    found = need(_set(square), Cloth("self", 800.0, folded=True), seconds=0)
    assert len(found.sheet.placed) == laid
    assert found.pieces == (2 * count if pair else count)
    one = shapely.Polygon(found.sheet.placed[0].card.outline).area
    assert found.used == pytest.approx(100 * found.pieces * one / (found.length * 800.0))
    assert found.one_handed == (("A",) if skew and not pair else ())


def _l_shaped(wide=90.0, **more):
    ring = np.array([[0, 0], [90, 0], [90, 20], [30, 20], [30, 120], [0, 120], [0, 0]], float)
    ring *= [wide / 90.0, 1.0]
    edges = tuple(Edge(str(k), ring[k : k + 2], (0.0, 0.0)) for k in range(6))
    return replace(_square("A", **more), edges=edges)


@pytest.mark.parametrize("count", [1, 2])
def test_as_drawn_and_reversed_are_cut_of_folded_cloth_as_pairs(count):
    """Reference: a pair of the same piece, which two layers face to face give at once."""
    apart = (Cut("self", count), Cut("self", count, reversed=True))
    folded = Cloth("self", 800.0, folded=True)
    found = need(_set(_l_shaped(cuts=apart)), folded, seconds=0)
    paired = need(_set(_l_shaped(cuts=(Cut("self", count, pair=True),))), folded, seconds=0)
    assert (found.pieces, len(found.sheet.placed)) == (2 * count, count)
    assert (found.length, found.used) == (paired.length, paired.used)
    assert found.one_handed == ()


def test_of_unequal_numbers_none_is_taken_for_a_pair():
    cuts = (Cut("self", 2), Cut("self", 1, reversed=True))
    found = need(_set(_l_shaped(cuts=cuts)), Cloth("self", 800.0, folded=True), seconds=0)
    assert (found.pieces, len(found.sheet.placed)) == (3, 3)


def test_what_only_folding_makes_too_wide_is_refused():
    """A piece of 500 mm fits on cloth of 800 mm, but not folded to 400; one of 900 on neither."""
    made = _set(_l_shaped(500.0))
    with pytest.raises(UserError, match="500 mm wide, but the folded cloth only 400 mm"):
        need(made, Cloth("self", 800.0, folded=True), seconds=0)
    assert need(made, Cloth("self", 800.0), seconds=0).pieced == ()
    wider = _set(_l_shaped(900.0))
    assert need(wider, Cloth("self", 800.0, folded=True), seconds=0).pieced == ("A",)


@pytest.mark.parametrize(
    ("off", "bias", "opened"), [(0.0, False, ()), (5.0, False, ("A",)), (0.0, True, ("A",)),
                                (90.0, False, ("A",)), (-45.0, True, ())],
)  # fmt: skip
def test_only_a_fold_along_the_threads_lies_on_the_fold_of_the_cloth(off, bias, opened):
    """By hand: a bias piece's grain line is 45 degrees off the threads; its fold may follow."""
    turn = np.radians(off)
    grain = np.array([[50.0, 30.0], [50.0 - 40.0 * np.sin(turn), 30.0 + 40.0 * np.cos(turn)]])
    piece = _square("A", grain, cuts=(Cut("self", on_fold=True),), fold="l", bias=bias)
    found = need(_set(piece), Cloth("self", 800.0, folded=True), seconds=0)
    assert found.opened == opened


def test_bias_lies_halfway_and_a_reversed_piece_face_down():
    """A grain line that shows the bias comes to lie at 45 degrees to the cloth's length."""
    made = _set(_square("A", cuts=(Cut("self"),), bias=True))
    (placed,) = need(made, Cloth("self", 400.0), seconds=0).sheet.placed
    box = shapely.Polygon(placed.outline).minimum_rotated_rectangle.exterior.coords
    sides = np.diff(np.array(box), axis=0)
    assert np.degrees(np.arctan2(*sides[0][::-1])) % 90.0 == pytest.approx(45.0, abs=1e-6)
    corner = np.array([[0, 0], [100, 0], [100, 60], [0, 60], [0, 0]], float) * [1.0, 1.0]
    corner[2] = (70.0, 60.0)
    edges = tuple(Edge(str(k), corner[k : k + 2], (0.0, 0.0)) for k in range(4))
    skew = Piece("B", edges, grain=UP, cuts=(Cut("self", reversed=True),))
    (placed,) = need(_set(skew), Cloth("self", 400.0), seconds=0).sheet.placed
    mirrored = shapely.Polygon(corner * [-1.0, 1.0])
    assert mirrored.symmetric_difference(shapely.Polygon(placed.card.outline)).area < 1e-6


def _wedge(name: str, *, one_way: bool) -> Piece:
    """An isosceles triangle, 300 mm at its foot and 600 mm high, its grain upright."""
    corners = np.array([[0, 0], [300, 0], [150, 600]], float)
    edges = tuple(
        Edge(side, np.array(pair), (0.0, 0.0))
        for side, pair in zip("abc", zip(corners, np.roll(corners, -1, axis=0), strict=True),
                              strict=True)
    )  # fmt: skip
    grain = np.array([[150.0, 50.0], [150.0, 450.0]])
    return Piece(name, edges, (Cut("velvet", 2),), grain=grain, one_way=one_way)


def test_where_a_piece_must_lie_one_way_all_of_its_cloth_do():
    """By hand, on 470 mm of cloth. Head to foot, the middles of two wedges lie 150 mm apart, so
    both fit side by side: 600 mm. One way, they lie 300 mm apart, less a quarter of the shift along
    the cloth; 170 mm are there, so the second lies 520 mm further on.
    """
    free = _set(_wedge("One", one_way=False))
    must = _set(_wedge("One", one_way=True))
    cloth = Cloth("velvet", 470.0, gap=0.0)
    turned, kept, asked = (
        need(made, how, seconds=0)
        for made, how in ((free, cloth), (must, cloth), (free, replace(cloth, nap=True)))
    )
    assert turned.length < 605
    assert 1119 < kept.length <= 1200
    assert kept.length == asked.length
    assert kept.one_way == ("One",)
    assert turned.one_way == asked.one_way == ()
    assert len({placed.angle for placed in kept.sheet.placed}) == 1


def test_lengths_are_rounded_up():
    assert [_metres(length) for length in (1203.0, 694.0, 1200.0, 0.1)] == [
        "1.21", "0.70", "1.20", "0.01"
    ]  # fmt: skip
