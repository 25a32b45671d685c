"""Derived pieces against shapely's buffers, and as they follow a changed parent."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_front, a_set, arc, edge, rectangle
from shapely.geometry import LineString, Point, Polygon

from plotout.errors import UserError
from plotout.finish import finish
from plotout.finish.derive import INNER, all_pieces, banded
from plotout.finish.prepare import cut_line, ready
from plotout.geometry.band import band
from plotout.geometry.strokes import Mark
from plotout.pattern.model import Cut, Derivation, Derive, EdgeRule, Notch, Piece
from plotout.pattern.settings import Corner, Defaults


def child(how, name="Child", parent="Front", **more):
    return Piece(name, (), cuts=(Cut("self"),), parent=parent, derive=Derivation(how, **more))


def made(parent, *children):
    return all_pieces(a_set(parent, *children))[-1]


def test_a_facing_is_the_band_along_its_edges():
    front = a_front()
    facing = made(front, child(Derive.FACING, along=("neck",), width=50.0))
    neck = LineString(front.edge("neck").points)
    theirs = Polygon(front.outline).intersection(neck.buffer(50.0, quad_segs=64))
    ours = Polygon(facing.outline)
    # the same but for the ends, where ours runs on straight to the next edge
    assert ours.difference(theirs).area < 0.02 * ours.area
    assert theirs.difference(ours).area < 0.5
    assert {e.name for e in facing.edges} == {"neck", "shoulder", "centre front", INNER}
    assert facing.fold == "centre front"
    inner = facing.edge(INNER)
    away = [neck.distance(Point(p)) for p in inner.points[1:-1]]
    assert np.allclose(away, 50.0, atol=0.05)


def test_a_facing_shares_its_parents_edge_point_for_point():
    front = a_front()
    facing = made(front, child(Derive.FACING, along=("neck",), width=50.0))
    assert np.allclose(facing.edge("neck").points, front.edge("neck").points, atol=1e-9)
    assert facing.edge("neck").allowance == (12.7, 12.7)
    assert [n.edge for n in facing.notches] == ["neck"]
    assert facing.notches[0].along == pytest.approx(40.0)


def test_a_facing_follows_its_parent():
    deeper = a_front()
    neck = arc(0, 590, 90, 6.379370208442806, -90)
    edges = {"neck": neck, "shoulder": [[200, 480], neck[0]], "centre front": [[0, 500], [0, 0]]}
    changed = replace(
        deeper,
        edges=tuple(
            replace(e, points=np.asarray(edges.get(e.name, e.points), float)) for e in deeper.edges
        ),
    )
    facing = made(changed, child(Derive.FACING, along=("neck",), width=50.0))
    assert np.allclose(facing.edge("neck").points, neck, atol=1e-9)
    assert facing.edge("centre front").points[0] == pytest.approx((0.0, 500.0))


FLY = 150.0


@pytest.mark.parametrize(
    ("past", "deep"),
    [
        ([[0, 0], [0, -60]], FLY),  # it goes on straight: divided there
        ([[0, 0], [-10, -40], [-60, -60]], FLY),  # a crotch, which turns away
        ([[0, 0], [15, -60]], FLY),  # it turns by 14 degrees
        ([[0, 0], [60, 0]], FLY),  # a corner: the band ends there
        ([[0, 0], [60, -60]], FLY + 40.0),  # under 45 degrees: it runs on by its own width
        ([[0, 0], [2.9, -7.1], [10, -10], [60, -10]], FLY + 10.0),  # a rounded corner of 10 mm
    ],
)
def test_a_band_ends_square_where_the_outline_does_not_turn_inwards(past, deep):
    """A fly 150 mm long, upright at x 0, with a facing 40 mm wide; the outline past its foot.

    Common practice: a facing ends where the seam does. By geometry, under 45 degrees the band's
    inner side meets the outline its own width further on. It went on by two widths before.
    """
    past = np.array(past, dtype=float)
    right = [[200.0, past[-1, 1]], [200.0, FLY]]
    ring = np.vstack([[[0.0, FLY]], past, right, [[0.0, FLY]]])
    found = band(ring, np.array([[0.0, FLY], [0.0, 0.0]]), 40.0)
    assert np.ptp(found[:, 1]) == pytest.approx(deep, abs=0.01)
    assert np.ptp(found[:, 0]) == pytest.approx(40.0, abs=0.01)


@pytest.mark.parametrize("handed", [False, True])
@pytest.mark.parametrize(
    ("width", "area"),
    [
        (70.0, 70.0 * 610.0 + 100.0 * 70.0),  # less than the collar's neck is long
        (90.0, 90.0 * 600.0 + 100.0 * 80.0),
        (110.0, 110.0 * 600.0 + 100.0 * 80.0),
    ],
)
def test_the_facing_of_a_shawl_collar_has_no_tongue_below_the_shoulder(width, area, handed):
    """By hand: a strip along the front edge, and the collar of 100 x 80 mm above the shoulder."""
    ring = [(0, 0), (260, 0), (260, 600), (100, 600), (100, 680), (0, 680), (0, 0)]
    along = np.array([(100.0, 680.0), (0.0, 680.0), (0.0, 0.0)])
    outline = np.array(ring, dtype=float)
    if handed:
        outline, along = ((line * (-1.0, 1.0))[::-1] for line in (outline, along))
    assert Polygon(band(outline, along, width)).area == pytest.approx(area, abs=0.01)


def test_a_facing_along_two_edges():
    facing = made(a_front(), child(Derive.FACING, along=("shoulder", "armhole"), width=40.0))
    assert {"shoulder", "armhole", INNER} <= {e.name for e in facing.edges}


def test_fusing_keeps_its_distance_inside_the_cutting_line():
    facing = child(Derive.FACING, "Facing", along=("neck",), width=50.0)
    fusing = child(Derive.FUSING, "Fusing", "Facing", inset=3.0)
    _, band, ours = all_pieces(a_set(a_front(), facing, fusing))
    cut = Polygon(cut_line(band, Defaults()))
    got = Polygon(ours.outline)
    assert cut.covers(got.buffer(-1e-6))
    # by GEOS: the cutting line drawn in 3 mm, but not along the fold
    fold = LineString([(0, 0), (0, 1000)])
    theirs = cut.difference(cut.exterior.difference(fold.buffer(0.01)).buffer(3.0, quad_segs=64))
    assert got.symmetric_difference(theirs).area < 0.01 * got.area
    assert all(e.allowance == (0.0, 0.0) for e in ours.edges)


def test_a_copy_is_smaller_all_round_but_for_the_fold():
    patch = rectangle("Patch", 100, 60, 8.0)
    copy = made(patch, child(Derive.COPY, parent="Patch", smaller=2.0))
    theirs = Polygon(patch.outline).buffer(-2.0, join_style="mitre")
    assert Polygon(copy.outline).symmetric_difference(theirs).area < 1e-6
    assert [e.name for e in copy.edges] == ["foot", "right", "top", "left"]
    assert copy.edge("top").allowance == (8.0, 8.0)
    half = made(a_front(), child(Derive.COPY, smaller=2.0))
    assert half.outline[:, 0].min() == pytest.approx(0.0, abs=1e-9)
    assert half.fold == "centre front"


def test_a_lining_has_its_own_hem_and_ease():
    patch = rectangle("Sleeve", 100, 200)
    lining = made(patch, child(Derive.LINING, parent="Sleeve", ease=5.0, hem=("foot", 20.0)))
    assert Polygon(lining.outline).bounds == pytest.approx((-5.0, 20.0, 105.0, 200.0))


def test_rules_of_single_edges():
    rules = (EdgeRule(INNER, allowance=(6.0, 6.0), seam_notches=True), EdgeRule("neck", (7.0, 9.0)))
    facing = made(
        a_front(),
        child(Derive.FACING, along=("neck",), width=50.0, allowance=(10.0, 10.0), rules=rules),
    )
    assert facing.edge(INNER).allowance == (6.0, 6.0)
    assert facing.edge("neck").allowance == (7.0, 9.0)
    assert facing.edge("shoulder").allowance == (10.0, 10.0)
    assert facing.edge("centre front").allowance == (0.0, 0.0)


def test_a_marked_piece_is_on_its_parents_card_only():
    fusing = child(
        Derive.FUSING, "Neck fusing", along=("neck",), width=30.0, inset=2.0, marked=True
    )
    cards = finish(a_set(a_front(), fusing))
    assert [card.id for card in cards] == ["front", "contents"]
    assert any(s.mark is Mark.AREA for s in cards[0].strokes)


def test_every_derived_card_can_be_made():
    cards = finish(
        a_set(
            a_front(),
            child(Derive.FACING, "Facing", along=("neck",), width=50.0),
            child(Derive.FACING, "Arm facing", along=("armhole",), width=50.0),
            child(Derive.FUSING, "Fusing", "Facing", inset=3.0),
            child(Derive.LINING, "Lining", ease=5.0, hem=("hem", 20.0)),
            child(Derive.COPY, "Under", smaller=2.0),
        )
    )
    assert all(Polygon(card.outline).is_valid for card in cards)
    assert all(card.hole for card in cards)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (child(Derive.FACING, parent="Frnt", along=("neck",), width=50.0), "Did you mean 'Front'"),
        (child(Derive.FACING, along=("nek",), width=50.0), "Did you mean 'neck'"),
        (child(Derive.FACING, along=("neck",), width=0.0), "its width is 0"),
        (
            child(Derive.FACING, along=("neck", "hem"), width=30.0),
            "are not adjacent(.|\\n)*Name edges that follow",
        ),
        (
            child(Derive.FACING, along=("neck",), width=2000.0),
            "covers the whole piece(.|\\n)*Reduce its width.",
        ),
        (
            child(Derive.COPY, smaller=400.0),
            "narrower than it is drawn(.|\\n)*Reduce its 'smaller'.",
        ),
        (child(Derive.LINING, ease=2.0, hem=("side", 900.0)), "or is 'side' not the hem"),
        (child(Derive.FUSING, inset=400.0), "Reduce its inset."),
        (child(Derive.COPY, parent="Child", smaller=4.0), "derives from itself"),
    ],
)
def test_what_cannot_be_derived_is_told(wrong, words):
    with pytest.raises(UserError, match=words):
        all_pieces(a_set(a_front(), wrong))


def test_a_fold_is_asked_for_in_derived_pieces_too():
    """The facing of the edge on the fold is half a piece; a pocket facing has no fold at all."""
    half = child(Derive.FACING, along=("centre front",), width=40.0)
    assert made(a_front(), half).notes == (
        "'cut 1 self': but the card is half a piece; write on-fold = true",
    )
    none = child(Derive.FACING, along=("armhole",), width=40.0)
    none = replace(none, cuts=(Cut("self", on_fold=True),))
    (fault,) = made(a_front(), none).faults
    assert (fault.problem, fault.fix) == (
        "cut 1 self on fold: but no edge of the piece lies on the fold",
        "Leave out on-fold.",
    )


def test_a_partial_edge_keeps_the_notches_that_it_has():
    front = a_front(notches=(Notch("shoulder", 20.0), Notch("shoulder", 150.0)))
    facing = made(front, child(Derive.FACING, along=("neck",), width=50.0))
    (notch,) = facing.notches  # only the one near the neck
    shoulder = facing.edge("shoulder")
    at = LineString(shoulder.points).interpolate(notch.along)
    assert LineString(front.edge("shoulder").points).project(at) == pytest.approx(150.0, abs=1e-6)


@pytest.mark.parametrize(("along", "kept"), [(0.0, 0), (150.0, 1), (300.0, 0)])
def test_a_lining_has_no_notch_beside_a_corner_where_its_piece_has_it_at_the_corner(along, kept):
    """Its ease moves its sides by 3 mm, and so its corners."""
    front = replace(rectangle("Front", 300, 500, 10.0), notches=(Notch("top", along),))
    assert len(made(front, child(Derive.LINING, ease=3.0)).notches) == kept


def test_one_closed_edge_can_be_copied():
    ring = arc(0, 0, 50, 0, 360, 181)
    ring[-1] = ring[0]
    patch = Piece("Patch", (edge("round", ring, 8),))
    copy = made(patch, child(Derive.COPY, parent="Patch", smaller=3.0))
    assert Polygon(copy.outline).area == pytest.approx(np.pi * 47**2, rel=1e-3)


@pytest.mark.parametrize("seed", range(12))
def test_a_facings_hem_is_turned_back_however_its_piece_lies(seed):
    """By hand, mm2: 70 by 500, a side of 10, a top of 10 and a hem of 40, 80 wide, of allowance.

    Drawings have rounded points, so that a band's corner lies beside that of its piece, not on it.
    """
    rng = np.random.default_rng(seed)
    angle = rng.uniform(-np.pi, np.pi)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    body = rectangle("Front", 300, 500, 10.0)
    edges = tuple(replace(e, points=np.round(e.points @ turn, 4)) for e in body.edges)
    edges = (replace(edges[0], allowance=(40.0, 40.0), corner=Corner.TURNED), *edges[1:])
    facing = made(replace(body, edges=edges), child(Derive.FACING, along=("left",), width=70.0))
    area = Polygon(cut_line(ready(facing), Defaults())).area
    assert area == pytest.approx(70 * 500 + 10 * 500 + 80 * 10 + 80 * 40, abs=1.0)


def test_what_follows_a_piece_made_whole_is_whole_too():
    """A facing of a half front that is made unfolded: twice the half's area, by shapely."""
    facing = child(Derive.FACING, along=("neck",), width=50.0)
    half = all_pieces(a_set(a_front(), facing))[1]
    whole = all_pieces(a_set(a_front(whole=True), facing))[1]
    assert not half.whole
    assert whole.whole
    area = Polygon(ready(half).outline).area
    assert Polygon(ready(whole).outline).area == pytest.approx(2.0 * area, rel=1e-6)
    assert [str(cut) for cut in ready(whole).cuts] == ["cut 1 self"]


