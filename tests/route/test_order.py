"""Orders are checked against enumeration, and against shapely for what is worked."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout.errors import UserError
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Bed, Machine, Tool, ToolKind
from plotout.machine.choice import tool_of
from plotout.route import order


def line(*points, work=Work.CUT, mark=Mark.INTERNAL, card="a"):
    return Stroke(np.array(points, dtype=np.float64), work, mark, card)


def square(x, y, size, **kw):
    return line((x, y), (x + size, y), (x + size, y + size), (x, y + size), (x, y), **kw)


def covered(strokes):
    return shapely.union_all([shapely.LineString(s.points) for s in strokes if len(s.points) > 1])


def total(strokes):
    return sum(s.length for s in strokes)


def walked(route, start=(0.0, 0.0)):
    at, whole = start, 0.0
    for stroke in route.strokes:
        whole += math.dist(at, stroke.points[0])
        at = stroke.points[-1]
    return whole


coordinate = st.floats(0, 500).map(lambda v: round(v, 2))
place = st.tuples(coordinate, coordinate)


@st.composite
def any_stroke(draw):
    work = draw(st.sampled_from(list(Work)))
    points = draw(st.lists(place, min_size=1, max_size=5))
    if len(points) > 2 and draw(st.booleans()):
        points.append(points[0])
    return line(*points, work=work, card=draw(st.sampled_from(["a", "b"])))


@settings(max_examples=60, deadline=None)
@given(st.lists(any_stroke(), max_size=14))
def test_nothing_lost_nothing_twice(strokes):
    route = order(strokes, steps=50)
    assert {k for source in route.sources for k in source} == set(range(len(strokes)))
    assert route.travel == pytest.approx(walked(route))
    works = [list(Work).index(s.work) for s in route.strokes]
    assert works == sorted(works)
    for work in Work:
        before = covered([s for s in strokes if s.work is work])
        after = covered([s for s in route.strokes if s.work is work])
        assert before.difference(after.buffer(0.02)).length < 1e-6
        assert after.difference(before.buffer(0.02)).length < 1e-6
        assert total([s for s in route.strokes if s.work is work]) <= (
            total([s for s in strokes if s.work is work]) + 0.02 * len(strokes)
        )


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(place, place), min_size=1, max_size=5, unique=True))
def test_few_strokes_are_ordered_as_enumeration_finds(ends):
    strokes = [line(*pair, card=str(nth)) for nth, pair in enumerate(ends)]
    found = order(strokes)
    best = math.inf
    for way in itertools.permutations(range(len(strokes))):
        for turns in itertools.product((0, 1), repeat=len(strokes)):
            at, whole = (0.0, 0.0), 0.0
            for nth, turn in zip(way, turns, strict=True):
                whole += math.dist(at, ends[nth][turn])
                at = ends[nth][1 - turn]
            best = min(best, whole)
    if len(found.strokes) == len(strokes) and total(found.strokes) == pytest.approx(total(strokes)):
        assert found.travel == pytest.approx(best, abs=1e-6)


def test_inner_before_outer_four_deep():
    rng = np.random.default_rng(4)
    strokes = [
        square(200 * i + 10 * d, 200 * j + 10 * d, 150 - 20 * d, mark=Mark.OUTLINE, card=f"{i}{j}")
        for i in range(5) for j in range(2) for d in range(4)
    ]  # fmt: skip
    strokes = [strokes[k] for k in rng.permutation(len(strokes))]
    route = order(strokes)
    areas = [shapely.Polygon(s.points) for s in route.strokes]
    assert len(areas) == 40
    for (i, early), (j, late) in itertools.combinations(enumerate(areas), 2):
        assert not early.contains(late), (i, j)


def test_a_chain_closes_to_one_contour():
    corners = [(10, 10), (60, 10), (60, 60), (10, 60)]
    sides = [line(corners[k], corners[(k + 1) % 4]) for k in (0, 2, 1, 3)]
    route = order(sides)
    assert len(route.strokes) == 1
    assert route.strokes[0].closed
    assert route.strokes[0].length == pytest.approx(200.0)
    assert route.travel == pytest.approx(math.hypot(10, 10))


def test_a_network_takes_half_its_odd_points():
    # Euler's bridges of Koenigsberg (1736): 4 odd places, 7 bridges: 2 trails
    a, b, c, d = (0, 0), (100, 0), (50, 60), (50, -60)
    bridges = [(a, c), (a, (30, 50), c), (a, d), (a, (30, -50), d), (a, b), (c, b), (d, b)]
    route = order([line(*way, work=Work.DRAW) for way in bridges])
    assert len(route.strokes) == 2
    assert total(route.strokes) == pytest.approx(sum(total([line(*w)]) for w in bridges))


def test_crossing_loops_are_drawn_in_one():
    loops = [square(0, 0, 50, work=Work.DRAW), square(25, 25, 50, work=Work.DRAW)]
    route = order(loops)
    assert len(route.strokes) == 1
    assert total(route.strokes) == pytest.approx(400.0)


def test_shared_edge_is_cut_once():
    cards = [square(0, 0, 100, mark=Mark.OUTLINE, card="a"),
             square(100, 0, 100, mark=Mark.OUTLINE, card="b")]  # fmt: skip
    route = order(cards)
    assert total(route.strokes) == pytest.approx(700.0)
    assert {s.card for s in route.strokes} == {"a", "b"}


def test_a_touch_point_between_vertices():
    contours = [square(50, -50, 100), square(300, -50, 100, card="b")]
    route = order(contours, start=(0.0, 13.0))
    assert route.travel == pytest.approx(50.0 + 250.0)


def test_same_steps_same_result():
    rng = np.random.default_rng(0)
    strokes = [line(p, p + rng.normal(0, 9, 2)) for p in rng.uniform(0, 300, (80, 2))]
    one, two = order(strokes, steps=300, seed=7), order(strokes, steps=300, seed=7)
    assert one.sources == two.sources
    assert one.travel == two.travel


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_what_is_no_number_is_named(bad):
    with pytest.raises(UserError, match="stroke 2"):
        order([line((0, 0), (1, 1)), line((0, bad), (1, 1))])


def test_none_one_and_all_in_one_place():
    assert order([]).strokes == ()
    assert order([]).travel == 0.0
    assert order([line((3, 4))]).travel == pytest.approx(5.0)
    spots = [line((3, 4), (3, 4), card=str(k)) for k in range(20)]
    assert order(spots).travel == pytest.approx(5.0)


def test_ten_thousand_alike_are_worked_once():
    route = order([line((0, 0), (30, 10))] * 10_000)
    assert len(route.strokes) == 1
    assert sorted(route.sources[0]) == list(range(10_000))


def rings(count, seed):
    """Contours of eight corners, one in each cell of a grid."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * math.pi, 9)
    found = []
    for k in range(count):
        middle = np.array([k % 8, k // 8]) * 60.0 + 30.0
        ring = middle + np.column_stack([np.cos(angle), np.sin(angle)]) * rng.uniform(14, 27)
        ring = np.roll(ring[:-1], rng.integers(8), axis=0)
        found.append(line(*ring, ring[0], mark=Mark.CUTOUT, card=str(k)))
    return found


def test_touch_points_save_a_quarter_of_the_travel_between_fixed_starts():
    contours = rings(64, 1)
    fixed = [line(s.points[0], work=Work.PUNCH, card=s.card) for s in contours]
    assert order(contours).travel <= 0.75 * order(fixed).travel


@pytest.mark.parametrize("strokes", [rings(30, 2), [
    line(p, p + 5.0, card=str(p)) for p in np.random.default_rng(3).uniform(0, 300, (60, 2))
]])  # fmt: skip
def test_a_longer_search_is_never_worse(strokes):
    found = [order(strokes, steps=steps).travel for steps in (0, 100, 200, 700, 1500)]
    assert found == sorted(found, reverse=True)


def test_nested_contours_are_near_what_a_hundred_times_longer_finds():
    deep = [
        square(x + 9 * d, y + 5 * d, 80 - 20 * d, mark=Mark.CUTOUT, card=f"{x}")
        for x in (0, 130, 210) for y in (0, 90) for d in range(3)
    ]  # fmt: skip
    assert order(deep).travel <= 1.03 * order(deep, steps=20_000, seed=2).travel


def test_where_the_tool_goes_on_to_counts():
    strokes = [line((x, 0), (x, 5), work=Work.DRAW, card=str(x)) for x in (10, 20, 30)]
    strokes.append(line((31, 4), (40, 4), card="last"))
    assert [s.card for s in order(strokes).strokes] == ["10", "20", "30", "last"]


def test_a_card_within_the_cut_out_of_another_is_cut_first():
    cards = [
        square(0, 0, 100, mark=Mark.OUTLINE, card="outer"),
        square(20, 20, 60, mark=Mark.CUTOUT, card="outer"),
        square(30, 30, 20, mark=Mark.OUTLINE, card="inner"),
    ]
    worked = [s.card for s in order(cards).strokes]
    assert worked == ["inner", "outer", "outer"]


@pytest.mark.parametrize("strokes", [rings(30, 2), [
    line(p, p + 5.0, card=str(p)) for p in np.random.default_rng(3).uniform(0, 300, (60, 2))
]])  # fmt: skip
def test_ctrl_c_keeps_the_best_so_far(strokes):
    def stop(_stage, share):
        if share > 0.3:
            raise KeyboardInterrupt

    route = order(strokes, steps=2000, progress=stop)
    assert route.stopped
    assert sorted(k for source in route.sources for k in source) == list(range(len(strokes)))
    assert route.travel == pytest.approx(walked(route))
    assert route.travel <= order(strokes, steps=0).travel


def test_ten_thousand_nearly_alike_end_in_time():
    rng = np.random.default_rng(5)
    ends = np.array([(10.0, 10.0), (40.0, 20.0)]) + rng.normal(0, 0.0005, (10_000, 2, 2))
    strokes = [line(*pair, card=str(nth)) for nth, pair in enumerate(ends)]
    route = order(strokes, steps=100)
    assert {k for source in route.sources for k in source} == set(range(len(strokes)))


def test_contours_that_cross_are_all_cut():
    crossing = [square(11 * k, 7 * k, 50, card=str(k)) for k in range(12)]
    route = order(crossing)
    assert total(route.strokes) == pytest.approx(12 * 200.0)
    bow = line((0, 0), (50, 50), (50, 0), (0, 50), (0, 0))
    assert len(order([bow, square(200, 0, 10)]).strokes) == 2


def test_strokes_without_length_are_kept():
    spots = [line((x, 5), (x, 5), (x, 5), card=str(x)) for x in range(12)]
    assert len(order(spots).strokes) == 12


@pytest.mark.thorough
def test_ten_thousand_that_cross_end_in_time():
    rng = np.random.default_rng(6)
    angle, middle = rng.uniform(0, math.pi, 10_000), rng.normal(0, 20, (10_000, 2))
    way = 500.0 * np.column_stack([np.cos(angle), np.sin(angle)])
    strokes = [line(p - v, p + v) for p, v in zip(middle, way, strict=True)]
    route = order(strokes, steps=0)
    assert total(route.strokes) == pytest.approx(total(strokes))


def test_what_lies_on_a_slanting_line_is_found_wherever_it_lies():
    slant = line((0, 0), (400, 300))
    parts = [line((4 * k, 3 * k), (4 * k + 8, 3 * k + 6)) for k in range(0, 95, 7)]
    parts.append(line((-8, -6), (4, 3)))
    assert total(order([slant, *parts]).strokes) == pytest.approx(510.0)


def least_by_brute_force(contours, start, places=300):
    """Travel through closed contours in their best order, begun at any of so many places each."""
    spots = [
        shapely.get_coordinates(
            shapely.line_interpolate_point(
                shapely.LineString(s.points), np.linspace(0, 1, places), normalized=True
            )
        )
        for s in contours
    ]
    best = math.inf
    for way in itertools.permutations(spots):
        whole = np.hypot(*(way[0] - start).T)
        for a, b in itertools.pairwise(way):
            whole = (whole[:, None] + np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1))).min(0)
        best = min(best, float(whole.min()))
    return best


