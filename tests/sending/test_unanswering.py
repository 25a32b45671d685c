"""Machines that can't be asked: XON/XOFF, and plain pacing. What is known to be done is what lies
a whole buffer back; after a break the job goes on there, and says what may be cut already.
"""

import os
import re
import subprocess
import sys
import time

import pytest

from plotout import job
from plotout.sending import journal
from plotout.sending.credit import credit_for
from plotout.sending.cutfile import cut_file
from plotout.sending.language import LANGUAGES
from plotout.sending.link import WireSettings, open_link
from plotout.sending.run import settings_of
from plotout.sending.sender import send
from plotout.sending.virtual import HpglMachine, Motion

MAIN = [sys.executable, "-c", "from plotout.cli import main; main()"]


def test_shipped_profiles_are_asked_only_where_they_answer():
    for name, answers in (("craft-cutter", False), ("roll-plotter", True), ("laser", True)):
        assert settings_of(job.load_machine(name)).answers is answers


@pytest.mark.skipif(sys.platform != "linux", reason="pseudo-terminals that heed XOFF")
def test_xon_xoff_holds_back_a_slow_machine(serve, hpgl_file, tmp_path):
    """The line is many times faster than the machine: without XOFF it would be overrun."""
    path, strokes = hpgl_file(60)
    machine = HpglMachine(256, motion=Motion(speed=100_000.0))
    settings = WireSettings("hpgl", "xon-xoff", 115200, 256, answers=False)
    with serve(machine, baud=115200, flow="xon-xoff") as line:
        link = open_link(str(line.link), settings)
        with cut_file(path, LANGUAGES["hpgl"]) as file, journal.opened(tmp_path / "j") as book:
            outcome = send(
                file, link, credit_for(settings), book, answers=False, buffer=machine.buffer
            )
        end = time.monotonic() + 60
        while not line.idle or len(machine.motion.strokes) < 60:
            assert time.monotonic() < end
            time.sleep(0.05)
        link.close()
    assert outcome.done == outcome.units
    assert [stroke.points for stroke in machine.motion.strokes] == strokes
    assert machine.overruns == 0


def test_an_overrun_is_counted(serve, hpgl_file, tmp_path):
    """The same without XON/XOFF: the test above can fail."""
    path, _ = hpgl_file(60)
    machine = HpglMachine(256, motion=Motion(speed=20_000.0))
    settings = WireSettings("hpgl", "paced", 115200, 256, answers=False)
    with serve(machine, baud=115200) as line:
        link = open_link(str(line.link), settings)
        with cut_file(path, LANGUAGES["hpgl"]) as file, journal.opened(tmp_path / "j") as book:
            send(file, link, credit_for(settings), book, answers=False, buffer=256)
        time.sleep(0.3)
        link.close()
    assert machine.overruns > 0


def test_a_killed_sender_is_gone_on_with_at_the_first_stroke_not_known_done(
    serve, hpgl_file, profile, tmp_path
):
    """Every stroke is drawn; those that may be cut already are named; no others are repeated."""
    path, strokes = hpgl_file(80)
    machine = HpglMachine(256, motion=Motion(speed=100_000.0))
    small = profile(flow="xon-xoff", baud=115200)
    known = {**os.environ, "PLOTOUT_JOBS": str(tmp_path / "jobs")}
    with serve(machine, baud=115200, flow="xon-xoff") as line:
        send_it = [*MAIN, "send", path, "--machine", small, "--port", line.link, "--yes"]
        process = subprocess.Popen(
            list(map(str, send_it)), env=known, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        end = time.monotonic() + 60
        while len(machine.motion.strokes) < 25 and time.monotonic() < end:
            time.sleep(0.005)
        process.kill()
        process.wait()
        time.sleep(0.5)
        before = len(machine.motion.strokes)
        result = subprocess.run(
            [*MAIN, "resume", "--yes"], env=known, capture_output=True, text=True, timeout=60
        )
        while not line.idle:
            time.sleep(0.05)
        time.sleep(0.3)
    assert result.returncode == 0, result.stderr
    said = re.search(r"Strokes (\d+) to (\d+) may be cut already", result.stdout + result.stderr)
    assert said
    first, last = int(said[1]), int(said[2])
    assert first <= before <= last + 1
    whole = [s.points for s in machine.motion.strokes if s.points in strokes]
    assert [points for points in strokes if points not in whole] == []
    for nth, points in enumerate(strokes, 1):
        assert whole.count(points) == 1 or first <= nth <= last
