"""Frames: each is within the machine's window, and together they are the whole work."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from cards import box, wavy
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout import UserError
from plotout.layout import Stock, StockSheet, lay
from plotout.layout.frames import frames, joint_marks, joints, with_joints

ROLL = StockSheet("roll", 10_000.0, 610.0, margins=(10.0,) * 4, roll=True)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**6), st.floats(120, 900))
def test_frames_make_up_the_work(seed: int, window: float) -> None:
    sheet = lay(wavy(seed, 10), Stock((ROLL,)), gap=5, seconds=0)[0]
    made = frames(with_joints(sheet, replace(ROLL, window=window)), window)
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


def test_marks_lie_beside_cards_and_on_both_frames() -> None:
    sheet = lay([box(900, 300)], Stock((ROLL,)), gap=6, seconds=0)[0]
    at = joints(sheet, 500.0)
    body = shapely.Polygon(sheet.placed[0].outline)
    first, second = frames(with_joints(sheet, replace(ROLL, window=500.0)), 500.0)
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
