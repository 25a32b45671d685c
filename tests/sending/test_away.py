"""A sender that stands still for a while, as when the lid of its computer is closed: meanwhile its
machine may be reset, and what it answered before says nothing any more.

What a reset ends (the feed, the line's number): the public interface notes of the most used
open-source three-axis control, version 1.1.
"""

import os
import signal
import time
from types import SimpleNamespace

import pytest
from plotout_gcode.virtual import GcodeMachine
from processes import Terminal

from plotout.kit import Head
from plotout.machine import SendingSettings
from plotout.sending import pushing
from plotout.sending.link import PortLink
from plotout.sending.order import Order
from plotout.sending.run import run
from plotout.sending.silence import DRY, Silence, notice


class Quiet(GcodeMachine):
    """Says nothing of a reset. took: what it was sent since."""

    greeting, took = b"", b""

    def receive(self, data):
        self.took += data
        super().receive(data)


def _long_strokes(path):
    """Write strokes of many lines, of which a buffer holds few; return them."""
    lines, strokes = ["G21", "G90", "G0 Z5", "M3 S9000"], []
    for y in range(10, 60, 10):
        strokes.append([(x, y + x % 2) for x in range(10, 90)])
        (x, first), *rest = strokes[-1]
        lines += [f"G0 X{x} Y{first}", "G1 Z-1 F600", *(f"G1 X{x} Y{y}" for x, y in rest), "G0 Z5"]
    path.write_text("\n".join([*lines, "M5", "M2"]) + "\n")
    return strokes


@pytest.mark.parametrize("resets", [True, False])
@pytest.mark.parametrize("seconds", [0.7, 2.5])
def test_it_sees_that_its_machine_knows_the_job(serve, profile, tmp_path, resets, seconds):
    path = tmp_path / "long.ngc"
    strokes = _long_strokes(path)
    machine = Quiet(128, head=Head(speed=400.0))
    settings = profile("gcode", "ok", buffer=128)
    with serve(machine) as line:
        sender = Terminal(
            tmp_path / "jobs", "send", path, "--machine", settings, "--port", line.link, "--yes"
        )
        sender.until(lambda: machine.number and machine.head.at[0] > 40.0)
        os.kill(sender.pid, signal.SIGSTOP)
        end = time.monotonic() + seconds  # it works what it holds, however busy the computer is
        while time.monotonic() < end or (b"\n" in machine.held and time.monotonic() < end + 20.0):
            sender.listen()
        machine.took = b""
        if resets:
            machine.reset()
        machine.head.speed *= 100.0
        os.kill(sender.pid, signal.SIGCONT)
        code = sender.end()
    if resets:
        assert code == 1
        assert b"was reset" in sender.said
        assert machine.took.count(b"X") < 2  # one may be under way when it is suspended
    else:
        assert code == 0
        assert [stroke.points for stroke in machine.head.strokes] == strokes


def test_a_slow_look_of_its_own_is_no_absence(monkeypatch):
    """A network port may take so long to answer: it would be looked at again for ever."""
    monkeypatch.setattr(pushing, "see_that_it_knows", lambda _state: time.sleep(DRY + 0.1))
    monkeypatch.setattr(pushing, "answered", lambda _state, _patience: True)
    state = SimpleNamespace(
        silence=Silence(away=1.0),
        unanswered=[],
        payload=1,
        turns=None,
        counts=True,
        credit=SimpleNamespace(asks=0),
        file=SimpleNamespace(language=SimpleNamespace(acknowledges=True)),
        talk=SimpleNamespace(link=None),
        listen=lambda: None,
    )
    assert pushing._still_knows(state, 1.0)
    notice(state)
    assert not state.silence.away


def test_a_port_that_takes_long_to_be_read_is_sent_the_job(serve, monkeypatch, tmp_path):
    """Each look at it takes longer than its machine may take to run dry."""
    path = tmp_path / "short.ngc"
    path.write_text("G21\nG90\nG0 Z5\nG0 X10 Y10\nG1 Z-1 F600\nG1 X20\nG0 Z5\nM2\n")
    machine, reads, read = GcodeMachine(128, head=Head(speed=0.0)), [], PortLink.read

    def slow(link):
        reads.append(time.sleep(DRY + 0.02))
        assert len(reads) < 400, "it is looked at for ever"
        return read(link)

    monkeypatch.setattr(PortLink, "read", slow)
    settings = SendingSettings("gcode", "ok", 115200, 128)
    with serve(machine) as line:
        order = Order(
            path, "small", str(line.link), settings, tmp_path / "j", 0.025, (-1e6, -1e6, 1e6, 1e6)
        )
        outcome = run(order)
    assert outcome.done == outcome.units
    assert [stroke.points for stroke in machine.head.strokes] == [[(10, 10), (20, 10)]]
