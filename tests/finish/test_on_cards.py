"""What a card in a workroom bears: every word read back as it was asked of the letters."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_front, a_set, edge, heights_of, rectangle
from shapely.geometry import LineString, MultiPoint, Polygon, box

from plotout.finish import card_marks, finish, label
from plotout.finish.edge_words import sewn_to
from plotout.finish.handed import has_no_hand
from plotout.finish.partners import partners
from plotout.finish.wording import hatch_left
from plotout.geometry.hatch import hatched
from plotout.geometry.lettering import text_lines
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.pattern.model import Area, Cut, InternalLine, Piece, Seam, Side
from plotout.pattern.settings import Corner, Defaults, OnCards
from plotout.tongue import PLAIN

UP = np.array([[60.0, 40.0], [60.0, 220.0]])
SEAM = Seam("set in", Side((("Front", "armhole", False),)), Side((("Sleeve", "head", False),)))


def skewed(name="Front", **more):
    """A piece that is not the same turned over."""
    ring = np.array([[0, 0], [200, 0], [200, 260], [120, 300], [0, 280], [0, 0]], float)
    names = ("hem", "side", "armhole", "shoulder", "centre front")
    edges = tuple(edge(n, ring[k : k + 2]) for k, n in enumerate(names))
    return Piece(name, edges, **{"cuts": (Cut("self"),), "grain": UP, **more})


@pytest.fixture
def lettered(monkeypatch):
    """Return a function: a set -> the words lettered on its first card, and the card."""

    def words_on(made):
        said = []

        def spy(module, name):
            plain = getattr(module, name)

            def noted(text, *args):
                lines = plain(text, *args)
                said.append((text, [points.copy() for points in lines]))
                return lines

            monkeypatch.setattr(module, name, noted)

        spy(label, "text_lines")
        spy(card_marks, "text_lines")
        card = finish(made)[0]
        monkeypatch.undo()
        drawn = [s.points for s in card.strokes if s.mark is Mark.LETTERING]
        return {text for text, lines in said if _there(lines, drawn)}, card

    return words_on


def _there(lines, drawn):
    """True where the same letters, moved and turned, are among the strokes that are drawn."""
    sizes = [np.hypot(*np.diff(points, axis=0).T) for points in drawn]
    wanted = [np.hypot(*np.diff(points, axis=0).T) for points in lines]
    return bool(wanted) and all(
        any(len(a) == len(b) and np.allclose(a, b, atol=1e-6) for b in sizes) for a in wanted
    )


def test_a_card_bears_what_a_patternmaker_letters_by_hand(lettered):
    piece = skewed(one_way=True, front="centre front", bias=True)
    edges = (replace(piece.edges[0], allowance=(30.0, 30.0)), *piece.edges[1:])
    made = a_set(replace(piece, edges=edges), seams=(SEAM,), version="4")
    words, card = lettered(made)
    assert words >= {
        "Front", "style BK-01 size M", "cut 1 self, as drawn", "cut on the bias", "lay one way",
        "right side up", "allowance 12.7 mm", "2026-04-11, version 4", "card 1 of 2",
        "hem, 30 mm", "armhole, to Sleeve", "shoulder", "centre front",
    }  # fmt: skip
    heads = [s for s in card.strokes if s.mark is Mark.GRAIN and len(s.points) == 3]
    assert len(heads) == 1
    assert heads[0].points[1][1] > 200.0  # at the grain line's head, which is up


@pytest.mark.parametrize(
    ("switch", "gone"),
    [
        ("edges", {"hem", "shoulder", "centre front"}),
        ("sewn_to", {"armhole, to Sleeve"}),
        ("right_side", {"right side up"}),
        ("as_drawn", {"cut 1 self, as drawn"}),
        ("one_way", {"lay one way"}),
        ("allowance", {"allowance 12.7 mm"}),
        ("dated", {"2026-04-11, version 4"}),
        ("front", {"front: side"}),
    ],
)
def test_each_can_be_switched_off_for_the_whole_set(lettered, switch, gone):
    piece = skewed(one_way=True, front="side")
    made = a_set(piece, seams=(SEAM,), version="4")
    assert gone <= lettered(made)[0]
    off = Defaults(on_cards=OnCards(**{switch: False}))
    words, card = lettered(replace(made, defaults=off))
    assert not gone & words
    if switch == "one_way":
        assert len([s for s in card.strokes if s.mark is Mark.GRAIN and len(s.points) == 3]) == 2


def test_a_reversed_piece_says_so_and_a_symmetric_one_says_nothing(lettered):
    cuts = (Cut("self"), Cut("lining", reversed=True))
    assert {"cut 1 self, as drawn", "cut 1 lining, reversed"} <= lettered(a_set(skewed(cuts=cuts)))[
        0
    ]
    words, _ = lettered(a_set(rectangle("Patch", 150, 180, grain=UP)))
    assert "cut 1 self" in words
    assert has_no_hand(rectangle("Patch", 150, 180))
    assert not has_no_hand(skewed())


def test_no_edge_of_a_piece_without_allowance_bears_a_figure(lettered):
    words, _ = lettered(a_set(rectangle("Stay", 160, 180, 0.0)))
    assert "no allowance" in words
    assert not [text for text in words if "0 mm" in text]


def test_words_keep_off_the_edge_and_off_one_another():
    for made in (a_set(skewed(), seams=(SEAM,)), a_set(a_front(), a_front(whole=True))):
        for card in finish(made):
            letters = [s.points for s in card.strokes if s.mark is Mark.LETTERING]
            block = MultiPoint(np.vstack(letters))
            assert Polygon(card.outline).buffer(-2.9).contains(block)


def test_what_an_edge_is_sewn_to_is_told_from_either_side():
    own = Seam("side", Side((("Front", "side", False),)), Side((("Front", "hem", True),)))
    over = Seam(
        "neck",
        Side((("Collar", "neck", False),)),
        Side((("Back", "neck", False), ("Front", "shoulder", True))),
    )
    met = partners(a_set(skewed(), seams=(SEAM, own, over)))
    assert sewn_to("armhole", skewed(), met, PLAIN) == "Sleeve"
    assert sewn_to("side", skewed(), met, PLAIN) == "hem"
    assert sewn_to("shoulder", skewed(), met, PLAIN) == "Collar"
    assert sewn_to("neck", replace(skewed(), name="Collar"), met, PLAIN) == "Back and Front"
    assert sewn_to("centre front", skewed(), met, PLAIN) == ""


def test_a_folded_facing_is_marked_within_its_allowance():
    piece = skewed()
    facing = replace(piece.edges[-1], allowance=(60.0, 60.0), corner=Corner.TURNED, facing=True)
    made = a_set(replace(piece, edges=(*piece.edges[:-1], facing)))
    card = finish(made)[0]
    hatch = [s for s in card.strokes if s.mark is Mark.AREA]
    strip = Polygon([(-60, 0), (0, 0), (0, 280), (-60, 280)]).buffer(1e-6)
    assert hatch
    assert all(strip.contains(LineString(s.points)) for s in hatch)
    dashes = [s.points for s in card.strokes if s.mark is Mark.INTERNAL]
    assert np.abs(np.vstack(dashes)[:, 0]).max() < 1e-9  # the fold lies on the stitching line
    assert np.ptp(np.vstack(dashes)[:, 1]) == pytest.approx(280.0)
    off = finish(replace(made, defaults=Defaults(on_cards=OnCards(facing=False))))[0]
    assert not [s for s in off.strokes if s.mark in (Mark.AREA, Mark.INTERNAL)]


@pytest.mark.parametrize("wide", [50.0, 79.0, 90.0])
def test_a_facing_along_a_tight_neck_is_marked_where_its_allowance_is(wide):
    """A neck of a U, 30 mm at its tightest: the facing's parallel has loops, no allowance.

    Reference: no stroke of the hatch lies further from the neck than the facing is wide.
    """
    u = np.linspace(0.0, np.pi / 2.0, 80)
    neck = np.column_stack([90.0 * np.cos(u) ** 0.6, 560.0 - 80.0 * np.sin(u) ** 0.6])
    edges = (
        edge("hem", [[0, 0], [260, 0]]),
        edge("side", [[260, 0], [230, 520]]),
        edge("shoulder", [[230, 520], neck[0]]),
        edge("neck", neck, wide, corner=Corner.TURNED, facing=True),
        edge("centre front", [neck[-1], [0, 0]]),
    )
    card = finish(a_set(Piece("Front", edges, (Cut("self"),), grain=UP)))[0]
    hatch = [s.points for s in card.strokes if s.mark is Mark.AREA]
    near = LineString(neck).buffer(wide + 0.01)
    assert hatch
    assert all(near.contains(LineString(points)) for points in hatch)


@pytest.mark.parametrize("side", [60.0, 40.0, 30.0, 25.0])
def test_a_card_that_bears_an_order_says_how_it_lies(lettered, side):
    """Cut straight, a piece for the bias is spoilt: its words go after its edges' names."""
    piece = replace(rectangle("Disc", side, side), cuts=(Cut("self"),), bias=True, one_way=True)
    words, _ = lettered(a_set(piece))
    single = {word for line in words for word in line.split()}  # lines may be broken into words
    assert "Disc" in single
    assert ("self" in single) == ("bias" in single) == ("lay" in single)
    assert side < 30.0 or "bias" in single


