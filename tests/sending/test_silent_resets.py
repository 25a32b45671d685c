"""A controller that is reset and says nothing of it: no stroke that it lost counts as done.

The controller is the one from the notes (tests/bench/machines_from_notes), on a simulated clock.
Interface notes: after a reset no feed is in force and the spindle's speed is 0, as `$G` shows; what
was planned and received is gone.
"""

# ruff: noqa: E402 the machines lie beside the benchmarks

import random
import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "bench")]

from breaks import gcode_file
from machines_from_notes import gcode
from simulated_job import doubt_of
from test_odd_controllers import Forgets


class ForgetsAfter(Forgets):
    """Is reset once, so many seconds after its first move began. ignores: empty lines."""

    knows, seconds, began, ignores = "known", 1.0, 0.0, False

    def _take(self, byte):
        if not (self.ignores and byte == b"\n" and self.received[-1:] in (b"", b"\n")):
            super()._take(byte)

    def advance(self, seconds):
        gcode.Controller.advance(self, seconds)
        self.began = self.began or (self.now if self.head.queue else 0.0)
        if self.began and self.now > self.began + self.seconds and not self.reset_at:
            self.reset_at = self.now
            self.head.drop()
            if not self.keeps:
                self.head.lose_place((0.0, 0.0, 0.0))
            self._power_up(0.0)


# From a thousand resets drawn at random: moments at which what it loses is as long as a stroke.
AT = "20.272 32.884 44.888 56.955 68.631 80.329 92.82 20.112 32.548 44.137 56.788 68.566"
SLITS = [float(x) for x in AT.split()]
MOMENTS = [1.2457, 1.25]


def burnt(slits):
    """Return a beam's program of short slits, each of equally many lines."""
    lines = ["G21", "G90", "G17", "G94", "M5"]
    for number, x in enumerate(slits):
        y = 30 + number // 7 * 15
        lines += ["M5", f"G0 X{x:.3f} Y{y:.3f}", "M3 S500", f"G1 X{x + 3:.3f} Y{y:.3f} F1200"]
    return ("\n".join([*lines, "M5", "M2"]) + "\n").encode()


@pytest.mark.parametrize("ignores", [True, False])
@pytest.mark.parametrize("keeps", [True, False])
@pytest.mark.parametrize("seconds", MOMENTS)
def test_a_reset_that_loses_a_whole_stroke_is_not_in_step(sent, tmp_path, seconds, keeps, ignores):
    machine = ForgetsAfter(gcode.Habits(line_numbers=False, room=False, beam=True))
    machine.habits.settings[32] = 1
    machine.keeps, machine.seconds, machine.ignores = keeps, seconds, ignores
    code, said, missing, _ = sent(machine, burnt(SLITS), baud=115200)
    assert machine.reset_at
    assert machine.log.count("G40") >= ignores
    assert missing
    assert code == 1, said
    assert doubt_of(tmp_path)[0] <= missing[0], said


@pytest.mark.parametrize("knows", ["refused", "silent"])
@pytest.mark.parametrize("seconds", [0.31, 0.34, 0.37, 0.41, 0.46])
def test_a_line_that_a_reset_has_cut_off_is_refused_by_one_that_counts_anew(
    sent, tmp_path, seconds, knows
):
    """It counts heights from where its tool stood, in the stock or not, and doesn't say so."""
    machine = ForgetsAfter(gcode.Habits(line_numbers=False, room=False))
    machine.knows, machine.keeps, machine.seconds = knows, False, seconds
    code, said, missing, _ = sent(machine, gcode_file(random.Random(16), 4, beam=False), baud=9600)
    assert machine.reset_at
    assert code == 1, said
    assert "The tool is up and off" not in said
    assert "home it" in said
    assert doubt_of(tmp_path)[0] <= missing[0], said


@pytest.mark.parametrize("knows", ["known", "refused"])
@pytest.mark.parametrize("seconds", [4.03, 5.3, 7.52])
def test_one_that_has_lost_its_place_is_known_by_where_it_says_it_is(sent, seconds, knows):
    machine = ForgetsAfter(gcode.Habits(line_numbers=False, room=False))
    machine.knows, machine.keeps, machine.seconds = knows, False, seconds
    data = gcode_file(random.Random(16), 9, beam=False).replace(b"F15000", b"F1800")
    code, said, _, _ = sent(machine, data, baud=9600)
    assert machine.reset_at
    assert code == 1
    assert "is not where the file would have it, and may have lost its place. Home it" in said
