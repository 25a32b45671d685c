"""Stopping, against machines written from the interface notes, on a clock of their own.

Sources: see tests/bench/machines_from_notes.
"""

import contextlib
import re
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import pytest
from plotout_gcode.status import kept_zero, parse

from plotout import plugins
from plotout.sending.cutfile import cut_file
from plotout.sending.safe import make_safe
from plotout.sending.talk import Hearing
from plotout.sending.waits import Waits

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from machines_from_notes import gcode, hpgl

TICK = 0.002


class Straight:
    """A conversation with a machine, without a line: time passes while one listens."""

    late = 0.0

    def __init__(self, machine, language):
        self.machine, self.hearing, self.told = machine, Hearing(language), []
        self.overheard, self.waits = [], Waits()
        self.tell = self.told.append

    @contextlib.contextmanager
    def stopping(self):
        self.waits.of_stop()
        yield

    def say(self, data, seconds=5.0):
        self.machine.feed(data)

    urge = say

    def hear(self, seconds, until=None):
        said, end, begun = [], self.machine.now + seconds, time.monotonic()
        while self.machine.now < end:
            self.waits.lasts(begun, 0.0, self.tell)
            self.machine.advance(TICK)
            out, self.machine.out = self.machine.out, b""
            new = self.hearing.take(out)
            said += new
            self.overheard += new
            if until and any(map(until, new)):
                break
        return said

    def ask(self, question, kinds, seconds=1.0):
        self.say(question)
        said = self.hear(seconds, lambda heard: heard.kind in kinds)
        return next((heard for heard in said if heard.kind in kinds), None)

    def command(self, line, own=(), seconds=1.0):
        self.say(line)
        return self.hear(seconds, lambda heard: heard.kind in ("ok", "error"))


def working(machine, data, until=lambda machine: machine.tool_down):
    """Have a machine at work with the tool down."""
    machine.advance(TICK)
    machine.feed(data)
    for _ in range(2000):
        machine.advance(TICK)
        if until(machine):
            machine.out = b""  # heard before
            return
    raise AssertionError("it never came to work")


KNIFE = b"G21\nG90\nG0 Z5\nG0 X10 Y10\nG1 Z-1 F3000\nG1 X200 F6000\nG1 Y100\n"
BEAM = b"G21\nG90\nM5\nG0 X10 Y10\nM4 S500\nG1 X200 F6000\nG1 Y100\n"
LIFT = b"G21\nG90\nG0 Z5\n"


@pytest.mark.parametrize("offset", [(0.0, 0.0, 0.0), (31.0, -12.5, -2.0)])
@pytest.mark.parametrize("slows", [0.0, 0.05, 0.2, 0.5])
@pytest.mark.parametrize("place", ["own", "work"])
@pytest.mark.parametrize("greeting", [b"Frase 2.0", b"Guten Tag"])
def test_a_knife_comes_up_when_it_stands(slows, offset, place, greeting):
    """Reset while it still slows down (Hold:1) raises ALARM:3: it must not be."""
    language = plugins.language("gcode")
    machine = gcode.Controller(
        gcode.Habits(
            deceleration=slows, offset=offset, work_place=place == "work", greeting=greeting
        )
    )
    working(machine, KNIFE)
    for _ in range(50):
        machine.advance(TICK)
    begun = machine.now
    safe = language.make_safe(Straight(machine, language), LIFT)
    assert safe.tool_up is True
    assert not machine.tool_down
    assert machine.state == "Idle"
    assert machine.head.slip == [0.0, 0.0, 0.0]
    assert not safe.lost_place
    travel = 6.0 / 100.0  # s to lift by 6 mm at the 100 mm/s of its travels
    assert machine.now - begun <= slows + travel + 0.1
    assert safe.account.at == pytest.approx(
        (machine.head.place[0] - offset[0], machine.head.place[1] - offset[1]), abs=0.002
    )


@pytest.mark.parametrize("slows", [0.0, 0.5])
def test_a_beam_is_off_when_it_stands(slows):
    language = plugins.language("gcode")
    machine = gcode.Controller(gcode.Habits(deceleration=slows, beam=True, settings={32: 1}))
    working(machine, BEAM)
    safe = language.make_safe(Straight(machine, language), b"")
    assert safe.tool_up is True
    assert not machine.power


