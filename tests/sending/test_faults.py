"""A whole job through every fault that a virtual machine can be told to have.

What stands still for a while is waited for; what is wrong stops the job at that stroke, with the
tool up and the number explained; after `resume` every stroke is drawn.
"""

import errno
import re
import time
from dataclasses import replace

import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine

from plotout.errors import MachineError, UserError
from plotout.kit import Head
from plotout.machine import SendingSettings
from plotout.sending import journal, run
from plotout.sending.order import Calls, Order
from plotout.sending.resume import resume
from plotout.sending.virtual import Fault, fault_from
from plotout.sending.watch import Wish


def _machine(language):
    if language == "gcode":
        return GcodeMachine(128, head=Head(speed=2500.0))
    return HpglMachine(256, head=Head(speed=100_000.0))


def _order(line, path, book, machine, language):
    flow = "ok" if language == "gcode" else "enquiry"
    settings = SendingSettings(language, flow, 115200, machine.buffer, answers=True)
    return Order(path, "virtual", str(line), settings, book, 0.025, (-1e6, -1e6, 1e6, 1e6))


def _whole(machine, strokes):
    drawn = [stroke.points for stroke in machine.head.strokes]
    return [points for points in drawn if points in strokes]


@pytest.fixture(params=["hpgl", "gcode"])
def a_job(request, hpgl_file, gcode_file):
    """Language, machine, file and its strokes; about 30 bytes a stroke of HP-GL, 60 of G-code."""
    path, strokes = (hpgl_file if request.param == "hpgl" else gcode_file)(40)
    return request.param, _machine(request.param), path, strokes


@pytest.mark.parametrize("what", ["stall", "fill"])
def test_what_stands_still_is_waited_for(serve, a_job, tmp_path, what):
    language, machine, path, strokes = a_job
    with serve(machine, faults=[Fault(what, 700), Fault(what, 1400)]) as line:
        start = time.monotonic()
        outcome = run.run(_order(line.link, path, tmp_path / "j", machine, language))
        took = time.monotonic() - start
        assert line.faults == []
    assert outcome.done == outcome.units
    assert took > 0.6  # it did stand still twice
    assert [stroke.points for stroke in machine.head.strokes] == strokes
    assert machine.overruns == 0


def test_an_error_stops_the_job_and_says_what_it_means(serve, a_job, tmp_path):
    language, machine, path, strokes = a_job
    meaning = "a word that does not begin" if language == "gcode" else "out of range"
    with serve(machine, faults=[Fault("error", 1100)]) as line:
        order = _order(line.link, path, tmp_path / "j", machine, language)
        with pytest.raises(MachineError, match=meaning):
            run.run(order)
        end = time.monotonic() + 5
        while machine.head.down and time.monotonic() < end:
            time.sleep(0.01)
        assert not machine.head.down
        begun = len(machine.head.strokes)
        told = journal.read(tmp_path / "j")
        assert told.adrift
        # how far an HP-GL machine came is asked for now and then: it may not have been yet
        assert language == "hpgl" or told.done > 0
        assert told.done <= begun
        whole = len(_whole(machine, strokes))  # asked for on a busy computer
        outcome = resume(replace(order, calls=Calls(which=lambda _doubt: whole)), told)
    assert outcome.done == outcome.units
    assert [points for points in strokes if points not in _whole(machine, strokes)] == []


