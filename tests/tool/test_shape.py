"""Kerf, tabs, passes, dashes, holes, knives and the bed: checked by geometry that shapely measures.

What is asked for is the aim of this project; the arithmetic stands beside each check.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout.errors import UserError
from plotout.geometry.simplify import all_simplified, simplified
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Bed, Machine, Tool, ToolKind
from plotout.model import Card, Placed, Sheet
from plotout.tool import compile_sheet
from plotout.tool.kerf import TIP, widened
from plotout.tool.tabs import tabbed

SQUARE = np.array([[50, 50], [150, 50], [150, 150], [50, 150], [50, 50.0]])
BEAM = Tool("beam", 1, ToolKind.BEAM, (Work.CUT,), 20.0, power=80.0, kerf=0.2)
KNIFE = Tool(
    "knife", 1, ToolKind.TANGENTIAL_KNIFE, (Work.CUT,), 100.0, depth=1.5, swivel_above=25.0
)
PEN = Tool("pen", 2, ToolKind.PEN, (Work.DRAW,), 100.0)


def machine(*tools, step=0.01, **more):
    return Machine(
        "m", "The machine", "knife", "gcode", Bed(400.0, 300.0), tools, step=step, **more
    )


def sheet(*strokes, ring=SQUARE):
    card = Card("a", "A", "A", 1, 1, ring, tuple(strokes))
    return Sheet("s", 1, 400.0, 300.0, (Placed(card, 0.0, (0.0, 0.0)),))


def cut(points, mark=Mark.OUTLINE, **more):
    return Stroke(np.asarray(points, float), Work.CUT, mark, "a", **more)


def made(*strokes, tools=(BEAM,), **more):
    return compile_sheet(sheet(*strokes), strokes, machine(*tools, **more))


def hole(x, y, size):
    return Stroke(np.array([[x, y]], float), Work.PUNCH, Mark.HOLE, "a", size)


def test_what_a_beam_leaves_is_the_card_as_drawn():
    """The card is what lies within the outline's cut, less what its width burns away."""
    inner = SQUARE * 0.2 + 60
    outer, cutout = made(cut(SQUARE), cut(inner, Mark.CUTOUT)).runs
    left = shapely.Polygon(outer.points).difference(shapely.LineString(outer.points).buffer(0.1))
    assert left.symmetric_difference(shapely.Polygon(SQUARE)).area < 0.05
    gone = shapely.Polygon(cutout.points).union(
        shapely.LinearRing(cutout.points).buffer(0.1, join_style="mitre")
    )
    assert gone.symmetric_difference(shapely.Polygon(inner)).area < 0.05


@pytest.mark.parametrize("kerf", [0.2, 1.5, 3.0])
def test_a_slit_and_a_t_are_as_deep_and_wide_as_drawn(kerf):
    """Reference: what a round tool sweeps, shapely's buffer of the motion."""
    mill = replace(BEAM, kind=ToolKind.ROUTER, power=None, depth=2.0, kerf=kerf)
    lines = ([[80, 50], [80, 55]], [[120, 55], [120, 50]], [[118, 55], [122, 55]])
    strokes = [cut(line, Mark.NOTCH) for line in lines]
    runs = compile_sheet(sheet(*strokes), strokes, machine(mill)).runs
    swept = [
        shapely.union_all([shapely.MultiPoint(run.points), shapely.LineString(run.points)])
        if len(run.points) > 1 else shapely.Point(run.points[0])
        for run in runs
    ]  # fmt: skip
    slit, stem, bar = (path.buffer(kerf / 2.0).bounds for path in swept)
    assert slit[3] == pytest.approx(55.0, abs=0.02)
    assert stem[3] <= 55.02
    assert bar[3] == pytest.approx(55.0, abs=0.02)
    assert (bar[0], bar[2]) == pytest.approx((118.0, 122.0), abs=0.02)
    assert slit[1] <= 50.0  # both are open at the card's edge
    assert stem[1] <= 50.0
    assert swept[1].buffer(kerf / 2.0).intersects(swept[2].buffer(kerf / 2.0))


