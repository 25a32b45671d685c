"""Progress without a terminal, by a clock of the test's own."""

from __future__ import annotations

import signal
from contextlib import suppress

import pytest

from plotout.cli.progress import plain_lines, progress, time_words
from plotout.errors import StoppedAgain
from plotout.job import PREPARING


def told(steps):
    """Return the lines that are written when each (second, stage, share, of) is told in turn."""
    now, lines = [0.0], []
    advance = plain_lines(lines.append, lambda: now[0])
    for second, stage, share, of in steps:
        now[0] = second
        advance(stage, share, of)
    return lines


def test_work_that_is_soon_done_says_nothing():
    assert told([(0.0, "laying", 0.0, 0), (1.0, "laying", 1.0, 0)]) == []


def test_how_many_of_how_many_and_the_time_left():
    """Three more of twelve in 10 s: at that pace 20 s more. The first says nothing of the pace."""
    steps = [(0.0, "working", 0.0, 12), (50.0, "working", 0.25, 12), (60.0, "working", 0.5, 12)]
    assert told(steps) == ["working: 3 of 12", "working: 6 of 12, 20 s left"]


def test_what_can_not_report_is_announced():
    """A stage without steps takes some 10 s, and must not look idle."""
    assert told([(0.0, "finishing", 0.0, 0), (0.1, PREPARING, 0.0, 0)]) == [PREPARING]


def test_lines_are_few():
    steps = [(second / 10.0, "laying", second / 1000.0, 0) for second in range(1001)]
    assert 15 <= len(told(steps)) <= 21


def test_times_are_in_minutes_and_seconds():
    assert [time_words(each) for each in (0.4, 59.0, 61.0)] == ["0 s", "59 s", "1 min 01 s"]


@pytest.fixture
def heeded():
    """Have Ctrl-C heeded as in a program begun at a terminal, whatever ran before."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("heeded")
def test_the_first_ctrl_c_lets_a_search_keep_its_best_and_is_answered(capfd):
    with progress(False), suppress(KeyboardInterrupt):
        signal.raise_signal(signal.SIGINT)
    told = capfd.readouterr().err
    assert "Ctrl-C again ends all" in told
    assert "the best found until then was used" in told


@pytest.mark.usefixtures("heeded")
def test_the_second_ends_also_what_keeps_its_best(capfd):
    def searched_twice():
        with progress(False):
            for _ in range(2):
                with suppress(KeyboardInterrupt):
                    signal.raise_signal(signal.SIGINT)

    with pytest.raises(StoppedAgain):
        searched_twice()
    assert "was used" not in capfd.readouterr().err
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
