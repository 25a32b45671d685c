"""What a trailing blade's tip cuts, by an independent simulation (tractrix.py), is what was drawn.

Bounds: aims of this project (0.05 mm everywhere for offsets to 1 mm; rounding of a corner at
least ten times better than without compensation). Offsets of 0.1 to 1.5 mm: common practice.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from tractrix import drag

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Bed, Machine, Tool, ToolKind
from plotout.model import Card, Placed, Sheet
from plotout.tool import compile_sheet
from plotout.tool.blade import led

STEP = 0.025
OFFSETS = (0.1, 0.25, 0.5, 1.0)
HEADINGS = np.radians([0.0, 37.0, 90.0, 135.0, 179.0, 181.0, 270.0, 315.0])


def blade(offset, **more):
    return Tool(
        "blade", 1, ToolKind.TRAILING_BLADE, (Work.CUT,), 50.0, 200.0, offset=offset, **more
    )


def machine(tool, step=STEP):
    return Machine("m", "M", "knife", "hpgl", Bed(400.0, 300.0), (tool,), step=step)


def stroke(points, mark=Mark.OUTLINE):
    return Stroke(np.asarray(points, dtype=float), Work.CUT, mark, "a")


def sheet():
    return Sheet("s", 1, 400.0, 300.0, ())


def cut_by(program, heading):
    """Drag a blade through a whole program; give each stroke's tip track while it is down."""
    tracks, a, offset = [], heading, program.runs[0].tool.offset
    for run in program.runs:
        tips, _, a = drag(run.points, offset, a)
        if run.follows:
            tracks[-1] = (tracks[-1][0], np.vstack([tracks[-1][1], tips]))
        else:
            tracks.append((run.stroke, tips))
    return tracks


def off(tips, line):
    """Return how far, mm, the tip gets from the line, and the line from the tip's track."""
    tips = np.vstack([tips[::5], tips[-1:]])  # 0.05 mm apart
    drawn, track = shapely.LineString(line), shapely.LineString(tips)
    there = shapely.distance(shapely.points(tips), drawn).max()
    corners = shapely.points(np.asarray(line))
    samples = shapely.line_interpolate_point(drawn, np.linspace(0, drawn.length, 500))
    back = shapely.distance(np.concatenate([samples, corners[:500]]), track).max()
    return float(there), float(back)


def worst(points, offset, heading=0.3, **more):
    program = compile_sheet(sheet(), [stroke(points)], machine(blade(offset, **more)))
    (_, _), (_, tips) = cut_by(program, heading)
    return max(off(tips, points))


def corner(turn):
    way = np.radians(turn)
    return np.array(
        [[100.0, 100.0], [130.0, 100.0], [130.0 + 30 * np.cos(way), 100 + 30 * np.sin(way)]]
    )


@pytest.mark.parametrize("offset", OFFSETS)
@pytest.mark.parametrize("turn", [1, 5, 19, 21, 45, 60, 90, 120, 150, 170, 179])
def test_corners_both_ways(turn, offset):
    assert worst(corner(turn), offset) < 0.05
    assert worst(corner(-turn), offset) < 0.05


@pytest.mark.parametrize("heading", HEADINGS)
def test_any_first_direction_of_the_blade(heading):
    for way in np.radians([0.0, 90.0, 180.0, 250.0]):
        end = [200 + 40 * np.cos(way), 150 + 40 * np.sin(way)]
        assert worst([[200, 150], end], 1.0, heading) < 0.05


@pytest.mark.parametrize("offset", OFFSETS)
def test_hairpin_and_circles_smaller_than_the_offset(offset):
    assert worst([[100, 100], [140, 100], [105, 100.0]], offset) < 0.05
    for radius in (0.3 * offset, 0.9 * offset, 2.0, 20.0):
        angles = np.linspace(0, 2 * np.pi, max(24, int(radius * 60)))
        ring = 150 + radius * np.column_stack([np.cos(angles), np.sin(angles)])
        ring[-1] = ring[0]
        assert worst(ring, offset, overcut=offset) < 0.05
        assert worst(ring[::-1], offset, overcut=offset) < 0.05


def test_an_s_curve_of_short_segments():
    x = np.linspace(0, 120, 6000)
    assert worst(np.column_stack([100 + x, 150 + 30 * np.sin(x / 9)]), 1.0) < 0.05


@pytest.mark.parametrize("turn", [45, 90, 120, 150])
def test_rounding_is_ten_times_better_than_uncompensated(turn):
    """How far the tip's track stays from the corner itself."""
    points, tip = corner(turn), shapely.Point(130, 100)
    plain, _, _ = drag(points, 0.5, 0.0)
    program = compile_sheet(sheet(), [stroke(points)], machine(blade(0.5)))
    (_, _), (_, led_tips) = cut_by(program, 1.0)
    before = max(off(plain, points))
    after = shapely.LineString(led_tips).distance(tip)
    assert before > 10 * max(after, off(led_tips, points)[0])


