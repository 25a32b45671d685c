"""Splitting: nothing lost, nothing hurt, and the parts go together again by their marks."""

import re
from dataclasses import replace

import numpy as np
import pytest
from garments import a_front, a_set, edge, rectangle
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon
from shapely.ops import nearest_points, unary_union

from plotout.errors import UserError
from plotout.finish import finish
from plotout.finish.prepare import bare_card, cut_line, ready, turned
from plotout.finish.split import fits, parts
from plotout.geometry.polyline import moved, placing
from plotout.geometry.strokes import Mark
from plotout.pattern.model import Drill, Notch, Split
from plotout.pattern.settings import Defaults

LAP = 20.0


def a_body(**more):
    more.setdefault("grain", np.array([[100.0, 100.0], [100.0, 1300.0]]))
    return rectangle("Body", 300, 1400, **more)


def split(piece, window, lap=LAP):
    return parts(bare_card(piece, Defaults()), piece.splits, window, lap)


def shapes(bare_cards):
    return [Polygon(each.outline) for each in bare_cards]


def feet(card):
    """Where the matching marks meet the join: on the join line, or on the card's edge."""
    joins = [s.points for s in card.strokes if s.mark is Mark.JOIN]
    lines = [LineString(j) for j in joins if np.hypot(*(j[1] - j[0])) > 50]
    line = lines[0] if lines else Polygon(card.outline).exterior
    ticks = [LineString(j) for j in joins if np.hypot(*(j[1] - j[0])) <= 50]
    return np.array([nearest_points(line, tick)[0].coords[0] for tick in ticks])


def laid_on(source, target):
    """The rigid map that lays points `source` on `target` (Kabsch, by singular values)."""
    a, b = source.mean(axis=0), target.mean(axis=0)
    u, _, v = np.linalg.svd((source - a).T @ (target - b))
    turn = (u @ np.diag([1.0, np.linalg.det(u @ v)]) @ v).T
    return np.column_stack([turn, b - turn @ a])


@pytest.mark.parametrize("turn", [0, 1])
def test_each_part_is_lettered_with_its_own_share_of_a_tapered_allowance(turn):
    """By hand: 10 mm at one end of 1400 mm and 24 at the other is 10 + y / 100 at y.

    The lower part ends at y = 600, the upper 20 mm below, where it laps; end faces have 10 mm.
    """
    body = a_body(splits=(Split(((-100, 600), (400, 600)), LAP),))
    long = [n for n, one in enumerate(body.edges) if np.ptp(one.points[:, 1]) > 1000][turn]
    edges = list(body.edges)
    rises = edges[long].points[-1, 1] > edges[long].points[0, 1]
    edges[long] = replace(edges[long], allowance=(10.0, 24.0) if rises else (24.0, 10.0))
    upper, lower = split(replace(body, edges=tuple(edges)), None)
    for part, low, high in ((upper, "15.8", "24"), (lower, "10", "16")):
        (words,) = [one.texts[0] for one in part.labels if one.tapers]
        at = {end: f"{wide} mm" for end, wide in (("low", low), ("high", high))}
        before, after = (edges[(long + k) % len(edges)].name for k in (-1, 1))
        lower_end, upper_end = (before, after) if rises else (after, before)
        if part is lower:
            at["low"] += f" ({lower_end})"
        else:
            at["high"] += f" ({upper_end})"
        figures = f"{at['low']} to {at['high']}" if rises else f"{at['high']} to {at['low']}"
        assert words.endswith(figures)


@pytest.fixture(scope="module")
def lapped():
    line = Split(((-100, 200), (400, 200)), LAP)
    upper, lower, _ = finish(a_set(a_front(splits=(line,), notches=())))
    return upper, lower, Polygon(finish(a_set(a_front(notches=())))[0].outline)


