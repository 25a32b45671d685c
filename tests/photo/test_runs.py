"""Pricks put in order: what is known of the figure that they were taken from (plane geometry)."""

from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from plotout_photo.corrections import Corrections
from plotout_photo.on_path import on_curve, on_path
from plotout_photo.runs import way_round
from plotout_photo.table import names_by_piece, ordered
from plotout_photo.tour import shortest


def stabs(at):
    return np.array(at) + np.array([[0.0, 1.2], [1.0, -0.6], [-1.0, -0.6]])


def test_a_triangle_of_straights_and_its_corners():
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [100.0, 160.0]])
    sides = [a + (b - a) * t for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
             for t in np.linspace(0.1, 0.9, 8)]  # fmt: skip
    way = way_round(np.vstack([*(stabs(c) for c in corners), np.array(sides)]))
    assert [run.kind for run in way.runs] == ["straight"] * 3
    found = np.array([way.groups[run.groups[0]].at for run in way.runs])
    assert found == pytest.approx(corners, abs=0.01)
    assert not way.loose


@pytest.mark.parametrize("corners", [0, 1])
def test_a_circle_is_one_closed_run_with_or_without_one_corner(corners):
    turn = np.linspace(0.0, 2 * np.pi, 24, endpoint=False)
    at = 80.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    if corners:
        at = np.vstack([stabs(at[0]), at[1:]])
    (run,) = way_round(at).runs
    assert run.kind == "closed"
    assert len(run.groups) == 24


def square(gap=12.5):
    """A square of 100 mm, pricked along its sides, without its corners."""
    side = np.arange(gap / 2, 100.0, gap)
    flat = np.zeros(len(side))
    sides = [(side, flat), (flat + 100, side), (100 - side, flat + 100), (flat, 100 - side)]
    return np.vstack([np.column_stack(pair) for pair in sides])


def test_a_corner_whose_stabs_are_unseen_keeps_the_pricks_of_its_runs():
    """Nothing is peeled off at the tip, and one stab that is left is a doubtful corner."""
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0))]
    way = way_round(np.vstack([*corners, square()]))
    assert not way.loose
    assert sum(len(run.groups) - 2 for run in way.runs) == len(square())
    way = way_round(np.vstack([*corners, [[0.0, 100.0]], square()]))
    assert [run.kind for run in way.runs] == ["straight"] * 4
    assert sum(group.doubtful for group in way.groups) == 1