def test_a_garbled_instruction_stops_the_job(serve, a_job, tmp_path):
    """The spoilt byte is a letter: a spoilt number is one too, and nothing on the wire tells."""
    language, machine, path, strokes = a_job

    class Spoilt(type(machine)):
        """Finds its instruction spoilt at the first stroke after so many."""

        def receive(self, data):
            if len(self.head.strokes) > 12 and not spoilt:
                at = data.find(b"G1 X" if language == "gcode" else b"PD")
                if at >= 0:
                    spoilt.append(at)
                    data = data[:at] + bytes([data[at] ^ 0x08]) + data[at + 1 :]
            super().receive(data)

    spoilt = []
    machine = Spoilt(machine.buffer, head=machine.head)
    with serve(machine) as line:
        order = _order(line.link, path, tmp_path / "j", machine, language)
        with pytest.raises(MachineError, match=r"strokes? 1[0-9]"):
            run.run(order)
        whole = len(_whole(machine, strokes))  # asked for on a busy computer
        order = replace(order, calls=Calls(which=lambda _doubt: whole))
        outcome = resume(order, journal.read(tmp_path / "j"))
    assert spoilt
    assert outcome.done == outcome.units
    assert [points for points in strokes if points not in _whole(machine, strokes)] == []


@pytest.mark.parametrize("rest", [b"", b"1,200;"], ids=["on a boundary", "within a number"])
def test_a_reset_that_leaves_an_error_too_is_called_a_reset(serve, hpgl_file, tmp_path, rest):
    """HP 7550A manual, OE: what begins within an instruction is one that it doesn't know."""

    class CutOff(HpglMachine):
        """Is reset without a word in its twelfth stroke, of which the rest still comes."""

        def receive(self, data):
            if len(self.head.strokes) > 12 and not at:
                at.append(len(self.head.strokes))
                self.reset()
                data = rest + data
            super().receive(data)

    at = []
    path, _ = hpgl_file(40)
    machine = CutOff(256, head=Head(speed=100_000.0))
    with serve(machine) as line:
        order = _order(line.link, path, tmp_path / "j", machine, "hpgl")
        with pytest.raises(
            MachineError,
            match=r"was reset at (one of )?strokes? 1?\d",
        ):
            run.run(order)
    assert at
    assert journal.read(tmp_path / "j").done <= at[0]


def test_what_a_plotter_says_is_told_once_and_its_job_goes_on(serve, hpgl_file, tmp_path):
    class Chatty(HpglMachine):
        """Says after the tenth stroke, and again and again, that something runs low."""

        def receive(self, data):
            super().receive(data)
            strokes = len(self.head.strokes)
            if strokes > 10 and strokes % 5 == 0 and strokes not in at:
                at.append(strokes)
                self.answers.append(b"INK AT %d\r" % (50 - strokes))

    at, said = [], []
    path, strokes = hpgl_file(40)
    machine = Chatty(256, head=Head(speed=100_000.0))
    with serve(machine) as line:
        order = _order(line.link, path, tmp_path / "j", machine, "hpgl")
        outcome = run.run(replace(order, calls=Calls(said=said.append)))
    assert len(at) > 1
    assert outcome.done == outcome.units
    assert [stroke.points for stroke in machine.head.strokes] == strokes
    assert sum("The machine says: INK AT" in words for words in said) == 1


def test_a_line_that_vanished_is_gone_on_with_at_another_port(serve, a_job, tmp_path):
    language, machine, path, strokes = a_job
    book = tmp_path / "j"
    with serve(machine, faults=[Fault("vanish", 1100)]) as line:
        order = _order(line.link, path, book, machine, language)
        with pytest.raises(MachineError, match="was lost"):
            run.run(order)
        time.sleep(0.5)  # longer than a dropped line stays away
        with pytest.raises(MachineError, match="there is no port"):
            resume(order, journal.read(book))
    with serve(machine) as line:
        order = _order(line.link, path, book, machine, language)
        whole = len(_whole(machine, strokes))  # by somebody at the sheet, if asked
        order = replace(order, calls=Calls(which=lambda _doubt: whole))
        outcome = resume(order, journal.read(book))
    assert outcome.done == outcome.units
    assert _whole(machine, strokes) == strokes


