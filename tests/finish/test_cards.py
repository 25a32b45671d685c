"""Finished cards: what a patternmaker would check by eye and by hand."""

from dataclasses import replace
from itertools import chain

import numpy as np
import pytest
from garments import a_front, a_set, edge, rectangle
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from plotout.finish import finish
from plotout.finish.hang import EDGE, common_inset, hole_place, plumb
from plotout.finish.label import arrangements, lettered
from plotout.finish.prepare import cut_line
from plotout.finish.unfold import unfolded
from plotout.geometry.strokes import Mark, NotchKind, Work
from plotout.pattern.model import Area, Cut, Drill, InternalLine, Notch, Piece
from plotout.pattern.settings import Defaults, NotchStyle


def of(card, *marks):
    return [stroke for stroke in card.strokes if stroke.mark in marks]


def text_zone(card):
    return unary_union([LineString(s.points) for s in of(card, Mark.LETTERING)]).envelope


@pytest.fixture(scope="module")
def cards():
    band = rectangle("Neck band", 400, 40, grain=np.array([[50.0, 20.0], [350.0, 20.0]]))
    loop = rectangle("Loop", 80, 14, 8.0, grain=np.array([[10.0, 7.0], [70.0, 7.0]]))
    whole = a_front(whole=True)
    return finish(a_set(a_front(), band, loop, whole, rectangle("Pocket", 160, 180)))


def test_one_card_a_piece_and_the_contents_last(cards):
    assert [card.id for card in cards] == [
        "front", "neck-band", "loop", "front-2", "pocket", "contents"
    ]  # fmt: skip
    assert [card.number for card in cards] == [1, 2, 3, 4, 5, 6]
    assert {card.of for card in cards} == {6}
    assert cards[0].orders == ("cut 1 self on fold",)
    assert cards[3].orders == ("cut 1 self",)  # it is whole: no longer on the fold


def test_every_stroke_names_its_card_and_stays_on_it(cards):
    for card in cards:
        shape = Polygon(card.outline).buffer(1e-6)
        for stroke in card.strokes:
            assert stroke.card == card.id
            assert shape.covers(
                LineString(stroke.points) if len(stroke.points) > 1 else Point(stroke.points[0])
            ), (card.id, stroke.mark)


def test_the_outline_is_a_sound_ring_and_cut_last(cards):
    for card in cards:
        assert Polygon(card.outline).is_valid
        assert card.strokes[-1].mark is Mark.OUTLINE
        assert card.strokes[-1].closed
        assert Polygon(card.outline).exterior.is_ccw


def test_lettering_is_clear_of_all_else(cards):
    for card in cards:
        letters = unary_union([LineString(s.points) for s in of(card, Mark.LETTERING)])
        others = [s for s in card.strokes if s.mark not in (Mark.LETTERING, Mark.AREA)]
        near = [
            letters.distance(
                Point(s.points[0]).buffer(s.size / 2)
                if len(s.points) == 1
                else LineString(s.points)
            )
            for s in others
        ]
        assert min(near) > 1.5, card.id


def test_the_hole_hangs_the_card_plumb_and_tears_nothing(cards):
    for card in cards:
        shape = Polygon(card.outline)
        (hole,) = of(card, Mark.HOLE)
        assert hole.work is Work.PUNCH
        assert hole.size == 8.0
        assert tuple(hole.points[0]) == card.hole
        assert card.hole[0] == pytest.approx(shape.centroid.x, abs=1e-6)
        assert card.hole[1] > shape.centroid.y
        assert shape.exterior.distance(Point(card.hole)) >= 4.0 + EDGE - 0.01
        plumb = shape.intersection(LineString([(card.hole[0], -1e4), (card.hole[0], 1e4)]))
        assert plumb.bounds[3] - card.hole[1] == pytest.approx(20.0, abs=0.06)


def test_where_no_place_is_safe_the_card_is_named():
    slim = rectangle("Tape", 90, 6, 2.0, grain=np.array([[10.0, 3.0], [80.0, 3.0]]))
    card = finish(a_set(slim))[0]
    assert card.hole is None
    assert not of(card, Mark.HOLE)
    assert any("no place on" in text and "8 mm" in text for text in card.warnings)