@settings(max_examples=50, deadline=None)
@given(angle=st.floats(-180, 180), shift=st.floats(-500, 500))
def test_two_parts_go_together_by_their_marks_within_a_tenth(lapped, angle, shift):
    upper, lower, whole = lapped
    astray = placing(angle, (shift, -shift))
    found = feet(upper)
    back = laid_on(moved(feet(lower), astray), found)
    again = Polygon(moved(moved(lower.outline, astray), back)).buffer(1e-6)
    joined = unary_union([Polygon(upper.outline), again])
    assert len(found) == 3
    assert Polygon(joined.exterior).hausdorff_distance(whole) < 0.1
    assert joined.symmetric_difference(whole).area < 0.1


@pytest.mark.parametrize("window", [(400, 800), (800, 400), (280, 580), (200, 300), (310, 310)])
def test_every_part_fits_and_nothing_is_lost(window):
    piece = a_body(
        notches=(Notch("right", 500), Notch("left", 700, 2)), drills=(Drill((150, 700)),)
    )
    found = split(piece, window)
    whole = Polygon(cut_line(piece, Defaults()))
    assert all(fits(each.outline, window) for each in found)
    assert unary_union(shapes(found)).symmetric_difference(whole).area < 1e-3
    assert [each.part for each in found] == list(range(1, len(found) + 1))


@pytest.mark.parametrize(
    ("window", "least"),
    # n strips of h hold n h - (n - 1) lap: 1425.4 mm of body, 325.4 wide
    [((400, 800), 2), ((330, 800), 2), ((400, 490), 3), ((200, 1500), 2), ((280, 580), 6)],
)
def test_as_few_parts_as_the_sum_allows(window, least):
    assert len(split(a_body(), window)) == least


def test_areas_are_the_whole_and_its_underlaps():
    found = split(a_body(), (400, 490))
    whole = Polygon(cut_line(a_body(), Defaults())).area
    laps = (len(found) - 1) * LAP * 325.4
    assert sum(s.area for s in shapes(found)) == pytest.approx(whole + laps, rel=1e-6)


@pytest.mark.parametrize("window", [(450, 640), (640, 450)])
def test_of_as_few_parts_those_are_made_that_fit_most_easily(window):
    """Two parts both ways: along 640 mm there is most to spare."""
    piece = rectangle("Body", 260, 700, grain=np.array([[100.0, 100.0], [100.0, 600.0]]))
    first, _ = split(piece, window)
    (told,) = first.warnings
    assert told.endswith("it is 725 mm tall there, and the stock holds 640 mm")


def test_no_cut_goes_through_a_mark_where_there_is_another_place():
    marks = [Notch("right", along) for along in (600, 650, 700, 750)]
    piece = a_body(notches=tuple(marks), drills=(Drill((150, 680)), Drill((150, 720))))
    first, second = split(piece, (400, 800))
    cut = second.outline[:, 1].max()
    for y in (600, 650, 700, 750, 680, 720):
        assert min(abs(cut - y), abs(cut - LAP - y)) >= 8.0
    (told,) = first.warnings
    assert told == "divided at y 641 mm: it is 1425 mm tall there, and the stock holds 800 mm"
    assert not second.warnings


def test_a_notch_under_the_join_is_on_both_parts_or_none_is_near():
    found = split(a_body(notches=(Notch("right", 700),)), (400, 800))
    held = sum(any(n.what.startswith("the notch") for n in each.notches) for each in found)
    assert held == 1  # there was room to go round it


def test_no_cut_crosses_a_tight_curve():
    found = split(a_front(), (340, 450))
    cut = found[1].outline[:, 1].max()
    assert cut < 380  # below the armhole, whose quarter circle lies above


def test_both_cards_are_marked_and_told_apart():
    upper, lower, _ = finish(a_set(a_body()), (400, 800))
    assert (upper.id, lower.id) == ("body-part-1", "body-part-2")
    assert (upper.title, lower.title) == ("Body, part 1 of 2", "Body, part 2 of 2")
    assert sum(s.mark is Mark.UNDERLAP for s in upper.strokes) > 20
    assert not any(s.mark is Mark.UNDERLAP for s in lower.strokes)
    assert any(s.mark is Mark.GRAIN for s in upper.strokes)
    assert any(s.mark is Mark.GRAIN for s in lower.strokes)
    assert upper.number == 1
    assert lower.of == 3


