"""The G-code interpreter against blocks written by hand from NIST IR 6556."""

from __future__ import annotations

import numpy as np
import pytest
from plotout_readback import gcode

from .conftest import machine_for

TOP = b"G21 G90 G17\nG0 Z5\n"


def ways(data: bytes, **changes) -> list[np.ndarray]:
    reading = gcode.read(data, machine_for("gcode", **changes))
    assert reading.unknown == ()
    return [traced.points for traced in reading.traced]


def test_feeds_by_height():
    (way,) = ways(TOP + b"G0 X10 Y10\nG1 Z-1 F300\nX20 F1200\nY20\nG0 Z5\nX0 Y0\nM2\n")
    assert way.tolist() == [[10, 10], [20, 10], [20, 20]]


def test_words_in_any_order_case_and_spacing():
    (way,) = ways(b"g0z5\nN10 g21 (a comment) g90\nY 10x1 0g0\nZ-1g1f300\nX20 Y20;more\nz5\nM30")
    assert way.tolist() == [[10, 10], [20, 20]]


def test_inches_and_relative():
    (way,) = ways(b"G20 G90\nG0 Z.2\nG0 X1 Y1\nG1 Z-.04 F10\nG91\nG1 X.5\nY.5\nG90\nG0 Z.2\nM2\n")
    assert way == pytest.approx(np.array([[25.4, 25.4], [38.1, 25.4], [38.1, 38.1]]))


@pytest.mark.parametrize(
    "block", [b"G3 X0 Y10 I-10 J0", b"G3 X0 Y10 R10", b"G90.1 G3 X0 Y10 I0 J0"]
)
def test_arcs_by_centre_and_by_radius(block):
    (way,) = ways(TOP + b"G0 X10 Y0\nG1 Z-1 F300\n" + block + b"\nG0 Z5\nM2\n")
    assert np.hypot(*way.T) == pytest.approx(np.full(len(way), 10.0), abs=1e-9)
    assert way[-1] == pytest.approx([0, 10])
    assert (way >= -1e-9).all()  # the short way round, within the first quarter
    middles = (way[1:] + way[:-1]) / 2.0
    assert (10.0 - np.hypot(*middles.T)).max() < 0.0021


def test_clockwise_and_whole_circles():
    (way,) = ways(TOP + b"G0 X10 Y0\nG1 Z-1 F300\nG2 X10 Y0 I-10\nG0 Z5\nM2\n")
    assert way[0] == pytest.approx(way[-1])
    assert way[1, 1] < 0.0
    assert np.hypot(*np.diff(way, axis=0).T).sum() == pytest.approx(20 * np.pi, rel=1e-3)


def test_laser_works_only_on_feeds():
    data = b"G21 G90\nG0 X1 Y1\nM4 S500\nG1 X5 F600\nG0 X9\nG1 X12\nM5\nM2\n"
    reading = gcode.read(data, machine_for("gcode", kind="laser", options={"tool": "laser"}))
    assert [t.points.tolist() for t in reading.traced] == [[[1, 1], [5, 1]], [[9, 1], [12, 1]]]
    assert reading.traced[0].power == pytest.approx(50.0)
    assert reading.traced[0].feed == pytest.approx(10.0)
    assert reading.ends_safe


def test_a_beam_lowers_no_knife_whose_profile_names_no_other_way():
    """`tool` is "z" by default, as `plotout explain` says."""
    data = b"G21 G90\nG0 X1 Y1\nM4 S500\nG1 X5 F600\nM5\nM2\n"
    assert gcode.read(data, machine_for("gcode", kind="knife")).traced == ()


@pytest.mark.parametrize(
    ("data", "laser"),
    [(b"G0 Z5\nG1 Z-1 F9\nX5\nM2\n", False), (b"M3 S500\nG1 X5 F600\nM2\n", True)],
)
def test_it_notices_a_file_that_ends_with_the_tool_at_work(data, laser):
    machine = machine_for("gcode", options={"tool": "laser" if laser else "z"})
    assert not gcode.read(b"G21 G90\n" + data, machine).ends_safe


def test_travel_with_the_tool_down_is_work():
    reading = gcode.read(TOP + b"G1 Z-1 F9\nG0 X50\nG0 Z5\nM2\n", machine_for("gcode"))
    assert reading.traced[0].points.tolist() == [[0, 0], [50, 0]]
    assert "tool down" in reading.notes[0]