class Terse(gcode.Controller):
    """Leaves out of its reports what matches: the interface notes say that it may."""

    leaves_out = rb"\|FS:[^|>]*"

    def _report(self):
        super()._report()
        self.out = re.sub(self.leaves_out, b"", self.out)


class Unplaced(Terse):
    """Reports its own place, but never its work's zero. tells: that zero, when it is asked."""

    leaves_out, tells = rb"\|WCO:[^|>]*", True

    def _say(self, line):
        if self.tells or not line.startswith(b"[G54:"):
            super()._say(line)


@pytest.mark.parametrize("tells", [True, False])
@pytest.mark.parametrize("offset", [(20.0, 0.0, 0.0), (-20.0, 7.0, -8.0)])
def test_a_zero_that_is_in_no_report_is_asked_for(offset, tells):
    language = plugins.language("gcode")
    machine = Unplaced(gcode.Habits(offset=offset, deceleration=0.05))
    machine.tells = tells
    working(machine, KNIFE)
    safe = language.make_safe(Straight(machine, language), LIFT)
    assert not machine.tool_down
    assert safe.tool_up is (True if tells else None)  # its height isn't known either
    account = language.account(Straight(machine, language))
    for at in (safe.account.at, account.at):
        if tells:
            expected = (machine.head.place[0] - offset[0], machine.head.place[1] - offset[1])
            assert at == pytest.approx(expected, abs=0.002)
        else:
            assert at is None


def test_what_shifts_a_zero_is_added_to_it():
    """Interface notes of the most used open-source three-axis control, 1.1: WCO is the sum of the
    coordinate system in force, G92 and, along z, the tool's length.
    """
    said = {
        b"$#\n": ["[G54:1,1,1]", "[G55:10.5,-20,3]", "[G92:0.25,0.5,-1]", "[TLO:2.5]"],
        b"$G\n": ["[GC:G0 G55 G17 G21 G90 G94 M5 M9 T0 F0 S0]"],
    }

    class Told:
        def command(self, line, *_):
            hear = plugins.language("gcode").hear
            return [hear(answer) for answer in [*said[line], "ok"]]

    assert kept_zero(Told()) == (10.75, -19.5, 4.5)
    for at, damaged in (
        (1, "[G55:10.5,--20,3]"),
        (1, "[G55:10.5,-20,3"),  # its end may have had another digit
        (1, "[G55:10.5,-20]"),
        (2, "[G92:0.25,,0.5,-1]"),
        (3, "[TLO:]"),
    ):
        before, said[b"$#\n"][at] = said[b"$#\n"][at], damaged
        assert kept_zero(Told()) is None
        said[b"$#\n"][at] = before
    said[b"$G\n"] = []
    assert kept_zero(Told()) is None


def test_a_beam_that_reports_no_power_is_asked_for_its_modes():
    language = plugins.language("gcode")
    machine = Terse(gcode.Habits(beam=True, settings={32: 1}))
    working(machine, BEAM)
    assert language.make_safe(Straight(machine, language), b"").tool_up is True
    machine._modes = lambda: b"[GC:G0 G54 G17 G21 G90 G94 M4 M9 T0 F0 S500]"
    working(machine, BEAM)
    assert language.make_safe(Straight(machine, language), b"").tool_up is False
    machine._modes = lambda: b"[MSG:none]"
    working(machine, BEAM)
    assert language.make_safe(Straight(machine, language), b"").tool_up is None


def test_a_knife_without_a_report_of_its_height_is_not_said_to_be_up(monkeypatch):
    language = plugins.language("gcode")
    machine = Terse(gcode.Habits())
    machine.leaves_out = rb",-?[\d.]+(?=\||>)"
    monkeypatch.setattr("time.monotonic", lambda: machine.now)
    working(machine, KNIFE)
    safe = language.make_safe(Straight(machine, language), LIFT)
    assert safe.tool_up is None
    assert "by hand" in safe.words