def test_the_words_name_the_neighbours():
    found = split(a_body(), (280, 580))
    words = {each.part: [join.words for join in each.joins] for each in found}
    assert any("join to part 2" in text for text in words[1])
    assert any("join to part 1" in text for text in words[2])
    assert all("join to part" in text for texts in words.values() for text in texts)
    assert {text.split(" - ")[1] for texts in words.values() for text in texts} == {
        "this laps under", "this laps over"
    }  # fmt: skip


@pytest.mark.parametrize("turned_by", [0, 1, 2, 3])
def test_a_horseshoe_is_divided_through_its_bridge(turned_by):
    """A level line through its legs would make three; the reference is the union of the parts."""
    ring = np.array([[0, 0], [100, 0], [100, 700], [400, 700], [400, 0], [500, 0], [500, 800],
                     [0, 800]], dtype=float)  # fmt: skip
    quarter = np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), turned_by)
    edges = tuple(
        edge(f"e{k}", np.array([ring[k], ring[(k + 1) % len(ring)]]) @ quarter, 0.0)
        for k in range(len(ring))
    )
    made = split(replace(rectangle("Horseshoe", 10, 10), edges=edges), (640.0, 450.0))
    assert len(made) == 4
    assert all(fits(part.outline, (640.0, 450.0)) for part in made)
    whole = Polygon(ring @ quarter)
    assert unary_union(shapes(made)).symmetric_difference(whole).area < 1e-6
    assert sum("no line the other way" in text for part in made for text in part.warnings) == 1


def test_a_slanting_line_of_the_users():
    piece = a_body(splits=(Split(((-50, 600), (350, 800)), 30.0),))
    upper, lower = split(piece, None)
    whole = Polygon(cut_line(piece, Defaults()))
    lap = Polygon(upper.outline).intersection(Polygon(lower.outline))
    wide = 325.4 * np.hypot(400, 200) / 400
    assert lap.area == pytest.approx(30.0 * wide, rel=1e-6)
    assert unary_union(shapes([upper, lower])).symmetric_difference(whole).area < 1e-3


def test_two_lines_of_the_users_make_three_parts():
    lines = (Split(((-50, 500), (350, 500))), Split(((-50, 900), (350, 900))))
    found = split(a_body(splits=lines), None)
    assert [each.parts for each in found] == [3, 3, 3]


def test_a_line_beside_the_piece_is_refused():
    with pytest.raises(UserError, match="does not cross"):
        split(a_body(splits=(Split(((-50, 5000), (350, 5000))),)), None)


def test_stock_that_is_too_small_is_refused():
    with pytest.raises(UserError, match="underlap"):
        split(a_body(), (30, 30))
    with pytest.raises(UserError, match="more than 40 cards"):
        split(a_body(), (60, 60))


def test_every_part_on_the_fold_says_so_in_whole(front):
    """The bracket is drawn anew on each part: none is cut through by a join."""
    made = [card for card in finish(a_set(front), window=(400.0, 300.0)) if card.piece == "Front"]
    assert len(made) == 3
    for card in made:
        fold = [s.points for s in card.strokes if s.mark is Mark.FOLD]
        level = [p for p in fold if np.ptp(p[:, 0]) < 1e-6 and np.ptp(p[:, 1]) > 3.0]
        low, high = np.vstack(level)[:, 1].min(), np.vstack(level)[:, 1].max()
        left = Polygon(card.outline).intersection(LineString([(0.5, -99), (0.5, 999)]))
        assert (low, high) == pytest.approx((left.bounds[1], left.bounds[3]), abs=4.0)
        brackets = [p for p in fold if len(p) == 4]
        assert [len(p) for p in brackets] == [4]
        assert np.allclose(brackets[0][[0, -1], 0], brackets[0][0, 0])  # both its arrows' feet