def test_a_card_that_is_turned_over_is_not_right_side_up(lettered):
    assert "right side up" in lettered(a_set(skewed()))[0]
    words, _ = lettered(a_set(skewed(cuts=(Cut("self", reversed=True),))))
    assert "cut 1 self, reversed" in words
    assert "right side up" not in words


@pytest.mark.parametrize("size", [(120, 60), (60, 30), (40, 8), (20, 8), (10, 10), (5, 5), (3, 3)])
def test_no_card_is_left_blank_however_small(lettered, size):
    piece = rectangle("Button tab", *size, 1.0, cuts=(Cut("self", 4),))
    words, card = lettered(a_set(piece))
    assert words
    letters = [s.points for s in card.strokes if s.mark is Mark.LETTERING]
    assert Polygon(card.outline).buffer(-0.5).contains(MultiPoint(np.vstack(letters)))
    lost = [text for text in card.warnings if "no room for: " in text]
    assert bool(lost) is (size[0] < 120)
    if size[0] >= 60:
        joined = " ".join(words)
        assert "Button tab" in joined
        assert "cut 4 self" in joined
    if min(size) >= 8:  # ISO 3098-1: 2.5 mm is the least nominal size
        assert min(heights_of(letters)) >= 2.5 - 1e-6
    if words == ["1"]:
        assert any("contents card" in text for text in card.warnings)


