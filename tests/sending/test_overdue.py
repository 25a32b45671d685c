"""A plotter that was reset without a word, or a machine that answers late: what it is sent.

HP 7550A Interfacing and Programming Manual, from memory: power-on sets the defaults and empties the
buffer; answers come in the order of the questions.
"""

import time
from itertools import pairwise

import pytest
from plain_link import PlainLink
from plotout_hpgl.virtual import HpglMachine
from processes import sender

from plotout import plugins
from plotout.kit import Head
from plotout.sending.talk import PortTalk


class Forgetful(HpglMachine):
    """Is reset without a word once it has received so many bytes; before: its strokes by then. It
    has one tool, which it holds all the time.
    """

    at, got, before, stopped, greeting = 1500, 0, -1, False, b""

    def receive(self, data):
        self.stopped = self.stopped or (self.before >= 0 and b"\x1b.K" in data)
        if not self.stopped:
            self.got += len(data.replace(b"\x1b.B", b""))
        super().receive(data)
        if self.got > self.at and self.before < 0:
            self.reset()
            self.answers.extend([self.greeting] if self.greeting else [])
            self.head.holds_tool = True
            self.before = len(self.head.strokes)


class Delayed:
    """Answers that can be had only so many s later."""

    def __init__(self, late):
        self.late, self.coming = late, []

    def append(self, answer):
        self.coming.append((time.monotonic() + self.late, answer))

    def popleft(self):
        return self.coming.pop(0)[1]

    def clear(self):
        self.coming.clear()

    def __bool__(self):
        return bool(self.coming) and self.coming[0][0] <= time.monotonic()


def send(path, line, machine, book):
    process = sender("send", path, line.link, "hpgl", machine.buffer, book)
    ended = process.ended()
    return ended.returncode, ended.stderr


@pytest.mark.parametrize(
    ("at", "greeting", "most"),
    [
        (700, b"", 1280),
        pytest.param(1500, b"", 1280, marks=pytest.mark.thorough),
        (2900, b"READY\r\n", 300),
    ],
)
def test_nothing_more_is_sent_while_answers_are_overdue(
    serve, hpgl_file, tmp_path, at, greeting, most
):
    """What it was sent by the time of the reset may come still, and as much as it then has room
    for: 1024 bytes, and what it draws of those in 0.7 s. After a greeting only the former.
    """
    path, _ = hpgl_file(200)
    machine = Forgetful(1024, head=Head(speed=4000.0))
    machine.at, machine.greeting = at, greeting
    with serve(machine) as line:
        code, errors = send(path, line, machine, tmp_path / "j")
    assert code == 1
    assert "reset" in errors or "missing" in errors
    sent = machine.got - at
    assert machine.before >= 0
    assert sent < most


@pytest.mark.parametrize("late", [0.3, 0.9, pytest.param(1.6, marks=pytest.mark.thorough)])
def test_a_plotter_that_answers_late_is_let_work(serve, hpgl_file, tmp_path, late):
    path, strokes = hpgl_file(12)
    machine = HpglMachine(1024, head=Head(speed=0.0), answers=Delayed(late))
    with serve(machine) as line:
        code, errors = send(path, line, machine, tmp_path / "j")
    assert code == 0, errors
    assert [stroke.points for stroke in machine.head.strokes] == strokes


class Blinking(HpglMachine):
    """Its power fails for so many s once it has received so many bytes; it says nothing of it, and
    holds its tool all the time. before: its strokes by then.
    """

    at, off, got, before, dark_until = 900, 1.6, 0, -1, 0.0

    def receive(self, data):
        now = time.monotonic()
        self.got += len(data.replace(b"\x1b.B", b""))
        if not self.dark_until and self.got > self.at:
            self.dark_until = now + self.off
            self.reset()
            self.answers.clear()
            self.head.holds_tool = True
            self.before = len(self.head.strokes)
        if now > self.dark_until:
            super().receive(data)


class Hesitant(HpglMachine):
    """Answers nothing for a while once it has received so many bytes, and then all of it."""

    at, late, got = 600, 1.7, 0

    def receive(self, data):
        self.got += len(data.replace(b"\x1b.B", b""))
        if self.got > self.at and not isinstance(self.answers, Delayed):
            self.answers = Delayed(self.late)
        super().receive(data)


def _long(path, pairs=400):
    """One stroke of so many short sides, and two more; return its strokes."""
    zigzag = [(20 * n, 200 * (n % 2)) for n in range(pairs)]
    strokes = [zigzag, [(200, 600), (700, 900)], [(200, 1200), (700, 1500)]]
    text = "".join(
        f"PU{s[0][0]},{s[0][1]};PD" + ",".join(f"{x},{y}" for x, y in s[1:]) + ";" for s in strokes
    )
    path.write_text(f"IN;SP1;VS10;PA;{text}PU;SP0;")
    return strokes


