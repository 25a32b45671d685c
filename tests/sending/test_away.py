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
from plotout.sending import pushing
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
        run = Terminal(
            tmp_path / "jobs", "send", path, "--machine", settings, "--port", line.link, "--yes"
        )
        run.until(lambda: machine.number and machine.head.at[0] > 40.0)
        os.kill(run.pid, signal.SIGSTOP)
        end = time.monotonic() + seconds  # it works what it holds
        while time.monotonic() < end:
            run.listen()
        machine.took = b""
        if resets:
            machine.reset()
        machine.head.speed *= 100.0
        os.kill(run.pid, signal.SIGCONT)
        code = run.end()
    if resets:
        assert code == 1
        assert b"was reset" in run.said
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