def test_after_a_reset_its_own_height_proves_nothing(gcode_file):
    """A machine that was switched on counts from where it stood: 5 mm up may still be down."""
    path, _ = gcode_file(3)
    language = plugins.language("gcode")
    with cut_file(path, language, 0.025) as file:
        for reset, up in ((False, True), (True, None)):
            machine = gcode.Controller(gcode.Habits())
            working(machine, KNIFE)
            talk = Straight(machine, language)
            talk.link = SimpleNamespace(let_go_on=lambda drop: None)
            safe = make_safe(talk, file, answers=True, reset=reset)
            assert safe.tool_up is up
            assert ("by hand" in safe.words) is reset


@pytest.mark.parametrize("greeting", [b"Frase 2.0", b""])
@pytest.mark.parametrize("tells", ["work", "offset", "if asked"])
def test_a_tool_is_never_lowered_by_a_lift(monkeypatch, tells, greeting):
    """A controller without homing keeps its work zero over a power cycle, and counts from where it
    stands: by that the tool is 41 mm up, and a lift to 5 mm would drive it down.
    """
    language = plugins.language("gcode")
    habits = gcode.Habits(offset=(0.0, 0.0, -41.3), work_place=tells == "work", greeting=greeting)
    machine = Terse(habits)
    machine.leaves_out = rb"\|WCO:[-\d.,]+" if tells == "if asked" else rb"$^"
    monkeypatch.setattr("time.monotonic", lambda: machine.now)
    working(machine, KNIFE)
    machine.head.lose_place((0.0, 0.0, 0.0))
    machine.lose_power()
    for _ in range(500):
        machine.advance(TICK)
    depth = machine.head.true_place()[2]
    safe = language.make_safe(Straight(machine, language), LIFT)
    for _ in range(500):
        machine.advance(TICK)
    assert machine.head.true_place()[2] == depth
    assert safe.tool_up is None
    assert "higher than the first strokes lift it" in safe.words


class Failing(Terse):
    """Its power fails when it is told to switch its spindle off, and is back at once. stood: at
    what height.
    """

    leaves_out, stood = rb"$^", 0.0

    def feed(self, data):
        super().feed(data)
        if b"M5" in data:
            self.stood = self.head.true_place()[2]
            self.lose_power()


@pytest.mark.parametrize("boot", [0.0, 1.2])
@pytest.mark.parametrize("tells", [True, False])
def test_a_tool_is_not_lowered_where_power_fails_during_the_stop(monkeypatch, boot, tells):
    language = plugins.language("gcode")
    habits = gcode.Habits(offset=(0.0, 0.0, -41.3), work_place=tells, greeting=b"", boot=boot)
    machine = Failing(habits)
    machine.leaves_out = rb"\|WCO:[-\d.,]+"
    monkeypatch.setattr("time.monotonic", lambda: machine.now)
    working(machine, KNIFE)
    safe = language.make_safe(Straight(machine, language), LIFT)
    for _ in range(500):
        machine.advance(TICK)
    assert machine.stood < -41.3  # in the stock
    assert machine.head.true_place()[2] == pytest.approx(machine.stood)
    assert safe.tool_up is None


class FailingAtLast(Terse):
    """Its power fails as its lift comes, and is back at once."""

    leaves_out = rb"$^"

    def feed(self, data):
        if data.endswith(b"G0 Z5\n"):  # not the file's own
            self.lose_power()
        else:
            super().feed(data)


@pytest.mark.parametrize("zero", [-6.2, -5.0])
@pytest.mark.parametrize("tells", [True, False])
def test_one_that_jumps_when_it_is_lifted_is_not_said_to_be_up(
    gcode_file, monkeypatch, tells, zero
):
    """By its own count its tool is 6 mm up then, and was never moved."""
    path, _ = gcode_file(3)
    habits = gcode.Habits(offset=(0.0, 0.0, zero), work_place=tells, greeting=b"")
    machine, language = FailingAtLast(habits), plugins.language("gcode")
    monkeypatch.setattr("time.monotonic", lambda: machine.now)
    working(machine, KNIFE)
    with cut_file(path, language, 0.025) as file:
        talk = Straight(machine, language)
        talk.link = SimpleNamespace(let_go_on=lambda drop: None)
        safe = make_safe(talk, file, answers=True)
    assert machine.tool_down
    assert safe.tool_up is None
    assert "power may have failed" in safe.words
    assert safe.lost_place
    assert safe.since_rest