def sampled(path, gap):
    """Return places along a path of many points, `gap` mm from each other and from its ends."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    at = np.arange(0.7 * gap, along[-1] - 0.5 * gap, gap)
    return np.column_stack([np.interp(at, along, path[:, axis]) for axis in (0, 1)])


def hem(turn):
    """A piece whose lower left corner turns by `turn` degrees, at 0, 0; its top is a curve."""
    way = np.radians(180.0 - turn)
    up = 150.0 * np.array([np.cos(way), np.sin(way)])
    across = np.linspace(0.0, 1.0, 200)[:, None]
    arch = np.array([0.0, 40.0]) * 4.0 * across * (1.0 - across)
    top = np.array([260.0, up[1]]) * (1.0 - across) + up * across + arch
    corners = np.array([[0.0, 0.0], [240.0, 0.0], [260.0, up[1]], up])
    lines = [np.linspace(a, b, 200) for a, b in (corners[:2], corners[1:3], corners[[3, 0]])]
    return corners, [*lines, top]


@pytest.mark.parametrize("turn", [55.0, 90.0, 125.0])
@pytest.mark.parametrize("gap", [8.0, 14.0, 22.0])
def test_a_corner_of_which_no_stab_is_seen_is_where_its_two_runs_meet(turn, gap):
    corners, lines = hem(turn)
    pricks = np.vstack([sampled(line, gap) for line in lines])
    way = way_round(np.vstack([*(stabs(corner) for corner in corners[1:]), pricks]))
    (unseen,) = (group for group in way.groups if group.corner and not group.members)
    assert np.hypot(*unseen.at) < 0.3
    assert unseen.doubtful
    assert sorted(run.kind for run in way.runs) == ["curve", *["straight"] * 3]


@pytest.mark.parametrize("radius", [20.0, 60.0, 200.0])
def test_a_curve_however_tight_has_no_corner_that_is_unseen(radius):
    """A strip with round ends, pricked every 8 mm: at most 23 degrees from prick to prick."""
    turn = np.linspace(-np.pi / 2, np.pi / 2, 200)
    end = radius * np.column_stack([np.cos(turn), np.sin(turn)]) + [150.0, radius]
    ring = np.vstack([[[0.0, 0.0]], end, [[0.0, 2.0 * radius]], [-1, 1] * end[::-1], [[0.0, 0.0]]])
    pricks = sampled(ring, 8.0)
    pricks += np.random.default_rng(2).normal(0.0, 0.12, pricks.shape)
    assert not any(group.corner for group in way_round(pricks).groups)


def test_pricks_missing_from_an_even_run_are_told_where_and_how_many():
    from plotout_photo.spacing import pricks_unseen

    run = np.column_stack([np.arange(0.0, 300.0, 15.0), np.zeros(20)])
    run += np.random.default_rng(1).normal(0.0, 0.4, run.shape)
    assert not pricks_unseen(run)
    one, two = pricks_unseen(np.delete(run, [5, 11, 12], axis=0))
    assert (one.count, two.count) == (1, 2)
    assert one.at == pytest.approx([75.0, 0.0], abs=2.0)
    assert two.at == pytest.approx([172.5, 0.0], abs=2.0)
    kept = np.ones(20, dtype=bool)
    kept[[2, 4, 7, 8, 11, 13, 16]] = False  # a third of them
    assert [gap.count for gap in pricks_unseen(run[kept])] == [1, 1, 2, 1, 1, 1]
    uneven = np.cumsum(np.random.default_rng(3).uniform(5.0, 40.0, 20))
    assert not pricks_unseen(np.column_stack([uneven, np.zeros(20)]))
    uneven[9:] += 80.0  # covered by something
    (gap,) = pricks_unseen(np.column_stack([uneven, np.zeros(20)]))
    assert (gap.after, gap.count) == (8, 0)


@pytest.mark.parametrize("curved", [False, True])
@pytest.mark.parametrize(("inside", "apart"), [(12.0, 8.0), (8.0, 8.0), (10.0, 6.0)])
def test_a_pair_of_marks_inside_an_edge_is_not_taken_into_its_run(curved, inside, apart):
    """Two balance marks, 8 to 12 mm inside an edge that is pricked every 10 mm."""
    corners, lines = hem(90.0)
    edge = sampled(lines[3] if curved else lines[0], 10.0)
    k = len(edge) // 2
    way = (edge[k + 1] - edge[k]) / np.hypot(*(edge[k + 1] - edge[k]))
    middle = (edge[k] + edge[k + 1]) / 2.0 + inside * np.array([-way[1], way[0]])
    pair = middle + apart / 2.0 * np.outer([-1.0, 1.0], way)
    pricks = np.vstack([sampled(line, 10.0) for line in lines])
    made = way_round(np.vstack([pair, *(stabs(corner) for corner in corners), pricks]))
    assert sorted(k for g in made.loose for k in made.groups[g].members) == [0, 1]
    assert sum(len(run.groups) - 2 for run in made.runs) == len(pricks)


def test_dust_off_the_path_is_loose_and_dust_beside_a_prick_makes_no_corner():
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))]
    dust = np.array([[50.0, 40.0], [30.0, 9.0], [57.0, 1.5]])
    way = way_round(np.vstack([*corners, square(), dust]))
    assert [run.kind for run in way.runs] == ["straight"] * 4
    assert len(way.loose) == 3
    assert not way.matches


def test_pricks_across_a_dart_are_of_its_two_legs_and_no_corner():
    """A dart of 10 degrees: the pricks nearest to its point are 2 to 3 mm apart."""
    point, a, b = np.array([0.0, 0.0]), np.array([120.0, 10.5]), np.array([120.0, -10.5])
    legs = [point + (end - point) * t for end in (a, b) for t in np.linspace(0.1, 0.9, 9)]
    third = [a + (np.array([200.0, 0.0]) - a) * t for t in np.linspace(0.2, 0.8, 4)]
    fourth = [b + (np.array([200.0, 0.0]) - b) * t for t in np.linspace(0.2, 0.8, 4)]
    tips = [stabs(at) for at in (point, a, b, (200.0, 0.0))]
    at = np.vstack([*tips, legs, third, fourth])
    way = way_round(at, sure=np.ones(len(at)))
    assert [(run.kind, len(run.groups) - 2) for run in way.runs] == [
        ("straight", 9), ("straight", 4), ("straight", 4), ("straight", 9)]  # fmt: skip
    assert not way.loose


def test_two_pieces_on_one_sheet_are_two_rings():
    one = np.vstack([square(), *(stabs(at) for at in ((0, 0), (100, 0), (100, 100), (0, 100)))])
    triangle = np.array([[0.0, 0.0], [60.0, 0.0], [0.0, 60.0]])
    ends = np.roll(triangle, -1, axis=0)
    sides = [a + (b - a) * t for a, b in zip(triangle, ends, strict=True) for t in (0.2, 0.5, 0.8)]
    small = np.vstack([sides, *(stabs(at) for at in triangle)])
    for shift in ((150.0, 20.0), (30.0, -110.0), (-95.0, 60.0)):
        way = way_round(np.vstack([small + np.array(shift), one]))
        assert [len(runs) for runs in way.pieces] == [4, 3]
        assert all(run.kind == "straight" for run in way.runs)
        assert not way.loose
    edge = np.array([[-60.0, 30.0], [50.0, 190.0], [270.0, -50.0]])  # spots on the paper's edge
    way = way_round(np.vstack([small + np.array([150.0, 20.0]), edge, one]))
    assert [len(runs) for runs in way.pieces] == [4, 3]
    assert len(way.loose) == len(edge)
    at = np.vstack([small + np.array([150.0, 20.0]), one])
    nothing = np.empty((0, 2), dtype=np.intp)
    survey = SimpleNamespace(at=at, sure=np.ones(len(at)), lined=nothing, meetings=None)
    made = ordered(survey, Corrections())
    assert names_by_piece(made) == [
        [f"piece-1 run {k}" for k in (1, 2, 3, 4)], [f"piece-2 run {k}" for k in (1, 2, 3)]
    ]  # fmt: skip


def disc(radius, step, x=0.0):
    turn = np.linspace(0.0, 2.0 * np.pi, round(2.0 * np.pi * radius / step), endpoint=False)
    return radius * np.column_stack([np.cos(turn), np.sin(turn)]) + np.array([x, 0.0])


@pytest.mark.parametrize("apart", [26.0, 45.0, 130.0])
@pytest.mark.parametrize("facing", [0.0, 90.0, 215.0])
def test_a_disc_beside_a_half_round_is_a_piece_of_its_own(apart, facing):
    """Both pricked every 10 mm or so; a disc has no corner to begin at."""
    half = disc(100.0, 9.7)[1:32]
    flat = np.column_stack([np.arange(-90.0, 95.0, 10.0), np.zeros(19)])
    piece = np.vstack([stabs((-100.0, 0.0)), stabs((100.0, 0.0)), half, flat])
    cos, sin = np.cos(np.radians(facing)), np.sin(np.radians(facing))
    piece = (piece - [0.0, 50.0]) @ np.array([[cos, sin], [-sin, cos]])
    own = disc(75.0, 10.2, piece[:, 0].min() - 75.0 - apart)
    made = way_round(np.vstack([own, piece]))
    kinds = sorted(sorted(run.kind for run in runs) for runs in made.pieces)
    assert kinds == [["closed"], ["curve", "straight"]]
    assert not made.loose


def test_a_row_of_pricks_inside_a_piece_is_on_no_run():
    """Such as a grain line, or one side of a dart: it encloses nothing."""
    corners = [stabs(at) for at in ((0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0))]
    row = np.column_stack([np.linspace(150.0, 170.0, 14), np.arange(60.0, 200.0, 10.0)])
    made = way_round(np.vstack([*corners, 3.0 * square(4.0), row]))
    assert [[run.kind for run in runs] for runs in made.pieces] == [["straight"] * 4]
    assert len(made.loose) == len(row)


def test_stabs_far_beside_an_edge_are_no_corner_of_it_but_a_bare_dart_s_point_is():
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))]
    beside = [[50.0, -45.0], [51.5, -45.0], [50.7, -43.8]]
    made = way_round(np.vstack([*corners, square(), beside]))
    assert [run.kind for run in made.runs] == ["straight"] * 4
    assert len(made.loose) == 1
    dart = [stabs(at) for at in ((42.0, 0.0), (50.0, 38.0), (58.0, 0.0))]
    edge = square()
    edge = edge[(np.abs(edge[:, 0] - 50.0) > 12.0) | (edge[:, 1] > 1.0)]
    made = way_round(np.vstack([*corners, edge, *dart]))
    assert sum(group.corner for group in made.groups) == 7
    assert not made.loose


def test_a_run_that_no_straight_is_near_is_not_called_straight():
    """An S of two half circles, which is no polynomial of a low degree."""
    turn = np.linspace(0.0, np.pi, 30)
    arc = 50.0 * np.column_stack([-np.cos(turn), np.sin(turn)])
    wave = np.vstack([np.array([50.0, 100.0]) + arc[1:-1], [150.0, 100.0] - arc[1:-1][::-1]])
    corners = [stabs(at) for at in ((0.0, 100.0), (200.0, 100.0), (200.0, 0.0), (0.0, 0.0))]
    sides = [
        np.column_stack([np.arange(8.0, 196.0, 8.0), np.zeros(24)]),
        *(np.column_stack([np.full(11, x), np.arange(8.0, 96.0, 8.0)]) for x in (0, 200.0)),
    ]
    made = way_round(np.vstack([*corners, wave, *sides]))
    assert sorted(run.kind for run in made.runs) == ["curve", *["straight"] * 3]


def test_a_corner_that_the_user_names_ends_a_run_even_amid_a_straight():
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))]
    at = np.vstack([*corners, square()])
    row = int(np.argmin(np.hypot(*(at - [56.25, 0.0]).T)))
    assert len(way_round(at).runs) == 4
    made = way_round(at, [row])
    assert [run.kind for run in made.runs] == ["straight"] * 5
    assert not made.matches
    notch = np.vstack([*corners, square()[1:], stabs((56.25, 0.0))])
    assert len(way_round(notch).matches) == 1


def test_a_doubtful_spot_beside_three_stabs_does_not_move_their_corner():
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))]
    at = np.vstack([[1.8, 2.0], *corners, square()])
    sure = np.ones(len(at))
    sure[0] = 0.3
    found = next(g for g in way_round(at, sure=sure).groups if 0 in g.members)
    assert np.hypot(*found.at) < 0.02
    assert np.hypot(*next(g for g in way_round(at).groups if 0 in g.members).at) > 0.1
    sure[:3] = 0.2, 0.45, 0.45  # a dot of the word beside which two of the stabs lie
    found = next(g for g in way_round(at, sure=sure).groups if 0 in g.members)
    assert np.hypot(*found.at) < 0.02


def test_a_corner_that_is_covered_is_told_to_be_as_uncertain_as_it_is_far_away():
    """A straight and an arc that meet at 0, 0, of which the last 45 mm are covered."""
    from plotout_photo.corners import Side, placed

    turn = np.arange(45.0, 150.0, 8.0)[::-1] / 120.0
    arc = 120.0 * np.column_stack([1.0 - np.cos(turn), np.sin(turn)])
    line = np.column_stack([np.arange(8.0, 160.0, 8.0)[::-1], np.zeros(19)])
    rough = np.array([-7.5, 0.0])  # where the arc's last direction meets the straight
    at, off = placed(0, rough, [Side(line, curved=False), Side(arc, curved=True)])
    assert np.hypot(*at) < 2.0 * off
    assert off > 5.0


def test_pricks_outside_the_strips_count_where_others_lead_to_them():
    from plotout_photo.area import led_to

    row = np.column_stack([np.arange(0.0, 300.0, 12.0), np.zeros(25)])
    far = np.array([[150.0, 90.0], [162.0, 90.0]])
    at = np.vstack([row, far])
    outside = at[:, 0] > 100.0
    assert led_to(at, outside, 3.2).tolist() == [True] * 25 + [False] * 2
    assert (
        led_to(np.delete(at, [10, 11, 12], axis=0), np.delete(outside, [10, 11, 12]), 3.2)[
            :22
        ].tolist()
        == [True] * 10 + [False] * 12
    )
    assert led_to(at, np.ones(27, dtype=bool), 3.2).all()


def test_a_pencil_line_tells_the_order_where_edges_come_close():
    """A comb of narrow teeth, its edges nearer to each other than its pricks: 9 and 10 mm."""
    columns, rows = 6, 6
    at = [np.array([9.0 * x, 10.0 * y]) for x in range(columns) for y in range(rows)]
    low = [0, *[1] * (columns - 2), 0]
    drawn = [
        (rows * x + y, rows * x + y + 1) for x in range(columns) for y in range(low[x], rows - 1)
    ]

    def kept(lined):
        order = shortest(at, list(range(len(at))), lined)
        beside = {frozenset(pair) for pair in pairwise([*order, order[0]])}
        return sum(frozenset(pair) in beside for pair in drawn)

    assert kept(np.array(drawn)) == len(drawn)
    assert kept(None) < len(drawn) - 5


def test_a_line_is_seen_between_the_spots_that_it_joins():
    from plotout_photo.pencil import lined

    drawn = np.zeros((100, 300), np.float32)
    drawn[48:51, 20:200] = 0.3
    at = np.array(
        [[20.0, 49.0], [80.0, 49.0], [140.0, 49.0], [200.0, 49.0], [80.0, 90.0], [260, 49]]
    )
    assert {(0, 1), (1, 2), (2, 3)} <= set(map(tuple, lined(drawn, at, at / 4.0).tolist()))
    assert not {(1, 4), (0, 4), (3, 5)} & set(map(tuple, lined(drawn, at, at / 4.0).tolist()))


def test_a_narrow_waist_and_a_strap_stay_one_piece():
    """Sides nearer to each other than their pricks; a band with pricks at its short ends only."""
    turn = np.linspace(0.0, 2 * np.pi, 80, endpoint=False)
    reach = 60.0 * np.sqrt(np.cos(2 * turn) + np.sqrt(1.03 - np.sin(2 * turn) ** 2))
    waist = np.column_stack([reach * np.cos(turn), reach * np.sin(turn)])
    assert len(way_round(waist).pieces) == 1
    ends = [(x, y) for x in (0.0, 600.0) for y in np.arange(6.0, 55.0, 6.0)]
    corners = [stabs(at) for at in ((0.0, 0.0), (600.0, 0.0), (600.0, 60.0), (0.0, 60.0))]
    assert len(way_round(np.vstack([*corners, ends])).pieces) == 1


@pytest.mark.parametrize("stabs_seen", [2, 3])
def test_a_corner_is_weighed_by_how_sure_stabs_and_runs_are(stabs_seen):
    """The small end of a collar stand turns from a straight by an arc of 22 mm, pricked every 8."""
    from plotout_photo.corners import Side, placed

    turn = np.arange(8.0, 60.0, 8.0)[::-1] / 22.0
    arc = 22.0 * np.column_stack([-np.sin(turn), 1.0 - np.cos(turn)])
    line = np.column_stack([np.arange(8.0, 120.0, 8.0)[::-1], np.zeros(14)])
    sides = [Side(line, curved=False), Side(arc, curved=True)]
    middle = np.zeros(2) if stabs_seen == 3 else np.array([0.3, 0.4])
    at, off = placed(stabs_seen, middle, sides)
    assert abs(at[1]) < 0.1
    assert np.hypot(*at) < min(2.0 * off, 0.12 if stabs_seen == 3 else 0.6)


def test_a_corner_with_an_unseen_stab_is_where_its_runs_meet():
    """Two stabs of three: their middle is 0.5 mm off the corner."""
    corners = [stabs(at) for at in ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0))]
    two = np.array([0.0, 100.0]) + np.array([[1.0, -0.6], [-1.0, -0.6]])
    at = np.vstack([*corners, two, square()])
    way = way_round(at, sure=np.ones(len(at)))
    found = np.array([group.at for group in way.groups if group.corner])
    assert len(found) == 4
    assert np.hypot(*(found - [0.0, 100.0]).T).min() < 0.1


@pytest.mark.parametrize(
    ("bow", "kind", "told"), [(4.0, "curve", "only 2 pricks"), (0.6, "straight", "")]
)
def test_two_pricks_that_lie_clearly_to_one_side_show_a_curve_and_are_told(bow, kind, told):
    """What is drawn with a bow of 4 mm in 90 must not pass for a straight because it is short."""
    corners = np.array([[0.0, 0.0], [90.0, 0.0], [90.0, 150.0], [0.0, 150.0]])
    lines = [
        np.linspace(a, b, 200) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    few = np.array([[30.0, -bow], [62.0, -bow]])
    sides = [sampled(line, 15.0) for line in lines[1:]]
    way = way_round(np.vstack([*(stabs(corner) for corner in corners), few, *sides]))
    (run,) = (run for run in way.runs if len(run.groups) == 4)
    assert run.kind == kind
    assert run.doubtful[:13] == told
    assert [other.kind for other in way.runs if other is not run] == ["straight"] * 3


def test_a_hem_that_bows_little_is_a_curve_by_all_that_its_pricks_and_corners_show():
    """It bows 0.9 mm in 240, most of it near a corner, as a hem does that is drawn by hand."""
    bow = np.array([0.64, 0.75, 0.83, 0.89, 0.86, 0.87, 0.92, 0.65, 0.52, 0.37])
    along = np.array([24.0, 45.5, 63.5, 86.0, 109.6, 129.6, 151.5, 174.0, 194.7, 216.8])
    low = np.column_stack([along, -bow])
    corners = np.array([[0.0, 0.0], [240.0, 0.0], [240.0, 150.0], [0.0, 150.0]])
    lines = [
        np.linspace(a, b, 200) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    sides = [sampled(line, 15.0) for line in lines[1:]]
    way = way_round(np.vstack([*(stabs(corner) for corner in corners), low, *sides]))
    assert [run.kind for run in way.runs] == ["curve", *["straight"] * 3]


def test_a_single_prick_off_the_straight_of_its_corners_is_told():
    corners = np.array([[0.0, 0.0], [60.0, 0.0], [60.0, 150.0], [0.0, 150.0]])
    lines = [
        np.linspace(a, b, 200) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    sides = [sampled(line, 15.0) for line in lines[1:]]
    way = way_round(np.vstack([*(stabs(c) for c in corners), [[31.0, -4.0]], *sides]))
    (run,) = (run for run in way.runs if len(run.groups) == 3)
    assert "one prick lies 4.0 mm off" in run.doubtful


@pytest.mark.parametrize("apart", [12.0, 18.0])
def test_what_is_doubtful_is_a_prick_where_a_circle_through_its_neighbours_passes(apart):
    """A neck's circle, pricked evenly, with one prick doubtful; and dots of letters beside it."""
    radius, count = 90.0, round(2.0 * np.pi * 90.0 / apart)
    angle = 2.0 * np.pi * np.arange(count) / count
    circle = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    line = np.delete(circle, 3, axis=0)
    outward = circle[3] / radius
    beside = circle[3] + np.array([-1.5, -0.9, -0.3, 0.0, 0.3, 0.9, 1.5])[:, None] * outward
    taken = on_curve(line, np.zeros(len(line), dtype=bool), beside)
    assert taken.any(axis=1).tolist() == [False, False, True, True, True, False, False]
    assert set(np.nonzero(taken)[1].tolist()) == {2}
    # three straights that meet at corners: a dot 1.2 mm off one
    square = np.array(
        [[0.0, 0.0], [apart, 0.0], [2.0 * apart, 0.0], [2.0 * apart, 40.0], [0.0, 40.0]]
    )
    corner = np.array([True, False, True, True, True])
    places = [[0.5 * apart, 1.2], [1.5 * apart, -0.2], [2.0 * apart + 0.3, 20.0], [-1.2, 20.0]]
    assert on_curve(square, corner, np.array(places)).any(axis=1).tolist() == [
        False,
        True,
        True,
        False,
    ]


@pytest.mark.parametrize("turn", [35.0, 45.0])
@pytest.mark.parametrize("aside", [0.0, 5.0])
def test_two_doubtful_stabs_are_a_corner_where_the_path_turns_and_nowhere_else(turn, aside):
    """Writing lies over a corner: two of its stabs may be dots, as may two dots beside the path."""
    corners, lines = hem(turn)
    pricks = np.vstack([*(stabs(corner) for corner in corners[1:]),
                        *(sampled(line, 20.0) for line in lines)])  # fmt: skip
    doubtful = stabs(corners[0])[:2] + aside * np.array([np.cos(1.2), np.sin(1.2)])
    dots = stabs(lines[0][100])[:2] + np.array([0.0, 4.0])
    at = np.vstack([pricks, doubtful, dots])
    sure = np.concatenate([np.full(len(pricks), 0.98), np.full(4, 0.44)])
    none = np.empty((0, 2), dtype=np.intp)
    taken = on_path(at, sure, none, way_round)
    both = [] if aside else [len(pricks), len(pricks) + 1]
    assert taken.tolist() == [*range(len(pricks)), *both]
