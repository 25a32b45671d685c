"""What an earlier job has left in force in a control: its modes, its zero, its check mode.

Source: NIST IR 6556, 3.5 (modal groups); G92, G43.1, G54 to G59, `$C` and what a reset ends: the
public interface notes of the most used open-source three-axis control, version 1.1.
"""

import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from plotout_gcode.kept import zero
from plotout_gcode.virtual import GcodeMachine
from test_safe import Straight, gcode

from plotout import MachineError, job, plugins
from plotout.machine import SendingSettings
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.flow_control import credit_for
from plotout.sending.greet import greet
from plotout.sending.meant import same_zero
from plotout.sending.messages import messages
from plotout.sending.ports import open_link
from plotout.sending.sender import send
from plotout.sending.talk import PortTalk

PLAIN = (
    "G0 Z5\nG0 X10 Y10 F600\nG1 Z-1\nG1 X30\nG1 Y30\nG0 Z5\nG0 X50 Y50\nG1 Z-1\nG1 X80\nG0 Z5\nM2\n"
)


def _plain(tmp_path: Path) -> Path:
    """A file that says nothing of its modes."""
    path = tmp_path / "plain.ngc"
    path.write_text(PLAIN)
    return path


@pytest.mark.parametrize("left", [{"relative": True}, {"scale": 25.4}])
def test_a_file_without_modes_is_cut_in_those_that_it_was_read_by(
    serve, gcode_machine, tmp_path, left
):
    settings = SendingSettings("gcode", "ok", 115200, 128)
    for name, value in left.items():
        setattr(gcode_machine, name, value)
    with serve(gcode_machine) as line:
        link = open_link(str(line.link), settings)
        language = plugins.language("gcode")
        path = _plain(tmp_path)
        with cut_file(path, language, 0.01) as file, journal.opened(tmp_path / "j") as book:
            outcome = send(file, PortTalk(link, language), credit_for(settings), book)
        link.close()
    assert outcome.done == outcome.units
    cut = [s.points for s in gcode_machine.head.strokes]
    assert cut == [[(10, 10), (30, 10), (30, 30)], [(50, 50), (80, 50)]]


@pytest.mark.parametrize("language", ["gcode", "gcode-lines"])
@pytest.mark.parametrize("marks", [True, False])
def test_the_modes_come_first_whatever_the_machine_answers(tmp_path, language, marks):
    with cut_file(_plain(tmp_path), plugins.language(language), 0.01) as file:
        for unit in (0, 1):
            begin = b" ".join(m.data.strip() for m in list(messages(file, unit, marks))[:2])
            assert b"G21" in begin
            assert b"G90" in begin


class Zeroed(gcode.Controller):
    """Has a zero of its own; told: what it answers to `$#`; modes: to `$G`."""

    told, chosen = b"", b"G54"

    def _say(self, line):
        if line.startswith(b"[G54:") and self.told:
            super()._say(self.told)
        super()._say(re.sub(rb"(?<=\[GC:G\d )G54", self.chosen, line))


@pytest.mark.parametrize(
    ("told", "chosen", "words"),
    [
        ("[G92:5.000,-5.000,0.000]", "G54", "G92"),
        ("[G92:0.000,0.000,0.000]", "G54", ""),
        ("[TLO:3.000]", "G54", "G49"),
        ("[TLO:0.000]", "G54", ""),
        ("", "G55", "G55"),
        ("", "G59.3", "G59.3"),
    ],
)
def test_a_zero_that_a_reset_ends_is_refused(told, chosen, words):
    language, machine = plugins.language("gcode"), Zeroed(gcode.Habits())
    machine.told, machine.chosen = told.encode(), chosen.encode()
    unsafe = language.differences(Straight(machine, language), job.load_machine("router")).unsafe
    assert [words in text and "another place" in text for text in unsafe] == [True] * bool(words)


class Checking(GcodeMachine):
    """Is in its check mode: it answers all and does nothing."""

    def _status(self):
        return super()._status().replace(b"<Idle", b"<Check")


def test_a_control_in_its_check_mode_is_refused(serve):
    settings = SendingSettings("gcode", "ok", 115200, 128)
    with serve(Checking()) as line:
        link = open_link(str(line.link), settings)
        with pytest.raises(MachineError, match="check mode"):
            greet(PortTalk(link, plugins.language("gcode")))
        link.close()


class Asleep(GcodeMachine):
    """Was sent to sleep: only a reset wakes it (the interface notes, state Sleep)."""

    def _status(self):
        return super()._status().replace(b"<Idle", b"<Sleep")


def test_a_machine_that_sleeps_is_named_as_such(serve):
    with serve(Asleep()) as line:
        link = open_link(str(line.link), SendingSettings("gcode", "ok", 115200, 128))
        with pytest.raises(MachineError, match="asleep, and wakes only by a reset") as fault:
            greet(PortTalk(link, plugins.language("gcode")))
        link.close()
    assert "locked" not in fault.value.problem


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        (["G54:1,2,3 TLO:0"], ""),
        (["TLO:0", "G54:1,2,3 TLO:0"], ""),  # the first answer was damaged
        (["TLO:0", "TLO:0"], "isn't told as when the job was begun: it was G54:1,2,3 TLO:0"),
        (["G54:9,2,3 TLO:0"] * 2, "was G54:1,2,3 when the job was begun, and is G54:9,2,3 now"),
    ],
)
def test_a_zero_that_is_told_in_part_is_no_other_zero(answers, words):
    said: list[str] = []
    order = SimpleNamespace(calls=SimpleNamespace(said=said.append))
    record = SimpleNamespace(job={"zero": "G54:1,2,3 TLO:0"})
    told = iter(answers)
    talk = SimpleNamespace(language=SimpleNamespace(zero=lambda _: next(told)))
    assert same_zero(order, talk, record) == (not words)  # type: ignore[arg-type]
    assert any(words in text for text in said) if words else not said


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ("[G54:0.000,0.000,-10.000]", "G54:0.000,0.000,-10.000"),
        ("[G54:.0]", ""),
        ("[G54:0.000,0.000]", ""),
        ("[G54:,0.000,-10.000]", ""),
    ],
)
def test_a_damaged_zero_is_none(answer, told):
    """Three numbers, by the interface notes; the tool's length is one."""
    said = [SimpleNamespace(text=answer), SimpleNamespace(text="[TLO:2.500]")]
    talk = SimpleNamespace(command=lambda _question: said)
    assert zero(talk) == f"{told} TLO:2.500".strip()  # type: ignore[arg-type]