@pytest.mark.parametrize(("wide", "told"), [(4.0, True), (20.0, False)])
def test_a_notch_too_narrow_for_the_cutter_is_told_with_what_is_lost(wide, told):
    """A circle of radius r in a V of half angle a ends r (1 / sin a - 1) before its tip."""
    mill = replace(BEAM, kind=ToolKind.ROUTER, power=None, depth=2.0, kerf=3.0)
    half = wide / 2.0
    ring = [[50, 50], [100 - half, 50], [100, 55], [100 + half, 50], [150, 50], [150, 150],
            [50, 150], [50, 50]]  # fmt: skip
    warnings = compile_sheet(sheet(cut(ring)), [cut(ring)], machine(mill)).warnings
    lost = 1.5 * (np.hypot(half, 5.0) / half - 1.0)
    assert [f"up to {lost:.1f} mm off" in text for text in warnings] == [True] * told


def test_holes_shrink_by_the_kerf():
    (run,) = made(hole(100, 100, 8.0)).runs
    radius = np.hypot(*(run.points - [100, 100]).T)
    assert radius.max() == pytest.approx(3.9, abs=0.005)
    assert radius.min() == pytest.approx(3.9, abs=0.005)


def test_what_is_smaller_than_the_kerf_is_named_and_not_dropped():
    program = made(hole(100, 100, 0.15))
    assert "smaller than the kerf" in program.warnings[0]
    assert "hanging hole at x 100.0 mm" in program.warnings[0]
    assert program.runs[0].points == pytest.approx(np.array([[100.0, 100.0]]))
    narrow = [[50, 50], [99.97, 50], [99.97, 70], [100.03, 70], [100.03, 50], [150, 50], [150, 150],
              [50, 150], [50, 50]]  # fmt: skip
    program = made(cut(narrow))
    assert "narrower than the kerf" in program.warnings[0]
    assert "x 100.0 mm, y 6" in program.warnings[0]
    neck = [[50, 50], [80, 50], [80, 60], [90, 60.0], [90, 50], [120, 50], [120, 80], [90, 80],
            [90, 60.1], [80, 60.1], [80, 80], [50, 80], [50, 50]]  # fmt: skip
    program = made(cut(neck, Mark.CUTOUT))
    assert len(program.runs) == 2
    assert "x 85.0 mm, y 60.0 mm" in program.warnings[0]


@pytest.mark.parametrize(("count", "spacing", "least"), [(4, 0.0, 4), (2, 60.0, 5)])
def test_tabs_hold_the_card_away_from_corners_and_notches(count, spacing, least):
    angles = np.linspace(-np.pi / 2, np.pi / 2, 80)
    round_end = np.column_stack([150 + 50 * np.cos(angles), 100 + 50 * np.sin(angles)])
    ring = np.vstack([[[50, 50]], round_end, [[50, 150], [50, 50]]])
    notch = Stroke(np.array([[75, 50], [75, 55.0]]), Work.CUT, Mark.NOTCH, "a")
    tool = replace(BEAM, kerf=0.0, tabs=count, tab_width=1.0, tab_spacing=spacing)
    strokes = (notch, cut(ring))
    program = compile_sheet(sheet(*strokes, ring=ring), strokes, machine(tool))
    runs = [run for run in program.runs if run.stroke.mark is Mark.OUTLINE]
    uncut = shapely.LinearRing(ring).difference(
        shapely.union_all([shapely.LineString(run.points) for run in runs]).buffer(1e-6)
    )
    gaps = [gap for gap in shapely.get_parts(shapely.line_merge(uncut)) if gap.length > 0.01]
    assert len(gaps) == len(runs)
    assert len(gaps) >= least
    corners = shapely.MultiPoint([[50, 50], [50, 150], [75, 50], [75, 55]])
    for gap in gaps:
        assert gap.length == pytest.approx(1.0, abs=1e-3)
        assert gap.distance(corners) >= (7.9 if gap.bounds[2] <= 150.0 else 2.0)
    assert sum(gap.bounds[2] <= 150.0 for gap in gaps) >= 3  # on a straight where there is one
    apart = [shapely.LineString(run.points).length for run in runs]
    assert max(apart) <= (spacing or 200.0) * 1.5


@pytest.mark.parametrize("across", [40.0, 90.0])
def test_an_ellipse_is_held_by_tabs_too(across):
    """The cutter's swept disc leaves the bridges: shapely's buffer is the reference."""
    turn = np.linspace(0.0, 2.0 * np.pi, 400)
    ring = np.column_stack([150 + across * np.cos(turn), 150 + 0.6 * across * np.sin(turn)])
    ring[-1] = ring[0]
    tool = replace(BEAM, kind=ToolKind.ROUTER, kerf=3.0, tabs=4, tab_width=5.0)
    program = compile_sheet(sheet(cut(ring), ring=ring), [cut(ring)], machine(tool))
    swept = shapely.union_all([shapely.LineString(r.points).buffer(1.5) for r in program.runs])
    card = shapely.Polygon(ring)
    ways_out = card.buffer(2.9, quad_segs=64).difference(card.buffer(0.1)).difference(swept)
    bridges = [each for each in shapely.get_parts(ways_out) if each.area > 3.0]
    assert len(bridges) == 4  # each 2 mm wide, as wide as the cut


