"""A job for a machine from the notes (tests/bench/machines_from_notes), on a simulated clock."""

import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from breaks import PROFILE, STEP, gcode_file, hpgl_file, whole
from machines_from_notes import gcode, hpgl
from machines_from_notes.simulated import Sender, Wire, drain
from trial import coverage

from plotout.sending import journal


def send_simulated(
    folder, machine, data, wire, flow, baud, during=lambda _sender: None, patience=8
):
    """Send three strokes, or data. Return the exit code, the strokes that are not whole, and
    whether the machine was at rest at the end.
    """
    plotter = isinstance(machine, hpgl.Plotter)
    rng = random.Random(16)
    data = data or (hpgl_file(rng, 3) if plotter else gcode_file(rng, 3, beam=False))
    said = {"kind": "knife", "driver": "gcode", "tool": "creaser", "flow": flow, "buffer": 128}
    if plotter:
        said = {"kind": "pen", "driver": "hpgl", "tool": "pen", "flow": "enquiry", "buffer": 1024}
    beam = not plotter and machine.habits.beam
    if beam:
        said |= {"kind": "laser", "tool": "beam"}
    options = '[options]\ntool = "laser"' if beam else ""
    profile = PROFILE.format(**said, step=STEP, options=options, baud=baud, answers=wire)
    profile = profile.replace('patience = "8 s"', f'patience = "{patience} s"')
    (folder / "trial.toml").write_text(profile)
    (folder / "job.txt").write_bytes(data)
    (folder / "port").touch()
    words = ["send", str(folder / "job.txt"), "--machine", str(folder / "trial.toml")]
    words += ["--port", str(folder / "port"), "--yes"]
    line = Wire(machine, baud)
    sender = Sender(words, line, folder / "said.txt", folder / "jobs")
    code = sender.run(lambda: during(sender))
    at_rest = machine.at_rest
    drain(line, lambda: machine.at_rest and not line.queue, 20.0)
    plain = hpgl.Plotter(hpgl.Habits()) if plotter else gcode.Controller(machine.habits)
    mm = STEP if plotter else 1.0
    marks = [tuple(value * mm for value in mark) for mark in machine.head.marks]
    covers = coverage(whole(said["driver"], plain, data), marks)
    missing = [number for number, cover in enumerate(covers) if 0 in cover]
    return code, missing, at_rest


def doubt_of(folder):
    """Return between which numbers of strokes a job's journal leaves what is done."""
    (book,) = (folder / "jobs").glob("*.journal")
    told = journal.read(book)
    return told.doubt or (told.done, told.sent)


def hpgl_file_away():
    """Return a file of four strokes that ends where the last one did."""
    return b"IN;SP1;VS40;PA;" + b"".join(
        b"PU%d,400;PD%d,1200,%d,1600;" % (x, x, x + 200) for x in range(400, 2000, 400)
    ) + b"PU;SP0;"  # fmt: skip
