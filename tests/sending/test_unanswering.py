"""Machines that can't be asked: XON/XOFF, and plain pacing. What is known to be done is what lies
a whole buffer back; after a break the job goes on there, and says what may be cut already.
"""

import os
import re
import subprocess
import sys
import time

import pytest
from plotout_hpgl.virtual import HpglMachine

from plotout import job, plugins
from plotout.kit import Head
from plotout.machine import WireSettings
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.flow_control import credit_for
from plotout.sending.link import open_link
from plotout.sending.sender import send
from plotout.sending.settings import settings_of
from plotout.sending.talk import PortTalk

MAIN = [sys.executable, "-c", "from plotout.cli import main; main()"]


def test_shipped_profiles_are_asked_only_where_they_answer():
    for name, answers in (("craft-cutter", False), ("roll-plotter", True), ("laser", True)):
        assert settings_of(job.load_machine(name)).answers is answers


@pytest.mark.skipif(sys.platform != "linux", reason="pseudo-terminals that heed XOFF")
def test_xon_xoff_holds_back_a_slow_machine(serve, hpgl_file, tmp_path):
    """The line is many times faster than the machine: without XOFF it would be overrun."""
    path, strokes = hpgl_file(60)
    machine = HpglMachine(256, head=Head(speed=100_000.0))
    settings = WireSettings("hpgl", "xon-xoff", 115200, 256, answers=False)
    with serve(machine, baud=115200, flow="xon-xoff") as line:
        link = open_link(str(line.link), settings)
        with (
            cut_file(path, plugins.language("hpgl"), 0.025) as file,
            journal.opened(tmp_path / "j") as book,
        ):
            talk = PortTalk(link, file.language)
            outcome = send(
                file, talk, credit_for(settings), book, answers=False, buffer=machine.buffer
            )
        end = time.monotonic() + 60
        while not line.idle or len(machine.head.strokes) < 60:
            assert time.monotonic() < end
            time.sleep(0.05)
        link.close()
    assert outcome.done == outcome.units
    assert [stroke.points for stroke in machine.head.strokes] == strokes
    assert machine.overruns == 0


def test_an_overrun_is_counted(serve, hpgl_file, tmp_path):
    """The same without XON/XOFF: the test above can fail."""
    path, _ = hpgl_file(60)
    machine = HpglMachine(256, head=Head(speed=20_000.0))
    settings = WireSettings("hpgl", "paced", 115200, 256, answers=False)
    with serve(machine, baud=115200) as line:
        link = open_link(str(line.link), settings)
        with (
            cut_file(path, plugins.language("hpgl"), 0.025) as file,
            journal.opened(tmp_path / "j") as book,
        ):
            send(
                file,
                PortTalk(link, file.language),
                credit_for(settings),
                book,
                answers=False,
                buffer=256,
            )
        time.sleep(0.3)
        link.close()
    assert machine.overruns > 0


def test_a_killed_sender_is_gone_on_with_where_its_user_says(serve, hpgl_file, profile, tmp_path):
    """Which strokes may be cut already is said, and nothing is guessed."""
    path, strokes = hpgl_file(80)
    machine = HpglMachine(256, head=Head(speed=100_000.0))
    small = profile(flow="xon-xoff", baud=115200)
    known = {**os.environ, "PLOTOUT_JOBS": str(tmp_path / "jobs")}
    with serve(machine, baud=115200, flow="xon-xoff") as line:
        send_it = [*MAIN, "send", path, "--machine", small, "--port", line.link, "--yes"]
        process = subprocess.Popen(
            list(map(str, send_it)), env=known, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        end = time.monotonic() + 60
        while len(machine.head.strokes) < 25 and time.monotonic() < end:
            time.sleep(0.005)
        process.kill()
        process.wait()
        time.sleep(0.5)
        before = len(machine.head.strokes)
        again = [*MAIN, "resume", "--yes"]
        result = subprocess.run(again, env=known, capture_output=True, text=True, timeout=60)
        assert result.returncode == 2, result.stderr
        said = re.search(r"between (\d+) and (\d+) strokes are complete", result.stderr)
        assert said
        assert int(said[1]) <= before <= int(said[2])
        whole = sum(stroke.points in strokes for stroke in machine.head.strokes)
        again += ["--from", str(whole + 1)]  # by somebody who looked at the sheet
        result = subprocess.run(again, env=known, capture_output=True, text=True, timeout=60)
        assert result.returncode == 0, result.stderr
        while not line.idle:
            time.sleep(0.05)
        time.sleep(0.3)
    assert [s.points for s in machine.head.strokes if s.points in strokes] == strokes