def test_a_card_without_room_for_its_tabs_is_refused():
    ring = [[50, 50], [60, 50], [55, 58], [50, 50]]
    tool = replace(BEAM, kind=ToolKind.ROUTER, kerf=3.0, tabs=4, tab_width=5.0)
    with pytest.raises(UserError, match="of the 4 tabs") as told:
        compile_sheet(sheet(cut(ring), ring=np.array(ring, float)), [cut(ring)], machine(tool))
    assert "--card" in told.value.fix


def most_apart(open_places, whole: float, apart: float) -> int:
    """How many of a ring's places can be more than `apart` from one another: tried from each."""
    best = 0
    for start in open_places:
        last, count = 0.0, 1
        for place in sorted((open_places - start) % whole)[1:]:
            if place - last > apart and whole - place > apart:
                last, count = place, count + 1
        best = max(best, count)
    return best


def test_a_card_is_refused_only_where_its_tabs_have_no_room():
    """Small cards of any shape, with marks along their edges: at least as many as by trying all."""
    rng = np.random.default_rng(5)
    few = 0
    for _ in range(60):
        turn = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 9)))
        far = rng.uniform(12, 40) * rng.uniform(0.6, 1.0, len(turn))
        ring = np.column_stack([np.cos(turn), np.sin(turn)]) * far[:, None]
        line = np.vstack([ring, ring[:1]])
        edge = shapely.LineString(line)
        marks = np.array([edge.interpolate(at).coords[0] for at in rng.uniform(0, edge.length, 3)])
        stretches, count = tabbed(line, 4, 5.0, 0.0, marks)
        held = 2.0 + 2.5  # mm from a tab's middle to corners and marks
        places = np.arange(0.0, edge.length, 1.0)
        spots = shapely.line_interpolate_point(edge, places)
        corners = shapely.MultiPoint(np.vstack([ring, marks]))
        open_places = places[shapely.distance(spots, corners) > held]
        # blunt corners and mere bends may leave room for more
        assert count >= min(4, most_apart(open_places, edge.length, 2 * 5.0 + 2.0))
        few += count < 4
        cut_lines = [shapely.LineString(stretch) for stretch in stretches]
        gaps = edge.difference(shapely.union_all(cut_lines).buffer(1e-6))
        assert gaps.length == pytest.approx(5.0 * count, abs=0.01)
    assert 5 < few < 55


def test_passes_grow_in_depth_or_force():
    deep = made(cut(SQUARE), tools=(replace(BEAM, kind=ToolKind.ROUTER, depth=6.0, passes=3),))
    assert [run.depth for run in deep.runs] == pytest.approx([2.0, 4.0, 6.0])
    blade = Tool("b", 1, ToolKind.TRAILING_BLADE, (Work.CUT,), 50.0, 100.0, offset=0.25, passes=2,
                 pass_force=40.0)  # fmt: skip
    runs = made(cut(SQUARE), tools=(blade,)).runs
    assert {run.force for run in runs if not run.follows} == {100.0, 140.0}


def test_a_score_line_in_dashes():
    tool = replace(BEAM, does=(Work.SCORE,), power=10.0, kerf=0.0, dashes=(3.0, 2.0))
    line = Stroke(np.array([[50, 50], [150, 50.0]]), Work.SCORE, Mark.FOLD, "a")
    runs = made(line, tools=(tool,)).runs
    worked = sum(np.ptp(run.points[:, 0]) for run in runs)
    assert len(runs) == 20  # (100 - 3) / 5 rounds to 19 repeats, and a last dash
    assert worked == pytest.approx(100 * (20 * 3) / (19 * 5 + 3), abs=1e-6)


