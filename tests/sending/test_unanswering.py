"""Machines that can't be asked: XON/XOFF, and plain pacing. What is known to be done is what lies
a whole buffer back; after a break the job goes on there, and says what may be cut already.
"""

import re
import sys
import time

import pytest
from plotout_hpgl.virtual import HpglMachine
from processes import plotout, started

from plotout import job, plugins
from plotout.kit import Head
from plotout.machine import SendingSettings
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.find import again, may_be_cut
from plotout.sending.flow_control import credit_for
from plotout.sending.ports import open_link
from plotout.sending.sender import send
from plotout.sending.settings import settings_of
from plotout.sending.talk import PortTalk

UNSEEN = 3  # exit code: sent, but not seen done


def test_shipped_profiles_are_asked_only_where_they_answer():
    for name, answers in (("craft-cutter", False), ("roll-plotter", True), ("laser", True)):
        assert settings_of(job.load_machine(name)).answers is answers


@pytest.mark.skipif(sys.platform != "linux", reason="pseudo-terminals that heed XOFF")
def test_xon_xoff_holds_back_a_slow_machine(serve, hpgl_file, tmp_path):
    """The line is many times faster than the machine: without XOFF it would be overrun."""
    path, strokes = hpgl_file(60)
    machine = HpglMachine(256, head=Head(speed=100_000.0))
    settings = SendingSettings("hpgl", "xon-xoff", 115200, 256, answers=False)
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
        _wait_for(line)
        link.close()
    assert outcome.done == outcome.units
    assert [stroke.points for stroke in machine.head.strokes] == strokes
    assert machine.overruns == 0


def test_an_overrun_is_counted(serve, hpgl_file, tmp_path):
    """The same without XON/XOFF: the test above can fail."""
    path, _ = hpgl_file(60)
    machine = HpglMachine(256, head=Head(speed=20_000.0))
    settings = SendingSettings("hpgl", "paced", 115200, 256, answers=False)
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
        end = time.monotonic() + 60
        while not machine.overruns and time.monotonic() < end:
            time.sleep(0.01)
        link.close()
    assert machine.overruns > 0


def test_a_killed_sender_is_gone_on_with_where_its_user_says(serve, hpgl_file, profile, tmp_path):
    """Which strokes may be cut already is said, and nothing is guessed."""
    path, strokes = hpgl_file(80)
    machine = HpglMachine(256, head=Head(speed=100_000.0))
    small = profile(flow="xon-xoff", baud=115200)
    where = {"jobs": tmp_path / "jobs"}
    with serve(machine, baud=115200, flow="xon-xoff") as line:
        process = started("send", path, "--machine", small, "--port", line.link, "--yes", **where)
        end = time.monotonic() + 60
        while len(machine.head.strokes) < 25 and time.monotonic() < end:
            time.sleep(0.005)
        process.kill()
        process.ended()
        _wait_for(line)
        before = len(machine.head.strokes)
        result = plotout("resume", "--yes", **where)
        assert result.returncode == 2, result.stderr
        said = re.search(r"between (\d+) and (\d+) strokes are complete", result.stderr)
        assert said
        assert int(said[1]) <= before <= int(said[2])
        whole = sum(stroke.points in strokes for stroke in machine.head.strokes)
        # by somebody who looked at the sheet
        result = plotout("resume", "--yes", "--from", whole + 1, **where)
        assert result.returncode == UNSEEN, result.stderr
        assert "look at the sheet" in result.stdout
        _wait_for(line)
        result = plotout("resume", "--yes", **where)
        assert result.returncode == 2
        assert "can't confirm what it did" in result.stderr
    assert [s.points for s in machine.head.strokes if s.points in strokes] == strokes


def _wait_for(line):
    """Wait until the machine has done all that it was sent."""
    seen, since = -1, time.monotonic()
    while time.monotonic() - since < 1.0:  # a busy computer gives it its turn late
        if seen != line.received or not line.idle:
            seen, since = line.received, time.monotonic()
        time.sleep(0.01)


def test_what_the_user_has_cut_again_is_told(hpgl_file):
    """With --from or --back: all that was sent before may be on the sheet already."""
    path, _ = hpgl_file(12)
    with cut_file(path, plugins.language("hpgl"), 0.025) as file:
        told = journal.Told(job={}, sent=9, done=4)
        assert [may_be_cut(file, told, first) for first in (6, 8, 9)] == [9, 9, 9]
        assert may_be_cut(file, journal.Told(job={}, sent=13, done=4), 12) == 12
        stopped = journal.Told(job={}, sent=9, doubt=(5, 6))
        assert [may_be_cut(file, stopped, first) for first in (5, 6, 7)] == [6, 6, 9]
    assert again(6, 9) == (
        "Strokes 7 to 9 may already be cut, wholly or partly, and will be cut again."
    )