def test_a_mark_in_the_way_moves_the_hole_and_says_so():
    line = InternalLine("pleat", np.array([[20.0, 172.0], [140.0, 172.0]]))
    card = finish(a_set(rectangle("Pocket", 160, 180, lines=(line,))))[0]
    assert Point(card.hole).distance(LineString(line.points)) >= 4.0 + 2.0 - 1e-6
    assert "from the top, where most cards of the set have room, not 20.0 mm" in card.warnings[0]


@pytest.mark.parametrize(
    "cut", [Notch("top", 80.0), Notch("top", 80.0, style=NotchStyle(NotchKind.T))]
)
def test_the_hole_is_as_far_from_a_slit_as_from_the_edge(cut):
    """A slit's foot tears as an edge does: 6 mm of card are left, by shapely."""
    piece = rectangle("Pocket", 160, 180, 12.7, notches=(cut,))
    card = finish(a_set(piece, defaults=Defaults(hole_inset=14.0)))[0]
    slits = [LineString(s.points) for s in of(card, Mark.NOTCH)]
    assert min(Point(card.hole).distance(slit) for slit in slits) >= 4.0 + EDGE - 0.02


@pytest.mark.parametrize("size", [3.0, 8.0])
def test_the_hole_is_as_far_from_a_drill_hole_as_from_the_edge(size):
    drill = Drill((80.0, 160.0), size)
    card = finish(a_set(rectangle("Pocket", 160, 180, 12.7, drills=(drill,))))[0]
    assert Point(card.hole).distance(Point(drill.at)) >= 4.0 + EDGE + size / 2.0 - 0.1


@pytest.mark.parametrize("wide", [10.0, 24.0, 40.0])
def test_the_hole_is_clear_of_a_dart(wide):
    """No card is punched between a dart's legs, which allowance fills: 2 mm beside it, by shapely.

    The dart is 90 mm deep, in the middle of the top edge of a piece of 300 by 400 mm.
    """
    left, tip, right = [150.0 - wide / 2.0, 400], [150, 310], [150.0 + wide / 2.0, 400]
    corners = [[0, 0], [300, 0], [300, 400], right, tip, left, [0, 400], [0, 0]]
    names = ("foot", "side", "top 1", "leg 1", "leg 2", "top 2", "centre")
    edges = tuple(edge(name, corners[k : k + 2]) for k, name in enumerate(names))
    card = finish(a_set(Piece("Skirt", edges, cuts=(Cut("self"),))))[0]
    assert (
        Point(card.hole).distance(Polygon([left, tip, right])) >= 4.0 + 2.0 - 0.15
    )  # its buffer has chords
    assert card.hole[1] > 200.0


@settings(max_examples=60, deadline=None)
@given(st.floats(-60, 60), st.floats(60, 200), st.floats(8, 30))
def test_the_hole_is_plumb_on_any_triangle(lean, tall, inset):
    card = Polygon([(0, 0), (200, 0), (100 + lean, tall)])
    at, told = hole_place(plumb(card, card, [], [], 8.0), inset, inset, 8.0)
    if at is None:
        assert "no place" in told
    else:
        # a triangle's centre of area is a third of the way up its medians (Euclid, Archimedes)
        assert at[0] == pytest.approx((0 + 200 + 100 + lean) / 3)
        assert at[1] > tall / 3
        assert card.exterior.distance(Point(at)) >= 10.0 - 0.01


def test_unfolding_doubles_the_area_and_is_symmetric(front):
    half, whole = cut_line(front, Defaults()), cut_line(unfolded(front), Defaults())
    # where they meet on the fold, the whole's parallel is that of chords, the half's of the curve
    assert Polygon(whole).area == pytest.approx(2 * Polygon(half).area, rel=1e-8)
    mirrored = Polygon(whole * np.array([-1.0, 1.0]))
    assert Polygon(whole).symmetric_difference(mirrored).area < 1e-6
    opened = unfolded(front)
    assert len(opened.notches) == 2 * len(front.notches)
    assert len(opened.drills) == 4
    assert [e.name for e in opened.edges][:2] == ["hem", "side"]