@pytest.mark.parametrize("long", [False, True])
def test_a_plotter_whose_power_failed_is_not_sent_more(serve, hpgl_file, tmp_path, long):
    """Whatever it drew then would be a line right across the sheet."""
    path, _ = hpgl_file(200)
    if long:
        _long(path)
    machine = Blinking(256, head=Head(speed=8000.0))
    machine.at = 1500 if long else 900
    with serve(machine) as line:
        code, errors = send(path, line, machine, tmp_path / "j")
    assert code == 1
    assert "reset" in errors or "missing" in errors
    assert machine.before >= 0
    assert len(machine.head.strokes) == machine.before


def test_a_plotter_that_is_silent_within_a_long_stroke_draws_it_whole(serve, tmp_path):
    """It is asked for its count between two pairs, and keeps it."""
    path = tmp_path / "long.plt"
    strokes = _long(path, pairs=130)
    machine = Hesitant(256, head=Head(speed=0.0))
    with serve(machine) as line:
        code, errors = send(path, line, machine, tmp_path / "j")
    assert code == 0, errors
    assert [stroke.points for stroke in machine.head.strokes] == strokes


@pytest.mark.parametrize("late", [0.0, 0.05])
def test_a_buffer_is_never_overfilled_while_its_machine_is_looked_at(serve, tmp_path, late):
    """A question more is asked while one is not answered: its answer is not one to the next."""
    path = tmp_path / "long.plt"
    strokes = _long(path, pairs=100)
    machine = HpglMachine(128, head=Head(speed=9000.0), answers=Delayed(late))
    with serve(machine) as line:
        code, errors = send(path, line, machine, tmp_path / "j")
    assert code == 0, errors
    assert machine.overruns == 0
    assert [stroke.points for stroke in machine.head.strokes] == strokes


class Slow(PlainLink):
    """Answers each line after 0.9 s."""

    now, due = 0.0, 0.0

    def write(self, data):
        """See Link."""
        self.due = self.now + 0.9
        return len(data)

    def read(self):
        """See Link."""
        if not 0.0 < self.due <= self.now:
            return b""
        self.due = 0.0
        return b"ok\r\n"

    def nap(self, seconds):
        """See Link."""
        self.now += seconds


def test_one_that_answers_late_is_not_asked_in_silence(monkeypatch):
    """Before a job, and at its resume, dozens of questions are asked."""
    link, said = Slow(), []
    monkeypatch.setattr("time.monotonic", lambda: link.now)
    talk = PortTalk(link, plugins.language("gcode"), tell=said.append)
    while link.now < 50.0:
        talk.command(b"$G\n")
    assert len(said) == 4
    assert all("answers late, after up to 0.9 s" in words for words in said)


class Mute(Slow):
    """Answers nothing."""

    def read(self):
        """See Link."""
        return b""


def _told_at(link, monkeypatch):
    """Return a talk over a link, and when its user is told something, with the words."""
    told = []
    monkeypatch.setattr("time.monotonic", lambda: link.now)
    return PortTalk(
        link, plugins.language("gcode"), tell=lambda words: told.append((link.now, words))
    ), told


def test_answers_that_do_not_come_are_not_waited_for_in_silence(monkeypatch):
    """Short looks between the questions don't hide it; nor is one long wait silent."""
    link = Mute()
    talk, told = _told_at(link, monkeypatch)
    while link.now < 60.0:
        talk.command(b"$G\n")
        talk.hear(0.1)
    talk.lag = 20.0
    talk.ask(b"?", ("status",))
    times = [0.0, *(at for at, _ in told), link.now]
    assert max(later - at for at, later in pairwise(times)) < 15.0
    assert "Still waiting for the machine's answers" in told[0][1]
    assert "after up to 20.0 s" in told[-1][1]


def test_waits_long_ago_are_not_told_of(monkeypatch):
    """One of 9 s, and one of 2 s a minute later, are not 11 s."""
    link = Mute()
    talk, told = _told_at(link, monkeypatch)
    talk.hear(9.0)
    link.now += 60.0
    talk.hear(2.0)
    assert not told


def test_a_stop_that_is_not_confirmed_is_told_at_once(monkeypatch):
    """Its tool may be down meanwhile."""
    link = Mute()
    talk, told = _told_at(link, monkeypatch)
    with talk.stopping():
        while link.now < 5.0:
            talk.hear(0.1)
    talk.hear(1.0)
    ((at, words),) = told
    assert at < 2.0
    assert "emergency stop" in words
