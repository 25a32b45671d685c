"""No machine is sent more than it has room for, however it tells that."""

import re

import numpy as np
import pytest
from plotout_hpgl.talking import AWAY, LIFT, STOP
from plotout_hpgl.virtual import HpglMachine

from plotout.conversation import Heard
from plotout.machine import SendingSettings, model
from plotout.sending.flow_control import FLOWS, credit_for
from plotout.sending.flow_control.counted import Counted
from plotout.sending.flow_control.enquiry import Enquiry
from plotout.sending.flow_control.model import LEAST, RESERVE
from plotout.sending.flow_control.paced import Paced
from plotout.sending.ports import port_link


def test_every_flow_of_a_profile_is_made_by_a_file():
    assert sorted(FLOWS) == sorted(model.FLOWS)


@pytest.mark.parametrize("seed", range(5))
def test_counted_lines_never_fill_the_buffer(seed):
    rng = np.random.default_rng(seed)
    credit, held = Counted(128), []
    for _ in range(2000):
        size = int(rng.integers(4, 40))
        if credit.room() >= size:
            credit.sent(size)
            held.append(size)
            assert sum(held) < 128
        elif held:
            held.pop(0)
            credit.heard(Heard("ok"))


def test_enquiry_counts_what_was_sent_after_asking():
    credit = Enquiry(1000, b"\x1b.B")
    assert credit.room() == 0
    assert credit.question(short=True) == b"\x1b.B"
    assert credit.question(short=True) == b""
    credit.sent(100)
    credit.heard(Heard("room", value=600))
    assert credit.room() == 600 - 100 - RESERVE


@pytest.mark.parametrize("buffer", [40, 60, 255, 1024])
def test_what_stops_a_machine_always_finds_room(buffer):
    """Also in a block that it has acknowledged. HP 7550A manual: ESC . I sets the block's size."""
    credit = credit_for(SendingSettings("hpgl", "enq-ack", 9600, buffer))
    setting = credit.question(short=True)
    block = int(re.search(rb"\.I(\d+);", setting)[1])
    credit.heard(Heard("other", "\x06"))
    assert LEAST <= credit.room() <= max(block - len(STOP % (LIFT + AWAY)), LEAST)
    credit.heard(Heard("other", "\x06"))  # comes late, and answers nothing
    assert credit.room() <= block


def test_an_acknowledgement_that_was_lost_is_asked_for_again():
    """Without the handshake: a machine that was reset has forgotten it, and must stay silent."""
    credit = credit_for(SendingSettings("hpgl", "enq-ack", 9600, 256))
    assert credit.repeat() == b""
    credit.question(short=True)
    assert credit.repeat() == b"\x05"
    credit.heard(Heard("other", "\x06"))
    assert credit.repeat() == b""


def test_paced_sending_is_never_faster_than_the_line():
    clock = [0.0]
    credit = Paced(9600, now=lambda: clock[0])
    sent = 0
    for step in range(100):
        clock[0] = step * 0.01
        room = max(credit.room(), 0)
        credit.sent(room)
        sent += room
        assert sent <= 64 + 960 * clock[0]


def test_virtual_machine_knows_its_manual():
    """HP 7550A manual: OA gives x, y and pen; OP gives P1 and P2; ESC . B the free room."""
    machine = HpglMachine(100)
    machine.receive(b"IN;SP1;PU10,20;PD30,40;OA;OP;\x1b.B")
    while machine.step() is not None:
        pass
    said = b"".join(machine.answers).decode().split("\r")
    assert re.fullmatch(r"\d+", said[0])
    assert said[1:3] == ["30,40,1", "0,0,1000,1000"]


def test_a_machine_that_drops_dtr_is_never_overrun():
    """Its DTR is our DSR. It stops with 80 bytes to spare, and may take long to say so."""
    taken = bytearray()

    class Port:
        name, out_waiting, dsr, room = "stub", 0, True, 200

        def fileno(self):
            raise OSError

        def write(self, data):
            taken.extend(data)
            self.room -= len(data)
            self.dsr = self.room > 80
            return len(data)

    port = Port()
    link = port_link(port, SendingSettings("hpgl", "dtr", 115200, 1024, answers=False))
    file = bytes(range(256)) * 4
    at = 0
    while at < len(file):
        went = link.write(file[at : at + 100])
        at += went
        assert 64 <= port.room <= 200
        if not went and not port.dsr:
            assert port.room <= 80
            port.room, port.dsr = 200, True
    assert taken == file
    port.out_waiting = 16  # enough still lies in the port's own store
    assert link.write(b"more") == 0
