"""A hang-up or a closed terminal meets a machine in any state: what is said of the tool is true.

The machines are those from the notes (tests/bench/machines_from_notes), on a simulated clock.
"""

import random
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from breaks import PROFILE, STEP, gcode_file, hpgl_file
from machines_from_notes import gcode, hpgl
from machines_from_notes.simulated import Sender, Wire, stop_by

UP = ("Stopped, tool up.", "The tool is up and off.")


def _mute(machine, _wire):
    machine._say = lambda _text: None


def _hold(machine, _wire):
    machine.feed(b"!")


def _full(machine, _wire):
    machine.habits.full_for_ever = 1


def _power(machine, _wire):
    machine.lose_power()


def _locked(machine, _wire):
    machine.habits.locked = True  # it homes, so that a reset does not unlock it
    machine.alarm(1)


def _gone(_machine, wire):
    wire.unplug()


STATES = {
    "gcode at work": (lambda _machine, _wire: None, True, "Stopped, tool up."),
    "gcode held at its panel": (_hold, True, "Stopped, tool up."),
    "gcode in alarm": (lambda machine, _wire: machine.alarm(1), True, "may have lost its place"),
    "gcode locked by an alarm": (_locked, False, "locked after an alarm"),
    "gcode switched off and on": (_power, False, "by its own count, which a reset"),
    "gcode silent": (_mute, False, "does not report whether its tool is up"),
    "gcode gone": (_gone, False, "see that its tool is up"),
    "hpgl at work": (lambda _machine, _wire: None, True, "Stopped, tool up."),
    "hpgl switched off and on": (_power, True, "reset"),
    "hpgl silent": (_mute, False, "does not answer: press its own stop key"),
    "hpgl full for ever": (_full, False, "does not answer: press its own stop key"),
    "hpgl gone": (_gone, False, "see that its tool is up"),
}


def _sent(folder, language, way, befalls, data=None):
    """Send a job, or those bytes; after some strokes that befalls its machine, and it is stopped in
    that way, if any. Return the machine and the exit code.
    """
    rng = random.Random(16)
    if language == "gcode":
        machine, baud, flow, kind, tool = (
            gcode.Controller(gcode.Habits()),
            115200,
            "ok",
            "knife",
            "creaser",
        )
        data = data or gcode_file(rng, 9, beam=False)
    else:
        machine, baud, flow, kind, tool = (
            hpgl.Plotter(hpgl.Habits(drops=False)),
            19200,
            "enquiry",
            "pen",
            "pen",
        )
        data = hpgl_file(rng, 30)
    profile = PROFILE.format(
        kind=kind, driver=language, step=STEP, tool=tool, options="", flow=flow, baud=baud,
        buffer=128 if language == "gcode" else 1024, answers="",
    )  # fmt: skip
    (folder / "trial.toml").write_text(profile)
    (folder / "job.txt").write_bytes(data)
    (folder / "port").touch()
    wire, out = Wire(machine, baud, flow), folder / "said.txt"
    words = ["send", str(folder / "job.txt"), "--machine", str(folder / "trial.toml")]
    words += ["--port", str(folder / "port"), "--yes"]
    sender = Sender(words, wire, out, folder / "jobs", terminal=way == "close")
    done = []

    def on_tick():
        if not done and len(machine.head.marks) > 12 and machine.tool_down:
            done.append(True)
            befalls(machine, wire)
            if way:
                stop_by(sender, way)

    code = sender.run(on_tick)
    assert done
    return machine, code


@pytest.mark.parametrize("way", ["hup", pytest.param("close", marks=pytest.mark.thorough)])
@pytest.mark.parametrize("state", STATES)
def test_what_is_said_of_the_tool_is_true(tmp_path, capfd, state, way):
    befalls, up, words = STATES[state]
    machine, code = _sent(tmp_path, state.split()[0], way, befalls)
    assert code == 1
    said = "".join(capfd.readouterr())
    assert words in said
    assert any(claim in said for claim in UP) is up
    assert up <= (not machine.tool_down)


def test_words_that_nobody_knows_stop_a_job_only_if_something_was_lost(tmp_path, capfd):
    def chats(machine, _wire):
        execute = machine._execute

        def chatting(raw):
            machine._say(b"Guten Tag")
            execute(raw)

        machine._execute = chatting

    _, code = _sent(tmp_path, "gcode", "", chats)
    assert code == 0
    assert "".join(capfd.readouterr()).count("The machine says: Guten Tag.") == 1


def test_a_greeting_in_any_words_is_a_reset(tmp_path, capfd):
    def greets(machine, _wire):
        machine.habits.greeting = b"Guten Tag"
        machine.lose_power()

    _, code = _sent(tmp_path, "gcode", "", greets)
    assert code == 1
    assert "the machine was reset" in "".join(capfd.readouterr())


@pytest.mark.parametrize("up", ["G1 Z5 F1200\n", "G1 Z1 F1200\nG0 Z5\n", "g1 z 5. f1200\n"])
def test_a_tool_that_a_file_lifts_by_a_feed_is_lifted_when_it_stops(tmp_path, capfd, up):
    """As routers' files often do; the stroke after it begins with its travel."""
    stroke = "G0 X{0} Y5\nG1 Z-1 F600\nG1 Y30 F900\n" + up
    strokes = "".join(stroke.format(index) for index in range(2, 30))
    data = f"G21 G90\nG0 Z5\n{strokes}M5\nM2\n".encode()
    machine, code = _sent(tmp_path, "gcode", "hup", lambda _machine, _wire: None, data)
    assert code == 1
    assert not machine.tool_down
    assert "Stopped, tool up." in "".join(capfd.readouterr())