def test_no_area_takes_in_the_whole_piece_unasked():
    with pytest.raises(ValueError, match="covers the whole"):
        banded(a_front(), ("neck",), 3000.0)


def test_a_rule_for_an_edge_that_a_derived_piece_lacks_is_refused():
    rules = (EdgeRule("inner egde", allowance=(5.0, 5.0)),)
    with pytest.raises(UserError, match="it has no edge 'inner egde'") as told:
        made(a_front(), child(Derive.FACING, along=("neck",), width=50.0, rules=rules))
    assert "Did you mean 'inner edge'?" in told.value.fix


def test_a_derived_edge_may_be_folded_over():
    rules = (EdgeRule(INNER, allowance=(20.0, 20.0), facing=True),)
    facing = made(a_front(), child(Derive.FACING, along=("neck",), width=50.0, rules=rules))
    assert (facing.edge(INNER).facing, facing.edge(INNER).corner) == (True, "turned back")
    assert not facing.edge("neck").facing


@pytest.mark.parametrize("deep", [100.0, 300.0])
def test_a_facing_of_a_v_neck_reaches_the_fold(deep):
    """By geometry: half of the band along the whole V, whose inner sides meet on the fold at
    width / sin(half its angle) below its point; it is cut on the fold as its front is.
    """
    wide, width = 90.0, 50.0
    ring = np.array([[0.0, 0.0], [250.0, 0.0], [250.0, 700.0], [wide, 700.0], [0.0, 700.0 - deep]])
    names = ("hem", "side", "shoulder", "neck", "centre front")
    front = replace(
        a_front(),
        edges=tuple(
            edge(name, [start, end])
            for name, start, end in zip(names, ring, np.roll(ring, -1, axis=0), strict=True)
        ),
        fold="centre front",
        notches=(),
        drills=(),
        areas=(),
    )
    facing = made(front, child(Derive.FACING, along=("neck",), width=width))
    below = width / (wide / np.hypot(wide, deep))
    assert facing.fold == "centre front"
    assert facing.outline[:, 1].min() == pytest.approx(700.0 - deep - below, abs=0.01)
    up = 700.0 + 2.0 * deep  # past the shoulder, to which the band's inner side runs on
    whole = LineString([(-3.0 * wide, up), (0.0, 700.0 - deep), (3.0 * wide, up)])
    theirs = whole.buffer(width, cap_style="flat", join_style="mitre", mitre_limit=20.0)
    half = Polygon(front.outline).intersection(theirs)
    assert Polygon(facing.outline).symmetric_difference(half).area < 1e-3