def test_unfolding_a_closed_half_of_one_edge():
    half = Piece(
        "Patch",
        (
            edge("round", np.array([[0, 0], [40, 0], [40, 60], [0, 60]])),
            edge("fold", [[0, 60], [0, 0]], 0),
        ),
        cuts=(Cut("self", on_fold=True),),
        fold="fold",
    )
    opened = unfolded(half)
    assert len(opened.edges) == 1
    assert Polygon(opened.outline).area == pytest.approx(4800)


def test_the_fold_is_a_long_dash_dot_line_along_its_edge(cards):
    dashes = [s for s in of(cards[0], Mark.FOLD) if np.ptp(s.points[:, 0]) < 1e-9][:40]
    lengths = {round(s.length, 2) for s in dashes if abs(s.points[0, 0] - 3.0) < 1e-6}
    assert len(lengths) == 2  # ISO 128-2, line type 04: long dashes and dots
    assert max(lengths) > 20 * min(lengths)
    bracket = next(s for s in of(cards[0], Mark.FOLD) if len(s.points) == 4)
    assert bracket.points[[0, -1], 0] == pytest.approx(0.5)  # it points to the edge, not the line


def test_lettering_lies_along_the_grain_and_reads_from_the_right(cards):
    # capitals of text that runs up the card lean to the left: their stems run in -x from the foot
    for card in cards[:3]:
        zone = text_zone(card)
        assert zone.bounds[3] - zone.bounds[1] > 0
    band = text_zone(cards[1])
    assert band.bounds[3] - band.bounds[1] > 3 * (band.bounds[2] - band.bounds[0])


def test_level_grain_stands_upright_on_its_card(cards):
    band = cards[1]
    low, high = band.outline.min(axis=0), band.outline.max(axis=0)
    assert high[1] - low[1] == pytest.approx(400 + 25.4, abs=1e-6)
    arrows = [stroke.points for stroke in band.strokes if stroke.mark is Mark.GRAIN]
    shaft = max(arrows, key=lambda line: float(np.ptp(line, axis=0).max()))
    assert np.ptp(shaft[:, 0]) < 1e-6 * np.ptp(shaft[:, 1])


def test_an_area_is_outlined_hatched_and_named():
    band = np.array([[0, 0], [160, 0], [160, 40], [0, 40], [0, 0]], float)
    card = finish(a_set(rectangle("Pocket", 160, 180, areas=(Area("fusing", band),))))[0]
    drawn = of(card, Mark.AREA)
    assert sum(len(s.points) > 2 for s in drawn) == 1
    assert sum(len(s.points) == 2 for s in drawn) > 5
    assert all(box(0, 0, 160, 40).buffer(1e-6).covers(LineString(s.points)) for s in drawn)
    named = [
        s for s in of(card, Mark.LETTERING) if box(0, 0, 160, 40).contains(LineString(s.points))
    ]
    assert named


def test_the_contents_card_lists_every_piece(cards):
    contents = cards[-1]
    assert contents.title == "Contents"
    assert contents.hole is not None
    assert not contents.warnings


def test_the_same_set_gives_the_same_cards(cards):
    again = finish(a_set(a_front(), *[]))
    once = finish(a_set(a_front()))
    for one, other in zip(once, again, strict=True):
        assert all(
            np.array_equal(a.points, b.points) and a.work == b.work
            for a, b in zip(one.strokes, other.strokes, strict=True)
        )


@pytest.mark.parametrize("name", ["", " ", "Ärmel – Ω", "x" * 300, '"><;PU0,0;', "\n\n"])
def test_any_name_is_lettered_without_harm(name):
    cards = finish(a_set(rectangle(name, 120, 150)))
    assert cards[0].id
    assert Polygon(cards[0].outline).is_valid
    assert all(letter.isalnum() or letter == "-" for letter in cards[0].id)