def test_what_may_be_cut_again_is_named_after_the_user_has_counted(serve, a_job, tmp_path):
    """Of what was sent last the beginning may be missing, and what follows be complete."""
    language, machine, path, _ = a_job
    said = []
    with serve(machine, faults=[Fault("error", 1100)]) as line:
        order = _order(line.link, path, tmp_path / "j", machine, language)
        with pytest.raises(MachineError):
            run.run(order)
        told = replace(journal.read(tmp_path / "j"), doubt=(3, 9), settled=False)
        order = replace(order, calls=Calls(said=said.append, which=lambda _doubt: 3))
        resume(order, told)
    named = [text for text in said if "will be cut again" in text]
    assert len(named) == 1
    assert named[0].startswith("Strokes 4 to ")


def test_a_job_of_which_nothing_is_left_is_ended(serve, a_job, tmp_path):
    """Its sender was killed after the last byte: the machine has finished by itself."""
    language, machine, path, strokes = a_job
    book = tmp_path / "j"
    with serve(machine) as line:
        order = _order(line.link, path, book, machine, language)
        run.run(order)
        *before, _ = book.read_bytes().splitlines(keepends=True)
        book.write_bytes(b"".join(before))
        assert not journal.read(book).ended
        outcome = resume(order, journal.read(book))
        with pytest.raises(UserError, match="no stroke 100"):
            resume(order, journal.read(book), go_from=99)
    assert (outcome.strokes_done, outcome.strokes, outcome.stopped) == (40, 40, False)
    assert journal.read(book).ended
    assert [stroke.points for stroke in machine.head.strokes] == strokes


def test_a_disk_that_fills_up_during_a_job_stops_it_in_words(serve, a_job, tmp_path, monkeypatch):
    language, machine, path, strokes = a_job
    with serve(machine) as line:
        order = _order(line.link, path, tmp_path / "j", machine, language)

        def full(_descriptor):
            if len(machine.head.strokes) > 6:
                raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr("os.fdatasync", full)
        with pytest.raises(MachineError, match="can't keep the journal: No space left") as fault:
            run.run(order)
        assert not machine.head.down
    done = int(re.search(r"(\d+) of 40 strokes are known to be done", fault.value.fix)[1])
    assert 0 < done <= len(_whole(machine, strokes))
    assert "The tool is up and off" in fault.value.fix
    assert "Nothing is cut" not in fault.value.fix


@pytest.mark.parametrize("begun", [False, True])
def test_a_journal_that_cannot_be_written_says_what_helps(tmp_path, begun):
    """Another folder helps a new job; the journal of one that is to be resumed lies where it is."""
    book = tmp_path / "jobs" / "a.journal"
    if begun:
        book.mkdir(parents=True)  # nobody writes into that, the system's owner neither
    else:
        (tmp_path / "jobs").touch()
    with pytest.raises(MachineError, match="can't keep the journal") as fault, journal.opened(book):
        pass
    assert ("PLOTOUT_JOBS" in fault.value.fix) is not begun
    assert ("writable again" in fault.value.fix) is begun


def test_what_a_full_disk_did_not_take_is_told_at_a_stop(serve, a_job, tmp_path, monkeypatch):
    """The user stops it before anybody has seen that a record of what is done was not written."""
    language, machine, path, _ = a_job
    said, wish = [], Wish()

    def full(_descriptor):
        if wish.stop:
            raise OSError(errno.ENOSPC, "No space left on device")

    def done(_progress):
        wish.stop = len(machine.head.strokes) > 6

    with serve(machine) as line:
        calls = Calls(said=said.append, done=done, wish=wish)
        order = _order(line.link, path, tmp_path / "j", machine, language)
        monkeypatch.setattr("os.fdatasync", full)
        outcome = run.run(replace(order, calls=calls))
    assert outcome.stopped
    words = f"{outcome.strokes_done} of 40 strokes are known to be done: note that"
    assert any("journal could not be written" in text and words in text for text in said)


def test_faults_are_named():
    assert fault_from("drop@2000").at_byte == 2000
    for text in ("dorp@1", "drop", "drop@x"):
        with pytest.raises(UserError):
            fault_from(text)