def test_a_hole_is_punched_where_there_is_a_punch_of_its_size_else_cut():
    punch = Tool("punch", 3, ToolKind.PUNCH, (Work.PUNCH,), 100.0, size=8.0)
    program = made(hole(80, 80, 8.0), hole(120, 80, 5.0), tools=(punch, replace(BEAM, kerf=0.0)))
    punched, round_cut = program.runs
    assert punched.points.tolist() == [[80.0, 80.0]]
    assert shapely.Polygon(round_cut.points).area == pytest.approx(np.pi * 2.5**2, rel=0.005)
    (only,) = made(hole(120, 80, 5.0), tools=(punch,)).warnings
    assert "5 mm" in only
    assert "8 mm" in only


def test_a_holes_middle_is_cut_first_if_asked():
    first, second = made(hole(80, 80, 8.0), tools=(replace(BEAM, precut=True),)).runs
    assert first.points.tolist() == [[80.0, 80.0]]
    assert len(second.points) > 12


def test_pen_lines_overlap_where_they_close():
    line = Stroke(SQUARE, Work.DRAW, Mark.STITCHING, "a")
    (run,) = made(line, tools=(replace(PEN, overcut=0.8),)).runs
    assert run.points[-1].tolist() == pytest.approx([50.8, 50.0])


def test_work_without_a_tool_is_told():
    drawn = Stroke(SQUARE, Work.DRAW, Mark.STITCHING, "a")
    program = made(drawn, drawn, cut(SQUARE))
    assert len(program.runs) == 1
    assert "2 lines left out" in program.warnings[0]
    program = made(cut(SQUARE), tools=(PEN,))
    assert "1 line drawn instead" in program.warnings[0]


def test_a_knife_is_lifted_at_sharp_corners_and_kept_along_the_line():
    angles = np.radians(np.arange(0, 91, 3))
    bend = np.column_stack([100 + 20 * np.sin(angles), 120 - 20 * np.cos(angles)])
    line = np.vstack([[[50, 100]], bend, [[120, 160], [60, 160]]])
    runs = made(cut(line), tools=(KNIFE,)).runs
    assert len(runs) == 2  # only the right angle is sharp
    assert all(not run.follows for run in runs)
    for run in runs:
        steps = np.diff(run.points, axis=0)
        moving = np.hypot(*steps.T) > 1e-9
        way = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
        middle = (run.angles[:-1] + run.angles[1:]) / 2
        off = (middle - way + 180) % 360 - 180
        assert np.abs(off[moving]).max() <= 2.6  # half of the turns that are blended
        assert np.abs(np.diff(run.angles)).max() <= 25.0
    assert abs(runs[1].angles[0] - runs[0].angles[-1]) == pytest.approx(90.0)


@pytest.mark.parametrize(
    ("shift", "side"),
    [((-60, 0), "left"), ((260, 0), "right"), ((0, -52), "bottom"), ((0, 151.5), "top")],
)
def test_nothing_outside_the_bed_ever(shift, side):
    with pytest.raises(UserError) as caught:
        made(cut(SQUARE + np.array(shift, float)), tools=(replace(BEAM, kerf=0.0),))
    excess = {"left": 10.0, "right": 10.0, "bottom": 2.0, "top": 1.5}[side]
    assert f"{excess:.2f} mm at the {side}" in str(caught.value)
    assert "piece 'a'" in str(caught.value)


def test_a_sheet_larger_than_the_bed_is_refused():
    big = Sheet("s", 1, 401.0, 300.0, ())
    with pytest.raises(UserError, match=r"1\.00 mm larger"):
        compile_sheet(big, [], machine(BEAM))


@settings(max_examples=50, deadline=None)
@given(st.integers(3, 400), st.floats(0.002, 0.2), st.integers(0, 10**6))
def test_simplifying_is_bounded_by_hausdorff_distance(count, tolerance, seed):
    """GEOS measures the Hausdorff distance, densified."""
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(size=(count, 2)) * rng.choice([0.02, 1.0]), axis=0)
    fewer = simplified(points, tolerance)
    far = shapely.hausdorff_distance(
        shapely.LineString(points), shapely.LineString(fewer), densify=0.1
    )
    assert far <= tolerance * (1 + 1e-9)
    assert len(fewer) <= count


def test_fewer_points_within_half_a_step():
    angles = np.linspace(0, 2 * np.pi, 5000)
    ring = np.column_stack([200 + 90 * np.cos(angles), 150 + 90 * np.sin(angles)])
    ring[-1] = ring[0]
    program = made(cut(ring), tools=(replace(PEN, does=(Work.CUT,)),), step=0.025)
    least = np.pi / np.arccos(1.0 - 0.0125 / 90.0)  # chords whose sagitta is half a step: 189
    assert least <= sum(len(run.points) for run in program.runs) - 1 < 1.05 * least
    far = shapely.hausdorff_distance(
        shapely.LineString(program.runs[0].points), shapely.LineString(ring), densify=0.5
    )
    assert far <= 0.0125