def test_a_cut_out_counts_in_the_centre_of_area_and_is_not_written_on():
    ring = np.array([[20, 60], [70, 60], [70, 120], [20, 120], [20, 60]], float)
    opening = InternalLine("window", ring, "cut-out")
    card = finish(a_set(rectangle("Frame", 160, 180, lines=(opening,))))[0]
    solid = Polygon(card.outline, [ring])
    assert card.hole[0] == pytest.approx(solid.centroid.x, abs=1e-6)
    assert card.hole[0] > 81  # drawn away from the opening
    (cut,) = of(card, Mark.CUTOUT)
    assert cut.work is Work.CUT
    letters = unary_union([LineString(s.points) for s in of(card, Mark.LETTERING)])
    assert letters.distance(Polygon(ring)) > 2.0


def test_what_lies_off_the_card_is_cut_off_and_told():
    lines = (
        InternalLine("pleat", np.array([[80.0, 90.0], [300.0, 90.0]])),
        InternalLine("astray", np.array([[300.0, 90.0], [300.0, 190.0]])),
    )
    card = finish(a_set(rectangle("Pocket", 160, 180, lines=lines)))[0]
    (line,) = of(card, Mark.INTERNAL)
    assert line.points[-1] == pytest.approx((172.7, 90.0))
    assert [text.split(" mm ")[-1] for text in card.warnings] == [
        "is cut off at the card's edge", "lies off the card and is left out"
    ]  # fmt: skip


def test_a_long_list_goes_on_several_contents_cards():
    many = [rectangle(f"Piece {k}", 100, 100) for k in range(40)]
    cards = finish(a_set(*many), (200.0, 290.0))
    lists = [card for card in cards if card.piece == "Contents"]
    assert len(lists) == 2
    assert [card.id for card in lists] == ["contents-part-1", "contents-part-2"]
    assert all(max(np.ptp(card.outline, axis=0)) <= 290.0 for card in cards)
    assert all(min(np.ptp(card.outline, axis=0)) <= 200.0 for card in cards)
    assert not any(card.warnings for card in lists)


def test_joined_lines_keep_every_word_and_the_title_alone():
    lines = ["Neck band", "Beekeeper's smock", "style BK-01 size M", "cut 1 self", "card 2 of 9"]
    words = sorted(" ".join(lines).split())
    for block, first in chain.from_iterable(arrangements(lines, 5.0)):
        assert " ".join(block[:first]).startswith("Neck band")
        assert sorted(w for line in block for w in line.split() if w != "-") == words
        if len(block) > 1:
            assert "Beekeeper's" not in block[0]


def test_a_broken_title_is_of_one_size():
    """ISO 3098-1: 3.5 mm is the size after 2.5 mm; an L's upright is as high as the letter.

    The title is 19.7 mm long, and there is room for 17 by 21 mm.
    """
    card = box(0.0, 0.0, 23.0, 27.0)
    letters = lettered(["LLLL LL", "LLLL", "LLLL"], card, [], 2.5, None, titled=True)
    parts = [LineString(stroke.points).bounds for stroke in letters.strokes]
    rows = {round(foot, 3): top - foot for left, foot, right, top in parts if right - left < 0.01}
    high = [rows[foot] for foot in sorted(rows, reverse=True)]
    assert high == pytest.approx([3.5, 3.5, 2.5, 2.5])


def test_a_narrow_strip_is_lettered_along_it_in_whole_words():
    """16 mm less 3 on both sides hold two lines of 2.5 and 3.5 mm; across it, no word fits."""
    strip = Polygon([(0, 0), (16, 0), (16, 161), (0, 161)])
    arrow = LineString([(8, 60), (8, 100)]).buffer(3.0)
    grain = np.array([[8.0, 60.0], [8.0, 100.0]])
    letters = lettered(["Gusset 1", "cut 1 pair leather"], strip, [arrow], 5.0, grain, titled=True)
    assert letters.fits(2.5)
    (zone,) = letters.zones
    wide, tall = np.ptp(np.array(zone.exterior.coords), axis=0)
    assert tall > 3.0 * wide