@pytest.mark.parametrize(
    ("degrees", "told"),
    [
        (90.0, "divided at x 700 mm: it is 1425 mm wide there, and the stock holds 800 mm"),
        (-90.0, "divided at x -700 mm: it is 1425 mm wide there, and the stock holds 800 mm"),
        (180.0, "divided at y -700 mm: it is 1425 mm tall there, and the stock holds 800 mm"),
    ],
)
def test_a_piece_drawn_lying_is_told_in_its_drawings_directions(degrees, told):
    """The body turned about the origin: its middle at y 700 comes to lie at x 700, -700, y -700."""
    first, _ = split(ready(drawn_turned(degrees)), (400, 800))
    (note,) = first.warnings
    assert near(note, told)


def drawn_turned(degrees):
    """The body, drawn turned clockwise about the origin."""
    return replace(turned(a_body(), placing(-degrees)[:, :2].T), turn=0.0)


def near(note, told):
    """Return whether two notes are alike, their figures within 40 mm (the even place is best)."""
    figures = [[float(n) for n in re.findall(r"-?[\d.]+", text)] for text in (note, told)]
    words = [re.sub(r"-?[\d.]+", "", text) for text in (note, told)]
    return words[0] == words[1] and np.allclose(*figures, atol=40.0)


def test_a_slanted_joins_line_can_be_written_into_the_set_file():
    """Its ends, put into the set file as a split, divide the piece in the same place."""
    drawn = drawn_turned(30.0)
    first, second = split(ready(drawn), (400, 800))
    (note,) = first.warnings
    x1, y1, x2, y2 = map(float, re.findall(r"[xy] (-?\d+)", note))
    assert note.startswith("divided along the line from")
    asked = ready(replace(drawn, splits=(Split(((x1, y1), (x2, y2)), LAP),)))
    again = split(asked, None)
    assert "as the set file asks" in again[0].warnings[0]
    for part, other in zip((first, second), again, strict=True):
        assert Polygon(part.outline).area == pytest.approx(Polygon(other.outline).area, abs=400)


@pytest.mark.parametrize(
    ("y", "hit"),
    [(700, 1), (703, 1), (696, 1), (712, 0), (688, 0), (400, 1), (402, 1), (405, 0), (1200, 0)],
)
def test_a_join_through_a_mark_is_told(y, hit):
    """A double notch at 700 mm on the right, its slits 6 mm apart; a drill hole of 3 mm at 400."""
    line = Split(((-50, y), (400, y)), LAP)
    piece = a_body(notches=(Notch("right", 700, 2),), drills=(Drill((150, 400)),), splits=(line,))
    warnings = bare_card(ready(piece), Defaults()).warnings
    assert len([text for text in warnings if "the join runs through" in text]) == hit


def test_a_join_between_both_halves_of_a_whole_piece_hits_no_notch():
    """Along the fold line of a front made whole: its twin notches lie far to both sides."""
    line = Split(((0, -100), (0, 900)), LAP)
    piece = ready(a_front(whole=True, splits=(line,)))
    warnings = bare_card(piece, Defaults()).warnings
    assert not [text for text in warnings if "the join runs through" in text]


@pytest.mark.parametrize(
    ("line", "made"),
    [
        (((-10.0, 700.0), (310.0, 700.0)), True),
        (((100.0, 700.0), (200.0, 700.0)), True),  # within the piece: it is lengthened
        (((500.0, 700.0), (600.0, 700.0)), False),  # beside it, though lengthened it would cross
    ],
)
def test_a_split_that_is_drawn_beside_its_piece_is_refused(line, made):
    piece = a_body(splits=(Split(line),))
    if made:
        assert len(split(piece, None)) == 2
        return
    with pytest.raises(UserError, match="does not cross the piece"):
        split(piece, None)
