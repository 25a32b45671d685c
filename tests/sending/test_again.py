"""A line that arrives damaged: sent again where that is certain, else the job stops.

The line numbers, `*` checksums and `Resend:` of the firmwares that have them: common practice. The
controller is the one from the notes (tests/bench/machines_from_notes), on a simulated clock.
"""

import random
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from breaks import PROFILE, STEP, gcode_file, whole
from machines_from_notes import gcode
from machines_from_notes.simulated import Sender, Wire
from trial import coverage


def _sent(folder, baud, **habits):
    """Send three strokes; return the exit code and the strokes that are not whole."""
    data = gcode_file(random.Random(16), 3, beam=False)
    machine = gcode.Controller(gcode.Habits(**habits))
    profile = PROFILE.format(
        kind="knife", driver="gcode", step=STEP, tool="creaser", options="", flow="ok", baud=baud,
        buffer=128, answers="",
    )  # fmt: skip
    (folder / "trial.toml").write_text(profile)
    (folder / "job.txt").write_bytes(data)
    (folder / "port").touch()
    words = ["send", str(folder / "job.txt"), "--machine", str(folder / "trial.toml")]
    words += ["--port", str(folder / "port"), "--yes"]
    sender = Sender(words, Wire(machine, baud), folder / "said.txt", folder / "jobs")
    code = sender.run(lambda: None)
    strokes = whole("gcode", gcode.Controller(gcode.Habits()), data)
    covers = coverage(strokes, machine.head.marks)
    return code, [n for n, cover in enumerate(covers) if 0 in cover]


@pytest.mark.parametrize(("baud", "garbles"), [(9600, (12, 30)), (115200, (4, 9, 21, 22))])
def test_a_machine_that_checks_gets_the_line_again(tmp_path, baud, garbles):
    """Also the line that sets the numbers, and the last ones."""
    code, not_whole = _sent(tmp_path, baud, checksums=True, garbles=garbles, loses_ok=(26,))
    assert (code, not_whole) == (0, [])


def test_the_end_says_where_the_journal_is(tmp_path, capfd):
    """As `rack note` promises."""
    assert _sent(tmp_path, 115200) == (0, [])
    said = (tmp_path / "said.txt").read_text() + capfd.readouterr().out
    (named,) = (line for line in said.splitlines() if line.startswith("Its journal"))
    assert Path(named.rsplit(": ", 1)[1]).is_file()


def test_without_numbers_the_job_stops(tmp_path, capfd):
    """What followed on the damaged line was worked already."""
    code, _ = _sent(tmp_path, 115200, garbles=tuple(range(8, 30)))
    said = capfd.readouterr().err
    assert code == 1
    assert "arrived garbled" in said
    assert "The tool is up and off" in said


def test_the_checksum_is_the_exclusive_or_of_what_precedes_it():
    """By hand: of `N3 T0` it is 57, the example of the RepRap notes on G-code (from memory)."""
    from plotout import plugins

    assert plugins.language("gcode").numbered(b"N12 T0\n", 3) == b"N3 T0*57\n"