def test_one_whose_power_fails_during_the_stop_may_have_lost_its_place(gcode_file, monkeypatch):
    """It greets twice then: its own height is counted from where it stood."""
    path, _ = gcode_file(3)
    language = plugins.language("gcode")
    machine = Failing(gcode.Habits(work_place=True, greeting=b"Frase 2.0"))
    monkeypatch.setattr("time.monotonic", lambda: machine.now)
    with cut_file(path, language, 0.025) as file:
        working(machine, KNIFE)
        talk = Straight(machine, language)
        talk.link = SimpleNamespace(let_go_on=lambda drop: None)
        safe = make_safe(talk, file, answers=True)
    assert safe.tool_up is None
    assert "a reset may have spoilt" in safe.words
    assert safe.lost_place


@pytest.mark.parametrize("alarm", [1, 2])
def test_a_machine_in_alarm_is_not_said_to_have_lifted(alarm):
    """In alarm all G-code gets error:9: only somebody there can lift the tool."""
    language = plugins.language("gcode")
    machine = gcode.Controller(gcode.Habits(locked=True))
    machine.home()
    working(machine, KNIFE)
    machine.alarm(alarm)
    safe = language.make_safe(Straight(machine, language), LIFT)
    assert machine.tool_down
    assert safe.tool_up is not True
    assert "locked after an alarm" in safe.words
    assert "by hand" in safe.words
    assert safe.lost_place


@pytest.mark.parametrize("drops", [True, False])
@pytest.mark.parametrize("slows", [0.0, 0.3])
def test_a_pen_is_up_when_the_plotter_says_so(drops, slows, monkeypatch):
    """One that can't drop its queue is waited for: no word of a lift before there is one."""
    language = plugins.language("hpgl")
    machine = hpgl.Plotter(hpgl.Habits(deceleration=slows, drops=drops))
    monkeypatch.setattr("time.monotonic", lambda: machine.now)
    working(machine, b"IN;SP1;VS20;PU0,0;PD4000,0,4000,4000;PU0,0;PD0,4000;")
    talk = Straight(machine, language)
    with talk.stopping():
        safe = language.make_safe(talk, b"")
    assert safe.tool_up is True
    assert not machine.tool_down
    assert bool(talk.told) is not drops  # the wait is not silent


def test_a_plotter_that_does_not_answer_is_not_said_to_have_lifted():
    language = plugins.language("hpgl")
    machine = hpgl.Plotter(hpgl.Habits(answers=False))
    working(machine, b"IN;SP1;VS20;PU0,0;PD4000,0,4000,4000;")
    safe = language.make_safe(Straight(machine, language), b"")
    assert safe.tool_up is None
    assert "check that its pen is up" in safe.words


@pytest.mark.parametrize(
    "place", ["MPos:50,000,40,000,-0,500", "WPos:1,000,2,000", "MPos:1.0,2.0,3.0|MPos:1.0,2.0,9.0"]
)
def test_a_report_that_does_not_say_which_number_is_which_says_nothing(place):
    """Interface notes: a place has three numbers or more, with decimal points."""
    assert parse(f"<Idle|{place}|FS:0,0>") is None


@pytest.mark.parametrize("place", ["1.000,2.000,3.000", "0,0,0", "0,0,0,0", "1.5,2.5,0.000,7.250"])
def test_a_report_of_any_number_of_axes_is_read(place):
    assert parse(f"<Idle|MPos:{place}|FS:0,0>").own == tuple(map(float, place.split(",")))


def test_a_state_in_small_letters_is_read():
    told = parse("<idle|mpos:1.0,2.0,3.0|fs:0,0>")
    assert (told.state, told.own) == ("Idle", (1.0, 2.0, 3.0))
    assert parse("<HOLD:0|MPos:1.0,2.0,3.0|FS:0,0>").at_rest
