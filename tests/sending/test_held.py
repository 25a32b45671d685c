"""Half an instruction that a machine holds from an earlier job: whatever is sent next ends it, and
draws a wrong line. HP 7550A manual: ESC . B tells the free room, ESC . K discards what is held; not
all machines do that.
"""

import time
from dataclasses import dataclass, field

import pytest
from plain_link import PlainLink

from plotout import Heard, plugins
from plotout.errors import MachineError
from plotout.sending.flow_control import FLOWS
from plotout.sending.greet import greet
from plotout.sending.talk import PortTalk

BUFFER = 256


@dataclass
class Plotter:
    """A line to a plotter; `keeps`: what of `received` it can neither work nor discard."""

    keeps: int
    size: int = BUFFER
    says_size: bool = True
    received: bytearray = field(default_factory=bytearray)
    answers: bytearray = field(default_factory=bytearray)

    def write(self, data):
        self.received += data
        if data.endswith(b"\x1b.B"):
            self.answers += b"%d\r" % (self.size - self.keeps)
        if data.endswith(b"\x1b.L") and self.says_size:
            self.answers += b"%d\r" % self.size
        if data.endswith(b"OI;"):
            self.answers += b"7550A\r"
        return len(data)

    def read(self):
        data, self.answers = bytes(self.answers), bytearray()
        return data

    def held(self):
        return False

    def nap(self, seconds):
        pass


@pytest.fixture(autouse=True)
def soon(monkeypatch):
    monkeypatch.setattr("plotout_hpgl.talking.HELD", 0.2)


def _greet(line):
    return greet(PortTalk(line, plugins.language("hpgl")), buffer=BUFFER)


@pytest.mark.parametrize("says_size", [True, False])
def test_nothing_is_added_to_half_an_instruction(says_size):
    line = Plotter(keeps=7, says_size=says_size)
    with pytest.raises(MachineError, match="holds 7 bytes") as fault:
        _greet(line)
    assert "switch the machine off and on" in fault.value.fix
    assert not bytes(line.received).replace(b"\x1b.B", b"").replace(b"\x1b.L", b"").strip(b"\x1b.K")


def test_an_empty_machine_is_asked_its_name_at_once():
    line = Plotter(keeps=0)
    assert _greet(line) == ("7550A",)
    assert bytes(line.received) == b"\x1b.B\x1b.K\x1b.B\x1b.KOI;\x1b.B"  # was it reset meanwhile?


def test_a_buffer_smaller_than_its_profile_says_holds_nothing():
    assert _greet(Plotter(keeps=0, size=128)) == ("7550A",)


@pytest.mark.parametrize("says_size", [True, False])
def test_a_buffer_larger_than_its_profile_says_may_hold_something(says_size):
    """More room than the profile gives is no proof: the machine's own size is asked."""
    with pytest.raises(MachineError, match="holds 7 bytes" if says_size else "holds 1 byte"):
        _greet(Plotter(keeps=7, size=4 * BUFFER, says_size=says_size))
    assert _greet(Plotter(keeps=0, size=4 * BUFFER)) == ("7550A",)


def test_of_a_larger_buffer_only_so_much_is_filled_as_the_profile_says():
    credit = FLOWS["enquiry"].credit(BUFFER, 9600, plugins.language("hpgl"))
    free, most = 4 * BUFFER, 0
    for turn in range(60):
        if credit.question(short=credit.room() < 8):
            credit.heard(Heard("room", value=free))
        if credit.room() >= 8:
            credit.sent(8)
            free -= 8
        elif turn % 3 == 0:
            free += 16  # it works
        most = max(most, 4 * BUFFER - free)
    assert BUFFER - 40 <= most <= BUFFER


@dataclass
class Paused(Plotter):
    """Tells its room, but works what it is asked only when it is let go on."""

    until: float = 0.0

    def read(self):
        if time.monotonic() > self.until and b"OA;" in self.received:
            self.received.clear()
            self.answers += b"3,0,704,709\r400,800,0\r"
        return super().read()


def test_one_that_is_paused_at_its_panel_is_waited_for():
    told = []
    line = Paused(keeps=40, until=time.monotonic() + 2.6)
    talk = PortTalk(line, plugins.language("hpgl"), tell=told.append)
    account = plugins.language("hpgl").account(talk)
    assert (account.count, account.at, account.down) == (3, (400.0, 800.0), False)
    assert [words for words in told if "paused at its panel" in words]


def test_one_that_never_reports_where_it_is_is_given_up(monkeypatch):
    monkeypatch.setattr("plotout_hpgl.talking.PAUSE", 0.2)
    line = Paused(keeps=40, until=time.monotonic() + 60.0)
    with pytest.raises(MachineError, match="does not report where it is") as fault:
        plugins.language("hpgl").account(PortTalk(line, plugins.language("hpgl")))
    assert "let it go on" in fault.value.fix


class Full(PlainLink):
    """Its buffer is full, and it is paused at its panel."""

    def write(self, data):
        self.out += b"0\r" * data.count(b"\x1b.B")
        return len(data)

    def nap(self, seconds):
        time.sleep(seconds)


def test_a_full_buffer_is_not_taken_for_another_language():
    """HP 7550A manual: ESC . B is answered by the bytes of room, 0 without any."""
    with pytest.raises(MachineError, match="buffer is full") as fault:
        greet(PortTalk(Full(), plugins.language("hpgl")), wait=1.0)
    assert "Its tool may be down" in fault.value.fix
