"""A plotter that was reset without a word, or answers late: what it is sent meanwhile.

HP 7550A Interfacing and Programming Manual, from memory: power-on sets the defaults and empties the
buffer; answers come in the order of the questions.
"""

import time

import pytest
from plotout_hpgl.virtual import HpglMachine
from processes import sender

from plotout.kit import Head


class Forgetful(HpglMachine):
    """Is reset without a word once it has received so many bytes; before: its strokes by then. It
    has one tool, which it holds all the time.
    """

    at, got, before = 1500, 0, -1

    def receive(self, data):
        self.got += len(data.replace(b"\x1b.B", b""))
        super().receive(data)
        if self.got > self.at and self.before < 0:
            self.reset()
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


@pytest.mark.parametrize("at", [700, 1500, 2900])
def test_nothing_more_is_sent_while_answers_are_overdue(serve, hpgl_file, tmp_path, at):
    """What it was sent by the time of the reset may come still: some 60 bytes are on their way."""
    path, _ = hpgl_file(200)
    machine = Forgetful(1024, head=Head(speed=4000.0))
    machine.at = at
    with serve(machine) as line:
        code, errors = send(path, line, machine, tmp_path / "j")
    assert code == 1
    assert "reset" in errors or "missing" in errors
    sent = machine.got - at
    assert machine.before >= 0
    assert sent < 1024  # it was sent what it had room for by its last answer, and no more


@pytest.mark.parametrize("late", [0.3, 0.9, 1.6])
def test_a_plotter_that_answers_late_is_let_work(serve, hpgl_file, tmp_path, late):
    path, strokes = hpgl_file(12)
    machine = HpglMachine(1024, head=Head(speed=0.0), answers=Delayed(late))
    with serve(machine) as line:
        code, errors = send(path, line, machine, tmp_path / "j")
    assert code == 0, errors
    assert [stroke.points for stroke in machine.head.strokes] == strokes