@pytest.mark.parametrize("seed", range(12))
def test_few_contours_are_ordered_and_begun_as_brute_force_finds(seed):
    rng = np.random.default_rng(seed)
    contours = []
    for k in range(4):
        angle = np.sort(rng.uniform(0, 2 * math.pi, 7))
        reach = rng.uniform(15, 60, 7)
        ring = np.column_stack([np.cos(angle), np.sin(angle)]) * reach[:, None]
        ring += rng.uniform(0, 300, 2)
        contours.append(line(*ring, ring[0], mark=Mark.CUTOUT, card=str(k)))
    found = order([replace(s, work=Work.DRAW, card=s.card) for s in contours], (0.0, 0.0))
    if len(found.strokes) == len(contours):
        assert found.travel <= 1.001 * least_by_brute_force(contours, np.zeros(2)) + 0.05


@pytest.mark.parametrize("turn", [0.1, 33.3, 90.0, 146.9, 271.0])
def test_slits_that_begin_on_an_outline_come_before_it_however_it_is_turned(turn):
    """Reference: the slit's beginning is a point of the outline, worked out before the turn."""
    way = np.radians(turn)
    matrix = np.array([[np.cos(way), -np.sin(way), 301.7], [np.sin(way), np.cos(way), 205.3]])
    ring = np.array([[0, 0], [71, 0], [33, 52], [0, 44], [0, 0.0]])
    strokes = [line(*ring, mark=Mark.OUTLINE)]
    for nth, (a, b) in enumerate(itertools.pairwise(ring)):
        at = a + (0.31 + 0.07 * nth) * (b - a)
        strokes.append(line(at, at + 0.15 * (np.array([25, 22]) - at), mark=Mark.NOTCH))
    done = order([stroke.moved(matrix) for stroke in strokes]).strokes
    assert [stroke.mark for stroke in done] == [Mark.NOTCH] * 4 + [Mark.OUTLINE]


