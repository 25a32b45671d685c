"""Names along internal lines: beside their line, inside the card, clear of all else (shapely)."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from garments import a_set, rectangle
from shapely.geometry import LineString, MultiPoint, Polygon, box

from plotout import job
from plotout.finish.bare_card import Label
from plotout.finish.complete import begun
from plotout.finish.lettered_card import Heading, lettered_card
from plotout.finish.naming import label_strokes
from plotout.finish.prepare import bare_card
from plotout.geometry.strokes import Mark
from plotout.pattern.model import InternalLine
from plotout.pattern.settings import Defaults, OnCards
from plotout.tongue import PLAIN

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"
CARD = box(0, 0, 200, 300)


def named(points, others=(), card=CARD, name="pleat line"):
    line = Label(np.array(points, dtype=float), (name,))
    return label_strokes([line], card, [LineString(line.points), *others]).strokes, line


@pytest.mark.parametrize(
    "points",
    [[(40, 40), (40, 260)], [(30, 150), (170, 150)], [(20, 20), (180, 280)], [(180, 30), (20, 90)]],
)
def test_a_name_lies_along_its_line_within_the_card(points):
    letters, line = named(points)
    assert {stroke.mark for stroke in letters} == {Mark.LETTERING}
    block = MultiPoint(np.vstack([stroke.points for stroke in letters]))
    assert CARD.buffer(-3.0).contains(block)
    gaps = shapely.distance(LineString(line.points), shapely.points(shapely.get_coordinates(block)))
    assert gaps.min() >= 1.49
    assert gaps.max() < 2.5 * 3.5


def test_it_gives_way_to_other_marks_and_is_left_out_without_room():
    points = [(30, 150), (170, 150)]
    busy = box(70, 140, 130, 160)  # lettering about the middle
    letters, _ = named(points, [busy])
    block = MultiPoint(np.vstack([stroke.points for stroke in letters])).convex_hull
    assert block.distance(busy) >= 1.49
    assert named(points, [box(0, 100, 200, 149), box(0, 151, 200, 200)])[0] == []
    assert named([(30, 150), (36, 150)])[0] == []
    assert named(points, card=Polygon([(0, 149), (200, 149), (200, 151), (0, 151)]))[0] == []


@pytest.mark.parametrize("far", [0.0, 2.0, 4.9])
def test_words_stand_so_far_apart_that_nobody_reads_on_from_one_to_the_other(far):
    """At least a letter's height, by the letters' own points; a space is less than that."""
    line = Label(np.array([(10.0, 150.0), (190.0, 150.0)]), ("skirt, to Skirt",))
    end = ended([line])
    block = box(end + 1.5 + far, 140, end + 60, 170)  # its first line would be read on with it
    found = label_strokes([line], CARD, [block], [block]).strokes
    letters = MultiPoint(np.vstack([stroke.points for stroke in found]))
    assert letters.distance(block) >= 3.5


def ended(labels):
    return max(stroke.points[:, 0].max() for stroke in label_strokes(labels, CARD, []).strokes)


def test_words_along_neighbouring_lines_are_apart():
    """Both fill their lines but for 2 mm; one is lettered smaller, then."""
    word = "waist front to side"
    one = Label(np.array([(10.0, 150.0), (110.0, 150.0)]), (word,))
    size = 2.0 * (ended([one]) - 60.0) + 2.0
    ends = [10.0, 10.0 + size, 10.0 + 2.0 * size]
    lines = [[(start, 150.0), (end, 150.0)] for start, end in pairwise(ends)]
    found = label_strokes([Label(np.array(line), (word,)) for line in lines], CARD, [])
    assert not found.warnings
    left = [s.points for s in found.strokes if s.points[:, 0].mean() < ends[1]]
    right = [s.points for s in found.strokes if s.points[:, 0].mean() > ends[1]]
    assert MultiPoint(np.vstack(left)).distance(MultiPoint(np.vstack(right))) >= 3.5


@pytest.mark.parametrize(("long", "wide"), [(250.0, 36.0), (290.0, 36.0), (190.0, 56.0)])
def test_words_along_edges_are_not_read_on_from_the_block(long, wide):
    """They are lettered last, where there is room farther from the block. All run level here."""
    names = ("skirt to the waist", "tie end", "top of the bib", "other end")
    grain = np.array([[40.0, 21.0], [long - 40.0, 21.0]])
    plain = rectangle("Waistband", long, wide, 10.0, grain=grain)
    edges = tuple(replace(one, name=n) for one, n in zip(plain.edges, names, strict=True))
    made = a_set(replace(plain, edges=edges))
    start = begun(bare_card(made.pieces[0], Defaults()), Defaults(), PLAIN)
    heading = Heading("Waistband", 1, 2, "waistband")
    written = lettered_card(start.made, start.shape, start.taken, (), made, heading)
    words = MultiPoint(np.vstack([s.points for s in written.block.strokes]))
    assert written.along.strokes
    for stroke in written.along.strokes:
        low, foot, high, top = MultiPoint(stroke.points).bounds
        assert box(low - 3.5, foot, high + 3.5, top).distance(words) > 0.0


def test_what_has_no_room_along_its_line_is_told():
    """An edge of another part, or of which the card has little, is not missed; a short one is."""
    little, short = [(180, 10), (600, 10)], [(190, 1), (190, 19)]
    lines = ([(0, 10), (200, 10)], little, [(300, 0), (400, 0)], short)
    labels = [Label(np.array(line, float), (f"edge {nth}",)) for nth, line in enumerate(lines)]
    found = label_strokes(labels, CARD, [box(0, 0, 200, 25)])
    assert (found.strokes, found.lost, found.short) == ([], ["edge 0", "edge 3"], [])


@pytest.mark.parametrize(("room", "told"), [(120, []), (24, ["side, to Back leg"]), (8, [])])
def test_words_that_are_shortened_for_want_of_room_are_told(room, told):
    label = Label(np.array([(10.0, 20.0), (190.0, 20.0)]), ("side, to Back leg", "side"))
    others = [box(10, 0, 100 - room / 2, 60), box(100 + room / 2, 0, 190, 60)]
    found = label_strokes([label], CARD, others)
    assert found.short == told
    assert found.lost == ([] if found.strokes else ["side, to Back leg"])
    assert len(found.warnings) == bool(told or found.lost)


def test_the_number_of_a_dxf_layer_is_no_name():
    """ASTM D6673-10: internal lines lie on layer 8. The sample's pocket has one, without a name."""
    pieces = job.read_set(SAMPLE).pieces
    (pocket,) = (piece for piece in pieces if piece.name == "Pocket")
    lines = [line for line in pocket.lines if line.kind == "internal"]
    assert lines
    plain = Defaults(on_cards=OnCards(edges=False, sewn_to=False, allowance=False, front=False))
    assert bare_card(pocket, plain).labels == ()


def test_of_many_lines_of_one_name_the_longest_bear_it():
    tucks = [
        InternalLine("tuck", np.array([(20.0, at), (180.0 - at / 10.0, at)]))
        for at in np.arange(280.0, 20.0, -20.0)
    ]
    pocket = InternalLine("pocket", np.array([(40.0, 30.0), (60.0, 30.0)]))
    piece = replace(rectangle("Front", 200.0, 300.0), lines=(*tucks, pocket))
    labels = [label for label in bare_card(piece, Defaults()).labels if not label.inward]
    assert [label.texts[0] for label in labels] == ["tuck"] * 4 + ["pocket"]
    assert sorted(label.points[0, 1] for label in labels[:4]) == [40.0, 60.0, 80.0, 100.0]