def test_lines_are_not_broken_for_the_sake_of_the_grain():
    """Of a low band, its lines lie along it, where they have room, not up its short grain."""
    band = Polygon([(0, 0), (246, 0), (246, 60), (0, 60)])
    lines = ["Band", "Chore coat - style CC-1 size M", "cut 2 self on fold", "allowance 10 mm"]
    letters = lettered(lines, band, [], 5.0, np.array([[120.0, 5.0], [120.0, 55.0]]))
    assert letters.fits(5.0)
    wide, tall = np.ptp(np.array(letters.zones[0].exterior.coords), axis=0)
    assert wide > 2.0 * tall


def test_stripe_and_plaid_lines_are_lettered_beside_the_line():
    level = InternalLine("s", np.array([[0.0, 60.0], [200.0, 60.0]]), "stripe")
    upright = InternalLine("p", np.array([[100.0, 0.0], [100.0, 150.0]]), "plaid")
    piece = rectangle("Pocket", 200, 150)
    plain, marked = (
        finish(a_set(replace(piece, lines=lines)))[0] for lines in ((), (level, upright))
    )
    small = [s for s in of(marked, Mark.LETTERING) if np.ptp(s.points[:, 1]) <= 5.0]
    near = [s for s in small if abs(s.points[:, 1].mean() - 60.0) < 12.0]
    assert len(of(marked, Mark.LETTERING)) > len(of(plain, Mark.LETTERING))
    assert near
    for stroke in of(marked, Mark.LETTERING):
        letters = LineString(stroke.points)
        assert all(letters.distance(LineString(line.points)) > 1.0 for line in (level, upright))


def test_a_notch_in_the_top_edge_does_not_lower_the_hole():
    """Reference: the card's own height, which a notch in its top edge leaves as it is."""
    notch = Notch("top", 80.0, style=NotchStyle(NotchKind.V))
    card = finish(a_set(rectangle("Mouth", 160, 180, 30.0, notches=(notch,))))[0]
    assert len(card.outline) == 8  # the V is cut into it
    assert card.outline[:, 1].max() - card.hole[1] == pytest.approx(20.0)


def test_a_set_hangs_as_one_at_the_inset_that_the_most_cards_can_have():
    """Reference: every inset from 5 to 60 mm in steps of 0.1 is tried on every card by hand."""
    bar = LineString([(-50, 78), (150, 78)])  # a line 22 mm below the top of a card 100 mm tall
    card = Polygon([(0, 0), (100, 0), (100, 100), (0, 100)])
    plain, barred = plumb(card, card, [], [], 8.0), plumb(card, card, [], [bar.buffer(0.1)], 8.0)
    assert common_inset([plain, plain], 22.0) == 22.0
    every = [barred, barred, plain]
    inset = common_inset(every, 22.0)
    tried = np.arange(50, 600) / 10.0
    good = [at for at in tried if 10.0 <= at <= 42.0 and abs(at - 22.0) >= 6.1]
    assert inset == pytest.approx(min(good, key=lambda at: abs(at - 22.0)), abs=0.11)
    for each in every:
        place, told = hole_place(each, inset, 22.0, 8.0)
        assert place[1] == pytest.approx(100.0 - inset)
        assert "where most cards of the set have room" in told
    place, told = hole_place(barred, 22.0, 22.0, 8.0)
    assert "not 22.0 mm from the top, as on the other cards" in told


def test_a_set_does_not_hang_low_for_the_cards_that_only_can_hang_low():
    """Three of four have no room above 100 mm. Common practice: a card is punched near its top."""
    card = Polygon([(0, 0), (100, 0), (100, 400), (0, 400)])
    block = Polygon([(0, 300), (100, 300), (100, 400), (0, 400)])
    plain, low = (plumb(card, card, [], taken, 8.0) for taken in ([], [block]))
    assert common_inset([low, low, low, plain], 22.0) == 22.0
    assert common_inset([low, low], 22.0) == pytest.approx(
        106.0, abs=0.1
    )  # and 4 + 2 mm clear of it