def test_an_outline_in_parts_ends_after_all_else_on_its_card():
    """On a roll worked in frames a card's outline is in parts: one of them has to come last."""
    parts = [line((0, 0), (100, 0), mark=Mark.OUTLINE), line((0, 60), (100, 60), mark=Mark.OUTLINE)]
    slits = [line((x, 0), (x, 5), mark=Mark.NOTCH) for x in (20, 50, 80)]
    done = order([*parts, *slits]).strokes
    assert done[-1].mark is Mark.OUTLINE


@pytest.mark.parametrize("punch", [3.0, 8.0, None])
def test_no_tool_is_changed_more_often_than_the_order_of_work_needs(punch):
    """By hand: one change to each tool, though holes of 3 and 8 mm, and of 5 that no punch has,
    come before slits and outline. What the punch doesn't fit is cut with these.
    """
    tools = [Tool("pen", 1, ToolKind.PEN, (Work.DRAW,), 100.0),
             Tool("knife", 3, ToolKind.TANGENTIAL_KNIFE, (Work.CUT,), 100.0)]  # fmt: skip
    if punch:
        tools.insert(1, Tool("punch", 2, ToolKind.PUNCH, (Work.PUNCH,), 100.0, size=punch))
    machine = Machine("m", "M", "knife", "gcode", Bed(700.0, 700.0), tuple(tools))
    holes = [replace(line((50.0 * at, 40.0), work=Work.PUNCH), size=size)
             for at, size in enumerate((8.0, 3.0, 5.0, 3.0, 8.0), 1)]  # fmt: skip
    slit, outline = line((60, 60), (70, 60)), square(0, 0, 300, mark=Mark.OUTLINE)
    words = line((100, 100), (120, 100), work=Work.DRAW, mark=Mark.LETTERING)
    route = order([outline, slit, *holes, words], machine=machine, steps=50)
    used = [tool_of(stroke, machine)[0].name for stroke in route.strokes]
    assert [name for name, _ in itertools.groupby(used)] == [tool.name for tool in tools]
    works = [list(Work).index(stroke.work) for stroke in route.strokes]
    assert works == sorted(works)


@pytest.mark.parametrize(("kind", "shared"), [("knife", True), ("file", False)])
def test_a_file_of_cards_has_a_line_that_two_share_in_both(kind, shared):
    """Two squares of 100 mm side by side: 7 sides where they are cut, 8 in a file of cards."""
    knife = Tool("knife", 1, ToolKind.TANGENTIAL_KNIFE, (Work.CUT,), 100.0)
    machine = Machine("m", "M", kind, "dxf", Bed(700.0, 700.0), (knife,), gap=0.0)
    cards = [square(x, 0, 100, mark=Mark.OUTLINE, card=card) for x, card in ((0, "a"), (100, "b"))]
    route = order(cards, machine=machine, steps=50)
    assert total(route.strokes) == pytest.approx(700.0 if shared else 800.0)
    closed = sorted(stroke.card for stroke in route.strokes if stroke.closed)
    assert shared or closed == ["a", "b"]
