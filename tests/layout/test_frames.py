"""Frames: each is within the machine's window, and together they are the whole work."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from cards import box, wavy
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout import Placed, UserError
from plotout.layout import Stock, StockSheet, lay
from plotout.layout.nesting.filling import Filling, Ground
from plotout.layout.nesting.lay import cost
from plotout.layout.paper.frames import crossed, frames, joint_marks, joints, stages, with_joints

ROLL = StockSheet("roll", 10_000.0, 610.0, margins=(10.0,) * 4, roll=True)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**6), st.floats(120, 900))
def test_frames_make_up_the_work(seed: int, window: float) -> None:
    sheet = lay(wavy(seed, 10), Stock((ROLL,)), gap=5, seconds=0)[0]
    marked = with_joints(sheet, replace(ROLL, window=window))
    made = frames(marked.strokes, joints(sheet, window))
    for frame in made:
        assert frame.end - frame.start <= window + 1e-9
        for stroke in frame.strokes:
            x = stroke.points[:, 0]
            assert frame.start - 1e-9 <= x.min()
            assert x.max() <= frame.end + 1e-9
    marks = joint_marks(sheet, joints(sheet, window), (10.0, 600.0))
    whole = sum(s.length for s in (*sheet.strokes, *marks))
    assert sum(s.length for f in made for s in f.strokes) == pytest.approx(whole)
    drawn = shapely.union_all([shapely.LineString(s.points) for f in made for s in f.strokes])
    for stroke in sheet.strokes:
        assert shapely.LineString(stroke.points).difference(drawn.buffer(1e-6)).length < 1e-6


def test_a_joint_goes_between_cards_where_it_can() -> None:
    cards = [box(300, 560, n) for n in range(1, 5)]
    sheet = lay(cards, Stock((ROLL,)), gap=6, seconds=0)[0]
    for at in joints(sheet, 700.0):
        for placed in sheet.placed:
            x = placed.outline[:, 0]
            assert at <= x.min() or at >= x.max()


@pytest.mark.parametrize(("longer", "wins"), [(60.0, True), (140.0, False)])
def test_a_joint_through_a_card_weighs_as_a_hundred_mm(longer: float, wins: bool) -> None:
    """Two cards with a space that a joint fits in, against closed up with a joint through one."""
    ground = Ground(replace(ROLL, window=300.0), 5.0)
    first = Placed(box(130, 100, 1), 0.0, (10.0, 10.0))
    closed, spaced = (
        [first, Placed(box(200, 100, 2), 0.0, (145.0 + more, 10.0))] for more in (0.0, longer)
    )
    assert crossed(closed, 300.0) == 1
    assert crossed(spaced, 300.0) == 0
    one, other = (Filling.begun(ground, placed, inside=False) for placed in (spaced, closed))
    assert one.right == pytest.approx(other.right + longer)
    assert (cost([one]) < cost([other])) is wins


def test_marks_lie_beside_cards_and_on_both_frames() -> None:
    sheet = lay([box(900, 300)], Stock((ROLL,)), gap=6, seconds=0)[0]
    at = joints(sheet, 500.0)
    body = shapely.Polygon(sheet.placed[0].outline)
    marked = with_joints(sheet, replace(ROLL, window=500.0))
    first, second = frames(marked.strokes, at)
    marks = joint_marks(sheet, at)
    assert len(marks) == 8
    for mark in marks:
        assert shapely.LineString(mark.points).disjoint(body)
    drawn = [sum(s.mark == "registration mark" for s in f.strokes) for f in (first, second)]
    assert drawn == [4, 4]


def test_a_window_must_hold_something() -> None:
    sheet = lay([box(90, 30)], Stock((ROLL,)), gap=6, seconds=0)[0]
    with pytest.raises(UserError, match="too short"):
        joints(sheet, 3.0)


def test_even_joints_lie_a_window_apart_wherever_the_cards_lie() -> None:
    sheet = lay([box(1500, 300, n) for n in (1, 2)], Stock((ROLL,)), gap=6, seconds=0)[0]
    at = joints(sheet, 400.0, even=True)
    assert at == tuple(400.0 * n for n in range(1, len(at) + 1))
    assert at[-1] < max(s.points[:, 0].max() for s in sheet.strokes) <= at[-1] + 400.0
    assert crossed(sheet.placed, 400.0, even=True) >= 6


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**6), st.floats(120, 900))
def test_in_stages_no_stroke_is_divided_and_no_card_is_taken_up_again(
    seed: int, length: float
) -> None:
    sheet = lay(wavy(seed, 12), Stock((ROLL,)), gap=5, seconds=0)[0]
    made = stages(sheet, length)
    assert sum(map(len, made)) == len(sheet.strokes)
    at = np.array(joints(sheet, length))
    ends = [float(s.points[:, 0].max()) for each in made for s in each]
    assert sorted(ends) == sorted(float(s.points[:, 0].max()) for s in sheet.strokes)
    numbers = [int(np.searchsorted(at, end)) for end in ends]  # each card is one stroke here
    assert numbers == sorted(numbers)
