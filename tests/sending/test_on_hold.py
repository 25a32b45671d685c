"""A job whose sender was killed, resumed at a controller that is on hold, or has finished its work.

The controller is the one from the notes (tests/bench/machines_from_notes), on a simulated clock.
`!`, `Hold:0`, and that a hold refuses `$` commands: the public interface notes of the most used
open-source three-axis control, version 1.1. `$32`: its laser mode.
"""

import random
import signal
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from breaks import PROFILE, STEP, gcode_file, whole
from machines_from_notes import gcode
from machines_from_notes.simulated import Sender, Wire, drain
from plain_link import PlainLink
from trial import coverage

from plotout import MachineError, plugins
from plotout.sending import journal
from plotout.sending.greet import greet
from plotout.sending.talk import PortTalk


class Job:
    """A job of some strokes, whose sender is killed, at a controller of its own."""

    def __init__(self, folder, capfd, beam=False):
        self.capfd = capfd
        self.folder, self.machine = (
            folder,
            gcode.Controller(gcode.Habits(beam=beam, settings={32: 1} if beam else {})),
        )
        self.wire = Wire(self.machine, 115200)
        self.data = gcode_file(random.Random(21), 6, beam=beam)
        said = {"kind": "laser" if beam else "knife", "tool": "beam" if beam else "creaser"}
        said |= {"driver": "gcode", "step": STEP, "flow": "ok", "baud": 115200, "buffer": 128}
        options = '[options]\ntool = "laser"' if beam else ""
        profile = PROFILE.format(**said, options=options, answers="")
        (folder / "trial.toml").write_text(profile)
        (folder / "job.txt").write_bytes(self.data)
        (folder / "port").touch()

    def send(self, on_tick):
        words = ["send", str(self.folder / "job.txt"), "--machine"]
        words += [str(self.folder / "trial.toml"), "--port", str(self.folder / "port"), "--yes"]
        return self._run(words, on_tick)

    def resume(self, on_tick=lambda _sender: None):
        return self._run(["resume", "--yes"], on_tick)

    def _run(self, words, on_tick):
        out = self.folder / "said.txt"
        out.touch()
        sender = Sender(words, self.wire, out, self.folder / "jobs")
        code = sender.run(lambda: on_tick(sender))
        said = out.read_text() + "".join(self.capfd.readouterr())
        return code, " ".join(said.split())

    def covers(self):
        plain = gcode.Controller(self.machine.habits)
        return coverage(whole("gcode", plain, self.data), self.machine.head.marks)

    def record(self):
        (book,) = (self.folder / "jobs").glob("*.journal")
        return journal.read(book)


def _held_and_killed(job):
    """Put the machine on hold at its panel, within its work, and kill the sender then."""

    def on_tick(sender):
        if job.machine.state == "Hold":
            if job.machine._resting:
                sender.signal(signal.SIGKILL)
        elif len(job.machine.head.marks) >= 3 and job.machine.tool_down:
            job.machine._take(b"!")

    code, _ = job.send(on_tick)
    assert code == -signal.SIGKILL
    assert job.machine.state == "Hold"


def test_one_on_hold_is_told_of_and_loses_nothing(tmp_path, capfd):
    job = Job(tmp_path, capfd)
    _held_and_killed(job)
    code, said = job.resume()
    assert code == 0
    assert said.index("The machine is on hold (it says '<Hold:0") < said.index("Resuming at stroke")
    assert not [cover for cover in job.covers() if 0 in cover]


def test_settings_that_a_hold_hides_are_compared_before_anything_moves(tmp_path, capfd):
    job = Job(tmp_path, capfd, beam=True)
    _held_and_killed(job)
    marks = len(job.machine.head.marks)
    job.machine.habits.settings[32] = 0.0
    code, said = job.resume()
    assert code == 1
    assert "its laser mode is off ($32=0)" in said
    assert len(job.machine.head.marks) == marks
    assert job.machine.state == "Idle"


def test_what_a_machine_has_shown_is_noted_before_its_user_is_asked(tmp_path, capfd):
    """Its power may fail at the question; then it shows nothing any more."""
    job = Job(tmp_path, capfd)

    def at_work(sender):
        if len(job.machine.head.marks) >= 12:
            sender.signal(signal.SIGKILL)

    job.send(at_work)
    drain(job.wire, lambda: job.machine.at_rest and not job.wire.queue, 20.0)
    before = job.record()

    def at_question(sender):
        if "the machine has finished" in "".join(capfd.readouterr()):
            sender.signal(signal.SIGKILL)

    code, _ = job.resume(at_question)
    assert code == -signal.SIGKILL
    after = job.record()
    done = sum(0 not in cover for cover in job.covers())
    assert before.done < after.done == done
    assert before.reached is not None
    assert after.reached == before.reached
    job.machine.lose_power()
    drain(job.wire, lambda: False, 1.0)
    job.machine.home()
    code, _ = job.resume()
    covers = job.covers()
    assert code == 0
    assert not [cover for cover in covers if 0 in cover]
    assert all(max(cover) == 1 for cover in covers[:done])  # known: not cut a second time


def test_a_machine_that_answers_late_is_understood_when_a_job_is_resumed(tmp_path, capfd):
    job = Job(tmp_path, capfd)
    job.wire.late = 1.4

    def at_work(sender):
        if len(job.machine.head.marks) >= 6:
            sender.signal(signal.SIGINT)

    job.send(at_work)
    code, said = job.resume()
    assert code == 0, said
    assert not [cover for cover in job.covers() if 0 in cover]


class Mute(PlainLink):
    """Acknowledges lines, and reports nothing."""

    def write(self, data):
        self.out += b"ok\r\n" * data.count(b"\n")
        return len(data)

    def nap(self, seconds):
        pass


def test_a_machine_that_only_takes_lines_is_called_that():
    with pytest.raises(MachineError, match="takes lines, but does not answer") as fault:
        greet(PortTalk(Mute(), plugins.language("gcode")), wait=0.5)
    assert "gcode-lines" in fault.value.fix
