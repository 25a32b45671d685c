"""What a profile's `[sending]` says of stopping and of DTR, and noise on the line.

Sources: a plotter still takes some 80 bytes once its DTR has fallen, a USB adapter tells that up to
16 ms late (both common practice); a line that is switched on reads as NUL or 0xff (its idle and
break levels, EIA-232).
"""

import os
import sys
from dataclasses import replace

import pytest

from plotout import job, plugins
from plotout.errors import MachineError, UserError
from plotout.machine import SendingSettings
from plotout.sending.ports import open_link, port_link
from plotout.sending.settings import settings_of
from plotout.sending.talk import Hearing, PortTalk

TAKES = 80


@pytest.mark.parametrize("baud", [9600, 38400, 115200])
@pytest.mark.parametrize("lag", [0.001, 0.004, 0.016])
def test_no_more_comes_than_a_plotter_takes_until_its_dtr_is_seen_to_fall(baud, lag):
    settings = SendingSettings("hpgl", "dtr", baud, 1024, answers=False, dtr_lag=lag)
    link = port_link(object(), settings)
    assert link.ahead + link.rate * lag <= TAKES + 1
    assert link.ahead >= 16
    full = min(baud / 10, (TAKES - 16) / lag)
    assert link.rate == pytest.approx(full)


class Stopped:
    """A port with 19 bytes that a machine has stopped; it goes on after so many naps."""

    def __init__(self, naps):
        self.naps, self.room_when_urged = naps, None

    def held(self):
        return self.naps > 0

    def waiting(self):
        return 19 if self.naps > 0 else 0

    def nap(self, seconds):
        self.naps -= 1

    def urge(self, data):
        self.room_when_urged = not self.held()


@pytest.mark.parametrize(("yields", "waits"), [(0.0, False), (15.0, True)])
def test_nothing_is_pushed_past_the_line_of_a_plotter_that_cant_drop(yields, waits):
    """Found by tests/bench/breaks.py, HP-GL seed 501085."""
    link = Stopped(5)
    talk = PortTalk(link, plugins.language("hpgl"), yields=yields)
    talk.urge(b"\x1b.K")
    assert link.room_when_urged is waits


@pytest.mark.parametrize("yields", [0.0, 15.0])
def test_a_line_that_stays_stopped_is_told_of_and_waited_for_once(monkeypatch, yields):
    """A plotter that was reset forgets its XOFF. Found by tests/bench/breaks.py, seed 9100086."""
    clock, pushed, told = [0.0], [], []

    class Standing(Stopped):
        def held(self):
            return True

        def write(self, _data):
            return 0

        def nap(self, seconds):
            clock[0] += seconds

        def urge(self, data):
            pushed.append((clock[0], data))

    monkeypatch.setattr("time.monotonic", lambda: clock[0])
    monkeypatch.setattr("time.sleep", lambda seconds: clock.__setitem__(0, clock[0] + seconds))
    talk = PortTalk(Standing(1), plugins.language("hpgl"), yields=yields, tell=told.append)
    talk.urge(b"\x1b.K")
    with pytest.raises(MachineError, match="takes nothing"):
        talk.say(b"PU;", 15.0)
    talk.urge(b"PU;")
    talk.urge(b"\x1b.B")
    assert [data for _, data in pushed] == [b"\x1b.K", b"PU;", b"\x1b.B"]
    assert pushed[0][0] == pytest.approx(yields, abs=0.1)
    assert pushed[-1][0] == pytest.approx(15.0, abs=0.1)
    assert len(told) == 1
    assert "stopped the line" in told[0]


@pytest.mark.parametrize("noise", [b"\x00", b"\xff\x00\xff"])
def test_noise_before_an_answer_is_not_part_of_it(noise):
    hpgl, gcode = Hearing(plugins.language("hpgl")), Hearing(plugins.language("gcode"))
    assert [one.value for one in hpgl.take(noise + b"1024\r")] == [1024]
    assert [one.kind for one in gcode.take(noise + b"ok\r\n")] == ["ok"]


@pytest.mark.parametrize(("name", "flow"), [("laser", "ok"), ("roll-plotter", "enquiry")])
def test_a_flow_that_waits_for_answers_is_refused_without_them(name, flow):
    """It would wait for ever; nothing is known of the machine by which to choose another."""
    machine = job.load_machine(name)
    silent = replace(machine, sending=replace(machine.sending, flow=flow, answers=False))
    with pytest.raises(UserError, match=f"the flow '{flow}' waits for answers") as fault:
        settings_of(silent)
    assert "xon-xoff" in fault.value.fix
    assert flow not in fault.value.fix.split(": ")[1]
    assert not settings_of(replace(silent, sending=replace(silent.sending, flow="paced"))).answers


@pytest.mark.skipif(sys.platform != "linux", reason="pseudo-terminals with this interface")
@pytest.mark.parametrize("can", [True, False])
def test_an_adapter_is_asked_to_keep_nothing_back(monkeypatch, can):
    """Those that can't (here a pseudo-terminal) are opened all the same."""
    asked = []

    def mode(_port, on):
        asked.append(on)
        if not can:
            raise ValueError("Failed to update ASYNC_LOW_LATENCY flag")

    monkeypatch.setattr("serial.Serial.set_low_latency_mode", mode)
    ours, theirs = os.openpty()
    link = open_link(os.ttyname(theirs), SendingSettings("gcode", "ok", 115200, 128))
    link.close()
    os.close(ours)
    os.close(theirs)
    assert asked == [True]