def test_the_same_set_gives_the_same_card():
    first, second = (finish(a_set(skewed(), seams=(SEAM,)))[0] for _ in range(2))
    assert len(first.strokes) == len(second.strokes)
    pairs = zip(first.strokes, second.strokes, strict=True)
    assert all(np.array_equal(a.points, b.points) for a, b in pairs)


def test_hatching_stops_about_letters():
    """Nothing of the hatch crosses the hull of a letter."""
    band = np.array([[0, 0], [200, 0], [200, 60], [0, 60], [0, 0]], float)
    card = finish(a_set(skewed(areas=(Area("fusing", band),))))[0]
    hatch = [LineString(s.points) for s in card.strokes
             if s.mark is Mark.AREA and len(s.points) == 2]  # fmt: skip
    letters = [LineString(s.points) for s in card.strokes
               if s.mark is Mark.LETTERING and len(s.points) > 1]  # fmt: skip
    assert min(h.distance(each) for h in hatch for each in letters) > 1.0


def test_hatching_stops_between_words():
    """Nothing of the hatch stands in the line of a name that lies in it."""
    area = Polygon([(-60, -60), (160, -60), (160, 60), (-60, 60)])
    letters = [Stroke(p, Work.DRAW, Mark.LETTERING) for p in text_lines("soft woven fusing", 5.0)]
    hatch = [Stroke(line, Work.DRAW, Mark.AREA) for line in hatched(area, 3.0)]
    left = [s for s in hatch_left([*hatch, *letters]) if s.mark is Mark.AREA]
    left_x, _, right_x, _ = MultiPoint(np.vstack([s.points for s in letters])).bounds
    row = box(left_x, 0.0, right_x, 3.3)  # as high as small letters
    assert len(left) > 40
    assert not any(row.intersects(LineString(s.points)) for s in left)


def test_nothing_is_lettered_in_a_cut_out_that_is_cut_off_at_the_cards_edge():
    """It falls out with the waste: by hand, 20 mm deep along 40 mm of the left."""
    window = np.array([[-30, 80], [20, 80], [20, 120], [-30, 120], [-30, 80]], float)
    piece = rectangle("Panel", 100, 200, 12.7, grain=UP / [1.5, 1.5])
    card = finish(a_set(replace(piece, lines=(InternalLine("w", window, "cut-out"),))))[0]
    letters = [s.points for s in card.strokes if s.mark is Mark.LETTERING]
    assert len(letters) > 10
    for points in letters:
        x, y = points.T
        assert not ((x < 20) & (y > 80) & (y < 120)).any()
