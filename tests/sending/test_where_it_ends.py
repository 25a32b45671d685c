"""Where a machine stands in the end: one that reports all as done, but never moved, isn't done.

The machines are those from the notes (tests/bench/machines_from_notes), on a simulated clock; each
differs from them in one habit.
"""

import signal
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from machines_from_notes import gcode, hpgl
from simulated_job import doubt_of, hpgl_file_away


class Stands(gcode.Controller):
    """Moves no more after a while, and answers on; it says truly where it is."""

    def advance(self, seconds):
        if len(self.head.marks) > 20:
            self.head.queue.clear()
            self.head.done = 0.0
        super().advance(seconds)


class StandsAtHome(gcode.Controller):
    """Never moves from its origin, and answers on."""

    def advance(self, seconds):
        self.head.queue.clear()
        super().advance(seconds)


class GoesHome(gcode.Controller):
    """Goes to its own origin by itself when a program has ended."""

    went, home = False, (0.0, 0.0)

    def advance(self, seconds):
        if not self.went and self.log[-1:] == ["M2"]:
            self.went = True
            z = self.head.place[2]
            self.head.queue.append(gcode.Block((*self.home, z), 0.5, False, 0))
            self.state = "Run"
        super().advance(seconds)


class Parks(GoesHome):
    """Goes back to where it stood before the job."""

    home = (7.0, 300.0)

    def __init__(self, habits):
        super().__init__(habits)
        self.head.place = [*self.home, 0.0]
        self._sync()


class GoesHomeIdly(GoesHome):
    """Says that it is idle while it goes there, slowly."""

    def advance(self, seconds):
        super().advance(seconds)
        if self.went and self.head.queue:
            self.state = "Idle"
            self.head.run(seconds * self.habits.speed)


class Lags(gcode.Controller):
    """Reports where it was 2 s ago."""

    def __init__(self, habits):
        self.places = [(0.0, [0.0, 0.0, 0.0])]
        super().__init__(habits)

    def advance(self, seconds):
        super().advance(seconds)
        self.places.append((self.now, list(self.head.place)))

    def _report(self):
        here = self.head.place
        self.head.place = next(
            (at for now, at in reversed(self.places) if now <= self.now - 2.0), self.places[0][1]
        )
        super()._report()
        self.head.place = here


class Still(hpgl.Plotter):
    """Its motors move it no more from a number of moves with its pen down on."""

    last = 0

    def _go(self, to, down):
        if len(self.head.marks) >= self.last:
            to, down = tuple(self.head.place), False
        super()._go(to, down)


class StillAndLate(Still):
    """Takes its time to say where it is, once its pen is put away."""

    last, seconds = 1, 0.0

    def __init__(self, habits, late):
        self.due, self.late = [], late
        super().__init__(habits)

    def _execute(self, name, rest):
        super()._execute(name, rest)
        if name == b"SP" and rest.strip() == b"0":
            self.seconds = self.late

    def _output(self, name):
        before = self.out
        super()._output(name)
        if name == b"OA":
            self.due.append((self.now + self.seconds, self.out[len(before) :]))
            self.out = before

    def advance(self, seconds):
        super().advance(seconds)
        while self.due and self.due[0][0] <= self.now:
            self.out += self.due.pop(0)[1]


class Wordy(hpgl.Plotter):
    """Says where it is in two numbers, as no manual has it."""

    def _output(self, name):
        if name == b"OA":
            self._say(b"%d %d" % tuple(map(round, self.head.place)))
        else:
            super()._output(name)


class Parking(hpgl.Plotter):
    """Goes to its origin when its pen is put away."""

    def _execute(self, name, rest):
        super()._execute(name, rest)
        if name == b"SP" and rest.strip() == b"0":
            self._go((0.0, 0.0), down=False)


@pytest.mark.parametrize(("kind", "words"), [(Stands, "x "), (StandsAtHome, "its origin")])
def test_one_that_answers_but_stands_still_is_not_taken_for_done(sent, tmp_path, kind, words):
    code, said, missing, _ = sent(kind(gcode.Habits()))
    assert (code, bool(missing)) == (1, True), said
    assert f"reports everything as done, but says that it stands at {words}" in said
    assert doubt_of(tmp_path)[0] == 0


def test_a_stop_while_its_end_is_judged_leaves_it_in_doubt(sent, tmp_path):
    machine = Stands(gcode.Habits())
    lines, since, pressed = 0, 0.0, []

    def during(sender):
        nonlocal lines, since
        if machine.lines > lines:
            lines, since = machine.lines, machine.now
        elif lines > 20 and machine.now > since + 2.5 and not pressed:
            pressed.append(sender.signal(signal.SIGINT))

    code, said, missing, _ = sent(machine, during=during)
    assert pressed
    assert "stands at" in said
    assert (code, bool(missing)) == (1, True), said
    assert doubt_of(tmp_path)[0] == 0, said


@pytest.mark.parametrize("kind", [gcode.Controller, GoesHome, GoesHomeIdly, Parks, Lags])
@pytest.mark.parametrize("every", [1, 10, 30, 10**9])
def test_one_that_has_arrived_is_done_whatever_its_zero(sent, kind, every):
    """Interface notes: the offset of the work's zero is in some of the reports only, or in none."""
    machine = kind(gcode.Habits(offset=(100.0, 50.0, 0.0), offset_every=every))
    code, said, missing, _ = sent(machine)
    assert (code, missing, machine.resets) == (0, [], 0), said


@pytest.mark.parametrize("last", [0, 1, 5])
def test_a_plotter_whose_motors_stand_still_is_not_said_to_be_done(sent, tmp_path, last):
    """It counts, but tells where it is (OA). At its origin it may have gone there by itself."""
    machine = Still(hpgl.Habits())
    machine.last = last
    code, said, missing, _ = sent(machine, hpgl_file_away())
    assert missing
    if last:
        assert (code, "says that it stands at x" in said) == (1, True), said
        assert doubt_of(tmp_path)[0] <= missing[0]
    else:
        assert "it has not moved: look at the sheet" in said


@pytest.mark.parametrize(("kind", "told"), [(Parking, True), (hpgl.Plotter, False)])
def test_a_plotter_that_goes_home_by_itself_is_done(sent, kind, told):
    code, said, missing, _ = sent(kind(hpgl.Habits()), hpgl_file_away())
    assert (code, missing) == (0, []), said
    assert ("look at the sheet" in said) is told


@pytest.mark.parametrize("late", [0.5, 1.5, 2.5])
def test_one_that_says_late_where_it_is_is_waited_for(sent, late):
    code, said, missing, _ = sent(StillAndLate(hpgl.Habits(), late), hpgl_file_away())
    assert missing
    assert (code, "says that it stands at x" in said) == (1, True), said


def test_of_one_that_is_not_understood_nobody_says_that_it_moved(sent):
    code, said, missing, _ = sent(Wordy(hpgl.Habits()), hpgl_file_away())
    assert (code, missing) == (0, []), said
    assert "whether it has moved was not seen. Look at the sheet." in said
