"""Frames: each is within the machine's window, and together they are the whole work."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from cards import box, wavy
from hypothesis import given, settings
from hypothesis import strategies as st
from smallset import small_set

from plotout import Placed, UserError, job, plugins
from plotout.layout import Stock, StockSheet, lay
from plotout.layout.frames import crossed, frames, joint_marks, joints, with_joints
from plotout.layout.lay import cost
from plotout.layout.pack import Filling, Ground
from plotout.machine import profile

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


def test_a_roll_only_moves_forward(tmp_path: Path) -> None:
    """Read back from the HP-GL/2 file: no frame's work comes after a later frame's."""
    (text,) = (path.read_text() for path in profile.shipped() if path.stem == "roll-plotter")
    path = tmp_path / "framed.toml"
    framed = text.replace('width = "36 in"', 'width = "300 mm"\nwindow = "260 mm"')
    path.write_text(framed)
    machine = job.load_machine(str(path))
    made = job.plan(job.read_set(small_set(tmp_path)), machine, seconds=0)
    (each,) = made.worked
    assert not each.faults
    (laid_sheet,) = made.sheets
    at = joints(laid_sheet, 260.0)
    assert len(at) >= 2
    reader = plugins.interpreter_for(machine.driver)
    assert reader is not None
    bed = replace(machine.bed, length=each.sheet.width, width=each.sheet.height)
    traced = reader.read(each.data, replace(machine, bed=bed)).traced
    past = 0.0  # the last joint that work has gone beyond
    for part in traced:
        x = part.points[:, 0]
        assert x.min() >= past - machine.step
        past = max([past, *(joint for joint in at if x.max() > joint + machine.step)])
    assert past == at[-1]
    drawn = [s for s in each.sheet.marks if s.mark == "registration mark"]
    assert len(drawn) == 8 * len(at)
    low, high = 10.0, machine.bed.width - 10.0
    for stroke in drawn:
        assert low <= stroke.points[:, 1].min()
        assert stroke.points[:, 1].max() <= high