@pytest.mark.parametrize(
    ("size", "told"), [(2.5, True), (2.9, True), (2.96, False), (3.0, False), (3.2, False)]
)
def test_a_hole_as_wide_as_the_cutter_is_made_by_it_and_not_complained_of(size, told):
    """A 3 mm cutter put down once makes a 3 mm hole; of a smaller one it is told what becomes."""
    turn = np.linspace(0.0, 2.0 * np.pi, 41)
    ring = size / 2.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    ring[-1] = ring[0]
    lines, text = widened(ring, Mark.HOLE, 3.0)
    assert (text == "it is smaller than the kerf, 3 mm, and becomes a hole of that width") == told
    assert (
        max(float(np.hypot(*line.T).max()) for line in lines) <= max(0.0, size - 3.0) / 2.0 + 0.01
    )


@pytest.mark.parametrize("turn", [0.0, 33.0])
@pytest.mark.parametrize(
    ("wide", "told"),
    [(3.0, ""), (2.97, ""), (2.0, "it is 2 mm wide, less"), (0.5, "it is 0.5 mm wide, less")],
)
def test_a_slot_no_wider_than_the_cutter_is_cut_along_its_middle(wide, told, turn):
    """By hand: 60 mm long, the cutter goes from half the width before one end to that at the other,
    and what it leaves open is a slot of its own width with round ends."""
    slot = shapely.affinity.rotate(shapely.box(0.0, 0.0, 60.0, wide), turn, origin=(0, 0))
    (line,), text = widened(shapely.get_coordinates(slot), Mark.CUTOUT, 3.0)
    assert text.startswith(told)
    assert bool(text) == bool(told)
    swept = shapely.LineString(line).buffer(1.5)
    middle = shapely.LineString([(wide / 2.0, wide / 2.0), (60.0 - wide / 2.0, wide / 2.0)])
    meant = shapely.affinity.rotate(middle.buffer(1.5), turn, origin=(0, 0))
    assert shapely.hausdorff_distance(swept, meant) < 0.02


def test_a_wedge_no_wider_than_the_cutter_is_told_by_what_is_lost():
    """By hand: a hole of 3 mm at a third of the 100 mm leaves 65.2 mm up to the tip."""
    wedge = np.array([[0, 0], [2.5, 0], [1.25, 100], [0, 0]], dtype=float)
    (line,), text = widened(wedge, Mark.CUTOUT, 3.0)
    assert len(line) == 1
    assert "is up to 65.2 mm off" in text


@pytest.mark.parametrize("size", [2, 3, 8, 40])
def test_lines_thinned_together_are_as_when_thinned_one_by_one(size):
    """The quick test leaves a line alone only where no chord could have passed a point."""
    random = np.random.default_rng(size)
    lines = [
        np.cumsum(random.normal(0.0, scale, (size, 2)), axis=0)
        for scale in (1e-3, 0.02, 0.1, 1.0, 10.0) * 40
    ]
    lines += [np.vstack([line, line[::-1]]) for line in lines] + [np.zeros((1, 2))]
    for tolerance in (0.001, 0.02, 0.3):
        for line, thin in zip(lines, all_simplified(lines, tolerance), strict=True):
            assert np.array_equal(thin, simplified(line, tolerance))


@pytest.mark.parametrize("mark", [Mark.OUTLINE, Mark.CUTOUT])
@pytest.mark.parametrize("kerf", [0.2, 2.0])
@pytest.mark.parametrize("sharp", [20.0, 59.0, 61.0, 90.0])
def test_a_lost_tip_is_told_by_its_length(mark, kerf, sharp):
    """Reference: geometry. A circle in a corner of angle a leaves r (1 / sin(a / 2) - 1) of it."""
    half = np.radians(sharp / 2.0)
    up = 50.0 * np.tan(half)
    ring = np.array([[0, 0], [50, -up], [150, -up], [150, up], [50, up], [0, 0]], dtype=float)
    tip = kerf / 2.0 * (1.0 / np.sin(half) - 1.0)
    _, text = widened(ring, mark, kerf)
    told = mark is Mark.CUTOUT and tip > max(TIP, kerf / 2.0)
    assert (f"up to {tip:.1f} mm off" in text) == told
    assert bool(text) == told