@pytest.mark.parametrize("block", [b"G92 X0", b"G28", b"X#1", b"M98 P1", b"X1 X2", b"Q3", b"X1..2"])
def test_what_it_does_not_know_is_told(block):
    reading = gcode.read(TOP + b"G0 X1\n" + block + b"\nM2\n", machine_for("gcode"))
    assert reading.unknown


def test_nothing_is_obeyed_after_the_end():
    reading = gcode.read(TOP + b"M2\nG1 Z-1 F9\nX5\n", machine_for("gcode"))
    assert reading.traced == ()
    assert reading.notes


@pytest.mark.parametrize("number", [b"9" * 12, b"9" * 400])
@pytest.mark.parametrize("block", [b"X%b Y1", b"X1 Y%b", b"X2 Y2\nX-%b.5 Y1"])
def test_a_number_too_large_in_a_stretch_of_feeds_is_told(block, number):
    data = TOP + b"G1 Z-1 F300\n" + block % number + b"\nG0 Z5\nM2\n"
    reading = gcode.read(data, machine_for("gcode"))
    assert any("too large" in words for words in reading.unknown)
    assert all(np.abs(traced.points).max() < 1e9 for traced in reading.traced)


NO_SPEED = "it moves by G1, G2 or G3 before a speed is set (F)"


@pytest.mark.parametrize(
    ("begin", "told"),
    [("", True), ("F900\n", False), ("G0 X1 Y1 F900\n", False), ("G1 X5 Y5\nF900\n", True)],
)
def test_a_feed_without_a_speed_is_told(begin, told):
    """Error 22 of small controls (undefined feed rate), by their public interface notes."""
    lines = "G1 X1 Y1\nG1 X9 Y1\nG1 X9 Y9\n"
    text = f"G21\nG90\nM5\nG0 X1 Y1\n{begin}M4 S500\n{lines}M5\nM2\n"
    reading = gcode.read(text.encode(), machine_for("gcode", options={"tool": "laser"}))
    assert (NO_SPEED in " ".join(reading.unsafe)) is told


@pytest.mark.parametrize("kind", ["laser", "spindle"])
def test_a_move_in_z_is_nothing_that_a_tool_without_depth_has(kind):
    """A laser's head can move in Z all the same: nothing may drive it into its stock unasked."""
    data = b"G21\nG90\nM4 S100\nG0 X0 Y0\nG1 X10 Y0 F600\nG1 X20 Y0 Z-30\nM5\nM2\n"
    reading = gcode.read(data, machine_for("gcode", options={"tool": kind}))
    (words,) = reading.unknown
    assert words.startswith("a move in Z, which its tool does not have")


LASER = {"kind": "laser", "options": {"tool": "laser"}}


@pytest.mark.parametrize("before", [b"G1 ", b"G01", b"G1 X1 Y1\n"])
@pytest.mark.parametrize("spaced", [b"X5 Y5 F0", b"X5Y5F0", b"X 5 Y5 F0"])  # at once, and by words
def test_a_speed_of_nothing_is_told_however_the_move_is_written(before, spaced):
    data = b"G21 G90 G17\nG0 X0 Y0\nM4 S500\nF600\n" + before + spaced + b"\nM5\nM2\n"
    reading = gcode.read(data, machine_for("gcode", **LASER))
    assert reading.unknown == ("F0: not a speed",)


@pytest.mark.parametrize("move", [b"G1 X5 Y5 F600", b"G1 F600\nX5 Y5", b"G1 F600\nX5\nY5"])
def test_a_feed_before_any_height_is_told_however_it_is_written(move):
    reading = gcode.read(b"G21 G90 G17\n" + move + b"\nM2\n", machine_for("gcode"))
    assert any("before any height" in words for words in reading.unknown)


def test_stretches_read_at_once_are_as_read_word_by_word():
    moves = b"G1 X4.5 Y-.5 F600\nX6 Y1\nG01 X7 Y2\nG1X8Y3\nM5\nG0 X1 Y1\nM4 S250\nG1 X2 Y9 F300\n"
    data = b"G21 G90 G17\nG0 X0 Y0\nM4 S500\n" + moves + b"M5\nM2\n"
    slow = data.replace(b" Y", b"  Y").replace(b"Y3", b" Y3(no more)")
    one, other = (gcode.read(each, machine_for("gcode", **LASER)) for each in (data, slow))
    assert len(one.traced) == 2
    for at_once, by_word in zip(one.traced, other.traced, strict=True):
        assert at_once.points.tolist() == by_word.points.tolist()
        assert (at_once.feed, at_once.power) == (by_word.feed, by_word.power)
    assert (one.unknown, one.unsafe) == (other.unknown, other.unsafe) == ((), ())