def test_strokes_follow_one_another_with_the_blades_direction_known():
    rng = np.random.default_rng(5)
    strokes = [stroke(p) for p in rng.uniform(60, 240, size=(12, 2, 2))]
    program = compile_sheet(sheet(), strokes, machine(blade(1.0)))
    tracks = cut_by(program, 2.0)
    assert len(tracks) == 13  # one in the waste
    for (_, tips), meant in zip(tracks[1:], strokes, strict=True):
        assert max(off(tips, meant.points)) < 0.05


def test_a_closed_cut_meets_its_start_and_runs_past_it():
    square = np.array([[100, 100], [140, 100], [140, 140], [100, 140], [100, 100.0]])
    program = compile_sheet(sheet(), [stroke(square)], machine(blade(0.5, overcut=1.0)))
    (_, _), (_, tips) = cut_by(program, 0.0)
    assert np.hypot(*(tips[-1] - [101.0, 100.0])) < 0.05
    assert max(off(tips, square)) < 0.05


def test_corner_overcut_runs_into_the_waste_only():
    notched = np.array(
        [[100, 100], [160, 100], [160, 140], [130, 120], [100, 140], [100, 100.0]]
    )  # its corner at 130, 120 turns inwards: beyond it lies the card
    program = compile_sheet(sheet(), [stroke(notched)], machine(blade(0.5, corner_overcut=0.8)))
    tracks = [tips for _, tips in cut_by(program, 0.0)][1:]
    assert len(tracks) == 4
    card = shapely.Polygon(notched)
    for tips in tracks:
        assert shapely.distance(shapely.points(tips), card.exterior).max() < 0.85
        inside = shapely.points(tips[shapely.contains(card.buffer(-0.06), shapely.points(tips))])
        assert len(inside) == 0
    cut = shapely.MultiLineString(tracks)
    assert all(cut.distance(shapely.Point(p)) < 0.02 for p in notched)
    hole = compile_sheet(
        sheet(), [stroke(notched, Mark.CUTOUT)], machine(blade(0.5, corner_overcut=0.8))
    )
    assert len(cut_by(hole, 0.0)) == 1 + 1  # in a cut-out only that corner has waste beyond it


def test_swings_are_slower_and_lighter_and_follow_on():
    tool = blade(0.5, swivel_force=60.0, swivel_speed=15.0, swivel_above=20.0)
    program = compile_sheet(sheet(), [stroke(corner(90))], machine(tool))
    waste, *runs = program.runs
    assert waste.stroke.mark is Mark.PAGE
    swings = [run for run in runs if run.force == 60.0]
    assert swings
    assert all(run.feed == 15.0 for run in swings)
    assert all(run.follows for run in runs[1:])
    for run in swings:
        radius = np.hypot(*(run.points - [130.0, 100.0]).T)
        if run is swings[-1]:
            assert np.allclose(radius, 0.5, atol=1e-9)


def test_the_blade_is_turned_clear_of_every_card():
    ring = np.array([[5, 5], [395, 5], [395, 280], [5, 280], [5, 5.0]])
    card = Card("a", "a", "a", 1, 1, ring, (stroke(ring),))
    full = Sheet("s", 1, 400.0, 300.0, (Placed(card, 0.0, (0.0, 0.0)),))
    program = compile_sheet(full, [stroke(ring)], machine(blade(0.5)))
    waste = program.runs[0]
    tips, _, _ = drag(waste.points, 0.5, 3.0)
    assert shapely.LineString(tips).distance(shapely.Polygon(ring)) > 0.5
    assert not program.warnings
    none_left = np.array([[1, 1], [399, 1], [399, 299], [1, 299], [1, 1.0]])
    card = Card("a", "a", "a", 1, 1, none_left, (stroke(none_left),))
    packed = Sheet("s", 1, 400.0, 300.0, (Placed(card, 0.0, (0.0, 0.0)),))
    program = compile_sheet(packed, [stroke(none_left)], machine(blade(0.5)))
    assert "turn" in program.warnings[0]


def test_the_pivot_keeps_its_distance():
    """By the definition of the offset: while the tip stands, the pivot is `offset` away from it."""
    line = corner(100)
    path, turns = led(line, 0.7, None, 0.003)
    swing = path[1:][turns != 0.0]
    assert np.allclose(np.hypot(*(swing - line[1]).T), 0.7)
    assert np.allclose(path[0], line[0] + [0.7, 0.0])
