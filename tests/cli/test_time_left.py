"""The time left: a job of many short strokes and a few long ones, its times by arithmetic."""

import pytest

from plotout.cli.time_left import TimeLeft
from plotout.sending.order import Progress

LETTERS = [4.0 + index % 7 for index in range(400)]  # mm
OUTLINES = [900.0, 1200.0, 700.0]
LIFTS, PER_MM = 0.8, 0.01  # s


def _progress(strokes: list[float], done: int) -> Progress:
    return Progress(done, len(strokes), sum(strokes[:done]), sum(strokes))


def _seconds(strokes: list[float], done: int) -> float:
    return done * LIFTS + sum(strokes[:done]) * PER_MM


@pytest.mark.parametrize("done", [20, 200, 400, 402])
def test_letters_first_and_outlines_last(done):
    strokes, left = LETTERS + OUTLINES, TimeLeft()
    for index in range(done + 1):
        left.passed(_seconds(strokes, index), _progress(strokes, index))
    true = _seconds(strokes, len(strokes)) - _seconds(strokes, done)
    assert left.left(_progress(strokes, done)) == pytest.approx(true, rel=0.05)


def test_a_pause_does_not_count():
    left = TimeLeft()
    for index in range(101):
        left.passed(_seconds(LETTERS, index), _progress(LETTERS, index))
    left.skip()
    for index in range(101, 201):
        left.passed(_seconds(LETTERS, index) + 600.0, _progress(LETTERS, index))
    true = _seconds(LETTERS, 400) - _seconds(LETTERS, 200)
    assert left.left(_progress(LETTERS, 200)) == pytest.approx(true, rel=0.05)


def test_nothing_is_known_before_the_first_stroke():
    left = TimeLeft()
    left.passed(0.0, _progress(LETTERS, 0))
    left.passed(30.0, _progress(LETTERS, 0))  # on its way there
    assert left.left(_progress(LETTERS, 0)) is None
    left.passed(31.0, _progress(LETTERS, 1))
    assert left.left(_progress(LETTERS, 1)) == pytest.approx(1.0 * 399, rel=0.5)


def test_strokes_without_length_count_by_their_number():
    left = TimeLeft()
    for index in range(11):
        left.passed(float(index), Progress(index, 40, 0.0, 0.0))
    assert left.left(Progress(10, 40, 0.0, 0.0)) == pytest.approx(30.0, rel=0.01)


def test_strokes_of_one_length():
    strokes, left = [5.0] * 100, TimeLeft()
    for index in range(51):
        left.passed(_seconds(strokes, index), _progress(strokes, index))
    assert left.left(_progress(strokes, 50)) == pytest.approx(_seconds(strokes, 50), rel=0.01)
