"""Plotters that answer in odd ways: what can be understood is, what can't be counted stops the job.

The plotter is the one from the notes (tests/bench/machines_from_notes), on a simulated clock; each
differs from it in one habit.
"""

import random
import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from breaks import hpgl_file
from machines_from_notes import hpgl
from simulated_job import doubt_of, hpgl_file_away

from plotout.conversation import Account
from plotout.sending.looks import Looks


class Signed(hpgl.Plotter):
    """Writes its numbers with signs, decimals and blanks."""

    def _say(self, answer):
        if answer.count(b",") > 1:
            answer = b" " + re.sub(rb"(?<![-\d])\d+", rb"+\g<0>.0", answer).replace(b",", b", ")
        super()._say(answer)


class Countless(hpgl.Plotter):
    """Ignores IP, and so keeps no count."""

    p1p2 = property(lambda self: [0, 0, 10000, 7200], lambda self, _points: None)


class Held(hpgl.Plotter):
    """Is held at its panel for 40 s: it works nothing, but tells its room. Once, within that, it
    does not hear the question.
    """

    until = deaf_until = 0.0

    def advance(self, seconds):
        if self.now + seconds < self.until:
            self.now += seconds
        else:
            super().advance(seconds)

    def feed(self, data):
        if self.now >= self.deaf_until or self.now < self.deaf_until - 1.2:
            super().feed(data)


class Untelling(hpgl.Plotter):
    """Answers all but OP, by which its count is asked."""

    def _say(self, answer):
        if answer.count(b",") != 3:
            super()._say(answer)


class Renewed(hpgl.Plotter):
    """Is reset once while it works: it keeps its place and its scaling points, but not what it
    holds nor its pen, and says a word. tells: its status shows it, as the manual has it.
    """

    tells, is_reset = True, False

    def advance(self, seconds):
        super().advance(seconds)
        whole = self.received.endswith(b";") and b"IP" not in self.received
        if not self.is_reset and len(self.head.marks) > 2 and whole:
            self.is_reset, points = True, self.p1p2
            self.head.drop()
            self.received = b""
            self._initialize()
            self.p1p2 = points
            self._say(b"READY")

    def _output(self, name):
        self.status &= -1 if self.tells else ~hpgl.INITIALIZED
        super()._output(name)


class Forgetful(hpgl.Plotter):
    """Is reset in its last stroke, as Renewed is, and says nothing."""

    is_reset = False

    def advance(self, seconds):
        super().advance(seconds)
        if not self.is_reset and len(self.head.marks) >= 7 and self.head.queue:
            self.is_reset, points, place = True, self.p1p2, self.head.place
            self.head.drop()
            self._initialize()
            self.p1p2, self.head.place = points, place


class Stopping(hpgl.Plotter):
    """Lets its line wait 2.5 s, now and then: what it is sent comes later, and so do its answers.
    stood: the longest that it had nothing to do otherwise, s.
    """

    until, kept, after = 0.0, b"", 1
    stands = stood = 0.0

    def feed(self, data):
        if not self.until and b"\x1b.B" in data and len(self.head.marks) > self.after:
            self.until = self.now + 2.5
        if self.until:
            self.kept += data
        else:
            super().feed(data)

    def advance(self, seconds):
        super().advance(seconds)
        idle = self.at_rest and not self.until and self.head.marks
        self.stands = self.stands + seconds if idle else 0.0
        self.stood = max(self.stood, self.stands)
        if self.until and self.now >= self.until:
            kept, self.kept, self.until = self.kept, b"", 0.0
            self.after = len(self.head.marks) + 60
            super().feed(kept)


@pytest.mark.parametrize("ending", [b"", b"PG;"])
def test_a_plotter_whose_status_tells_of_a_reset_in_its_last_stroke_is_not_done(sent, ending):
    """HP 7550A manual: bit 3 of the status is set by IN and by power; PG only advances the paper,
    though coordinates may begin anew after it.
    """
    machine = Forgetful(hpgl.Habits())
    code, said, missing, _ = sent(machine, hpgl_file_away() + ending)
    assert machine.is_reset
    assert missing
    assert code == 1, said


@pytest.mark.parametrize("tells", [True, False])
def test_a_word_of_a_plotter_that_keeps_its_count_over_a_reset_stops_the_job(sent, tmp_path, tells):
    """HP 7550A manual: bit 3 of the status is set by IN and by power, and cleared by OS."""
    machine = Renewed(hpgl.Habits())
    machine.tells = tells
    code, said, missing, _ = sent(machine, hpgl_file(random.Random(16), 12))
    assert machine.is_reset
    assert (code, "READY" in said) == (1, True), said
    assert ("does not tell that it was initialized" in said) is not tells
    assert doubt_of(tmp_path)[0] <= missing[0], said


def test_a_plotter_that_writes_its_numbers_in_another_way(sent):
    code, said, missing, _ = sent(Signed(hpgl.Habits()))
    assert (code, missing) == (0, []), said


def test_a_plotter_without_a_count_was_not_reset(sent):
    code, said, missing, _ = sent(Countless(hpgl.Habits()))
    assert (code, "can't keep one" in said, missing) == (1, True, [0, 1, 2])


def test_a_plotter_that_is_held_at_its_panel_is_waited_for(sent):
    machine = Held(hpgl.Habits())

    def during(_sender):
        if machine.head.marks and not machine.until:
            machine.until, machine.deaf_until = machine.now + 40.0, machine.now + 30.0

    code, said, missing, _ = sent(machine, during=during, patience=60)
    assert (code, missing) == (0, []), said
    assert "held at its panel" in said


def test_a_plotter_that_does_not_tell_its_count_is_refused(sent):
    """HP 7550A manual: OP is answered by P1 and P2, four numbers."""
    code, said, missing, _ = sent(Untelling(hpgl.Habits()))
    assert (code, missing) == (1, [0, 1, 2])
    assert "does not answer 'OE;OP;'" in said
    assert "answers = false" in said


def test_a_plotter_whose_answers_come_late_is_asked_again_at_once(sent):
    """What it is asked while its line stands is answered, but too late to be true."""
    machine = Stopping(hpgl.Habits(buffer=128, speed=0.2))
    code, said, missing, _ = sent(machine, hpgl_file(random.Random(16), 20), patience=60)
    assert machine.after > 120  # its line has stood twice, at least
    assert (code, missing) == (0, []), said
    assert machine.stood < 0.5


def test_a_machine_that_worked_between_two_looks_does_not_stand():
    """Though its whole buffer was free each time. Common practice: two equal readings show that
    something stands only if nothing has happened between them.
    """
    looks, empty = Looks(), Account(idle=True, count=1024)
    assert looks.changed(empty, (100, 1.0))
    assert not looks.changed(empty, (100, 1.0))
    assert looks.changed(empty, (164, 1.0))
    assert looks.changed(empty, (164, 2.0))
