"""`send --trace`: once round the work with the tool up, and what is said if that fails.

The machines are those from the notes (tests/bench/machines_from_notes), on a simulated clock.
"""

import random
import re
import signal
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from breaks import PROFILE, STEP, gcode_file, hpgl_file, whole
from machines_from_notes import gcode, hpgl, lines
from machines_from_notes.simulated import Sender, Wire
from trial import coverage


def left_relative(habits):
    """Return a controller that an earlier program left in relative coordinates and in inches."""
    machine = gcode.Controller(habits)
    machine.advance(1.0)
    machine.feed(b"G91 G20\n")
    machine.advance(1.0)
    return machine


MACHINES = {
    "gcode": lambda: gcode.Controller(gcode.Habits()),
    "gcode, a beam": lambda: left_relative(gcode.Habits(beam=True, settings={32: 1.0})),
    "hpgl": lambda: hpgl.Plotter(hpgl.Habits()),
    "lines": lambda: lines.LineReader(lines.Habits()),
    "lines, place and ok in one": lambda: lines.LineReader(lines.Habits(place_in_ok=True)),
}


@pytest.fixture
def traced(tmp_path, capfd):
    """A function that sends three strokes with --trace; it returns the exit code, what was said,
    the strokes that are not whole, and the places that the machine was at with its tool up.
    """

    def _traced(kind, at=None):
        machine, plotter, beam = MACHINES[kind](), kind == "hpgl", "beam" in kind
        rng = random.Random(17)
        data = hpgl_file(rng, 3) if plotter else gcode_file(rng, 3, beam=beam)
        said = {"kind": "knife", "driver": "gcode", "tool": "creaser", "flow": "ok", "buffer": 128}
        if plotter:
            said = {"kind": "pen", "driver": "hpgl", "tool": "pen", "flow": "enquiry"}
            said["buffer"] = 1024
        if beam:
            said |= {"kind": "laser", "tool": "beam"}
        options = '[options]\ntool = "laser"' if beam else ""
        answers = 'language = "gcode-lines"' if kind.startswith("lines") else ""
        profile = PROFILE.format(**said, step=STEP, options=options, baud=115200, answers=answers)
        (tmp_path / "trial.toml").write_text(profile)
        (tmp_path / "job.txt").write_bytes(data)
        (tmp_path / "port").touch()
        words = ["send", str(tmp_path / "job.txt"), "--machine", str(tmp_path / "trial.toml")]
        words += ["--port", str(tmp_path / "port"), "--trace", "--yes"]
        sender = Sender(words, Wire(machine, 115200), tmp_path / "said.txt", tmp_path / "jobs")
        mm = STEP if plotter else 1.0
        places, done = set(), []

        def on_tick():
            x, y, *_ = machine.head.place
            if not machine.tool_down and not machine.head.marks:
                places.add((round(x * mm, 2), round(y * mm, 2)))
            if at and not done and len(places) > 50:
                done.append(at(machine, sender))

        code = sender.run(on_tick)
        driver = kind.partition(",")[0]
        marks = [tuple(value * mm for value in mark) for mark in machine.head.marks]
        covers = coverage(whole(driver, MACHINES[kind](), data), marks)
        words = (tmp_path / "said.txt").read_text() + "".join(capfd.readouterr())
        return code, words, [n for n, cover in enumerate(covers) if 0 in cover], places

    return _traced


@pytest.mark.parametrize("kind", MACHINES)
def test_it_goes_round_with_the_tool_up_and_then_cuts(traced, kind):
    code, said, missing, places = traced(kind)
    assert (code, missing) == (0, []), said
    assert len(places) > 50
    assert max(x for x, _ in places) <= 400.0  # mm: none is off the bed


@pytest.mark.parametrize("kind", MACHINES)
def test_a_stop_on_the_way_round_says_how_the_tool_was_left(traced, kind):
    code, said, missing, _ = traced(kind, lambda _, sender: sender.signal(signal.SIGTERM))
    assert (code, missing) == (1, [0, 1, 2]), said
    assert "not sent" in said
    assert "The tool is up and off. Nothing was cut." in said


@pytest.mark.parametrize("kind", ["gcode", "gcode, a beam", "hpgl", "lines"])
def test_a_reset_without_a_word_on_the_way_round_is_soon_noticed(traced, kind):
    """It stands, and has not answered: neither patience, 8 s, nor more is waited."""
    at = []

    def reset(machine, _):
        machine._greet = lambda: setattr(machine, "_greeted", True)
        machine.lose_power()
        at.append(machine)

    code, said, _, _ = traced(kind, reset)
    assert (code, "strokes" in said, "Nothing was cut" in said) == (1, False, True), said
    assert re.search("was reset|reset just now|have been reset", said)
    assert ("The tool is up and off" in said) is (kind in ("gcode, a beam", "hpgl"))  # no count
    assert at[0].now < 90.0


@pytest.mark.parametrize("kind", ["gcode", "hpgl"])
def test_a_reset_on_the_way_round_does_not_count_as_tool_up(traced, kind):
    code, said, _, _ = traced(kind, lambda machine, _: machine.lose_power())
    assert (code, "strokes" in said) == (1, False), said
