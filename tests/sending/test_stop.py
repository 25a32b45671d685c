"""Stop and pause, whatever it is that stops: real processes, real signals, a real terminal.

After a stop the tool is up, the machine did no more than it held, the port is free, and the job
goes on where it stood, nothing lost and nothing twice.
"""

import contextlib
import os
import re
import shutil
import signal
import threading
import time
from contextlib import contextmanager

import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine
from processes import Terminal, plotout

from plotout import plugins
from plotout.errors import PlotoutError
from plotout.kit import Head
from plotout.machine import SendingSettings
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.flow_control import credit_for
from plotout.sending.inspect import must_be_sound
from plotout.sending.ports import open_link
from plotout.sending.sender import send
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Watch

CTRL_Z = b"\x1a"


@pytest.fixture
def a_job(hpgl_file, gcode_file, profile):
    """A function that gives a file, what it means, its machine (0.02 s a square), its profile."""

    def _make(language, count=80):
        gcode = language == "gcode"
        path, strokes = (gcode_file if gcode else hpgl_file)(count)
        motion = Head(speed=2500.0 if gcode else 100_000.0)
        machine = GcodeMachine(128, head=motion) if gcode else HpglMachine(256, head=motion)
        flow = "ok" if gcode else "enquiry"
        return path, strokes, machine, profile(language, flow, buffer=machine.buffer)

    return _make


@contextmanager
def slowly(machine):
    """Let a machine take 0.2 s a square meanwhile, so that a loaded system is in time for it."""
    machine.head.speed /= 10.0
    yield
    machine.head.speed *= 1000.0  # the rest is not watched


def _finished(machine, strokes):
    return [s.points for s in machine.head.strokes if s.points in strokes]


@pytest.mark.parametrize("language", ["hpgl", "gcode"])
@pytest.mark.parametrize(
    "how",
    [
        "q",
        "ctrl-c",
        "SIGTERM",
        pytest.param("SIGHUP", marks=pytest.mark.thorough),
        pytest.param("SIGQUIT", marks=pytest.mark.thorough),
    ],
)
def test_stopped_and_gone_on_with(serve, a_job, tmp_path, language, how):
    path, strokes, machine, profile = a_job(language)
    jobs = tmp_path / "jobs"
    drawn = machine.head.strokes
    with serve(machine) as line:
        with slowly(machine):
            run = Terminal(jobs, "send", path, "--machine", profile, "--port", line.link)
            run.until(lambda: b"safe to move" in run.said)
            run.key(b"y\n")
            run.until(lambda: len(drawn) > 3)
            if how in ("q", "ctrl-c"):
                run.key(b"q" if how == "q" else b"\x03")
            else:
                os.kill(run.pid, getattr(signal, how))
            assert run.end() == 1
        assert b"Stopped, tool up" in run.said
        assert not machine.head.down
        assert len(drawn) < len(strokes)
        part = [one for one in drawn if one.points not in strokes and len(one.points) > 1]
        result = plotout("resume", "--yes", jobs=jobs)
        if result.returncode == 0:  # else its user is asked, and has to look anyway
            assert (b"is cut in part; 'resume' cuts it again" in run.said) is bool(part)
            assert ("is cut in part, and again from" in result.stderr + result.stdout) is bool(part)
        if result.returncode == 2:  # half way up from a closed line, or half way down to it
            assert "plotout resume --from" in result.stderr
            whole = len(_finished(machine, strokes))
            result = plotout("resume", "--yes", "--from", whole + 1, jobs=jobs)
    assert result.returncode == 0, result.stderr
    assert _finished(machine, strokes) == strokes


@pytest.mark.parametrize("language", ["hpgl", "gcode"])
@pytest.mark.parametrize("one", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_signals_on_end_hide_nothing(serve, a_job, tmp_path, language, one):
    """Somebody goes on pressing Ctrl-C until the command has ended."""
    path, _, machine, profile = a_job(language)
    with serve(machine) as line, slowly(machine):
        run = _begun(tmp_path, path, profile, line, machine, 4)
        pressing = threading.Event()
        pressing.set()

        def press():
            while pressing.is_set():
                with contextlib.suppress(ProcessLookupError):
                    os.kill(run.pid, one)
                time.sleep(0.001)

        presses = threading.Thread(target=press, daemon=True)
        presses.start()
        try:
            code = run.end()
        finally:
            pressing.clear()
            presses.join()
    assert code == 1, run.said
    assert b"Stopped, tool up" in run.said
    assert b"To resume: plotout resume" in run.said


def test_what_is_not_known_of_a_stopped_job_is_not_called_undone(serve, a_job, tmp_path):
    """All strokes end in one place, and short ones have no count each: nothing tells them apart."""
    path, _, machine, profile = a_job("hpgl")
    strokes = (f"PU0,0;PD{800 + n},0,{800 + n},{800 - n},0,0;" for n in range(60))
    path.write_text(f"IN;SP1;PA;{''.join(strokes)}PU;SP0;")
    with serve(machine) as line, slowly(machine):
        run = _begun(tmp_path, path, profile, line, machine, 4)
        run.key(b"q")
        assert run.end() == 1
    (book,) = (tmp_path / "jobs").glob("*.journal")
    told = journal.read(book)
    least, *_, most = told.doubt
    assert least <= len(machine.head.strokes) <= most
    shown = re.search(rb"(\d+) of 60 strokes known to be done; more may be", run.said)
    assert shown
    assert int(shown[1]) <= least


def test_a_job_whose_journal_was_removed_is_not_said_to_be_resumable(serve, a_job, tmp_path):
    path, _, machine, profile = a_job("hpgl")
    with serve(machine) as line, slowly(machine):
        run = _begun(tmp_path, path, profile, line, machine, 4)
        for book in (tmp_path / "jobs").glob("*.journal"):
            book.unlink()
        run.key(b"q")
        assert run.end() == 1
    assert b"Stopped, tool up" in run.said
    assert b"It can't be resumed, since " in run.said
    assert b"look at the sheet first" in run.said
    assert b"To resume" not in run.said


def _begun(tmp_path, path, profile, line, machine, strokes):
    """Send a file and answer the question; return the command once so many strokes are drawn."""
    run = Terminal(tmp_path / "jobs", "send", path, "--machine", profile, "--port", line.link)
    run.until(lambda: b"safe to move" in run.said)
    run.key(b"y\n")
    run.until(lambda: len(machine.head.strokes) >= strokes)
    return run


def _paused(tmp_path, path, profile, line, machine, key=b"p"):
    """Send a file and pause after some strokes; return the command once it says that all rests."""
    with slowly(machine):
        run = _begun(tmp_path, path, profile, line, machine, 4)
        run.key(key)
        run.until(lambda: b"Paused at rest" in run.said)
    return run


@pytest.mark.parametrize(("language", "key"), [("hpgl", b"p"), ("gcode", b"p"), ("gcode", CTRL_Z)])
def test_pause_and_go_on(serve, a_job, tmp_path, language, key):
    """Ctrl-Z would otherwise stop the sender with the tool in the stock."""
    path, strokes, machine, profile = a_job(language)
    drawn = machine.head.strokes
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile, line, machine, key)
        assert line.idle
        assert not machine.head.down
        stands_at = len(drawn)
        assert f"Paused at rest: {stands_at} of {len(strokes)} strokes".encode() in run.said
        assert stands_at < len(strokes)
        time.sleep(0.2)  # of ten strokes
        assert len(drawn) == stands_at
        assert not machine.head.down
        run.key(b"p")
        assert run.end() == 0
    assert [s.points for s in drawn] == strokes


def test_a_paused_plotter_tells_every_stroke(serve, a_job, tmp_path):
    """Short strokes have no count each: the last ones are asked for."""
    path, _, machine, profile = a_job("hpgl")
    strokes = "".join(f"PU{n * 40},0;PD{n * 40},200;" for n in range(200))
    path.write_text(f"IN;SP1;PA;{strokes}PU;SP0;")
    drawn = machine.head.strokes
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile, line, machine)
        assert f"Paused at rest: {len(drawn)} of 200 strokes".encode() in run.said
        run.key(b"q")
        assert run.end() == 1


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("(tool 1 pen)\nT1 M6\nM0", b"waits for you (tool 1 pen);"),
        ("T1 M6\nM0", b"waits for you (tool 1);"),
        ("(the pen)\nT1 M6\nM0", b"waits for you (the pen);"),
        ("(face up)\nM0 (turn the card)", b"waits for you (turn the card);"),
        ("(face up)\nM5\nG4 P0\nM5\nG4 P0\nM0", b"waits for you;"),
    ],
)
def test_the_machine_waits_for_a_hand(serve, a_job, tmp_path, lines, said):
    """M0: the user is asked, and only then is the machine sent on."""
    path, strokes, machine, profile = a_job("gcode", count=6)
    text = path.read_text().replace("G0 Z5", f"M5\n{lines}\nG0 Z5", 1)
    path.write_text(text)
    with serve(machine) as line:
        run = Terminal(tmp_path / "jobs", "send", path, "--machine", profile, "--port", line.link)
        run.until(lambda: b"safe to move" in run.said)
        run.key(b"y\n")
        run.until(lambda: said in run.said)
        run.until(lambda: machine.awaits_hand)
        assert machine.head.strokes == []
        run.key(b"p")
        assert run.end() == 0
    assert [s.points for s in machine.head.strokes] == strokes


def test_a_machine_that_is_let_go_on_at_its_panel_goes_on(serve, a_job, tmp_path):
    path, strokes, machine, profile = a_job("gcode", count=6)
    path.write_text(path.read_text().replace("G0 Z5", "M5\nM0\nG0 Z5", 1))
    with serve(machine) as line:
        run = Terminal(tmp_path / "jobs", "send", path, "--machine", profile, "--port", line.link)
        run.until(lambda: b"safe to move" in run.said)
        run.key(b"y\n")
        run.until(lambda: b"waits for you" in run.said and machine.awaits_hand)
        machine.receive(b"~")
        assert run.end() == 0
    assert b"The machine goes on." in run.said
    assert [s.points for s in machine.head.strokes] == strokes


@pytest.mark.parametrize("key", [b"p", b"q"])
def test_a_tools_length_that_is_set_at_a_stop_in_the_program_is_noticed(
    serve, a_job, tmp_path, key
):
    """G43.1 holds only until a reset: what is resumed after one would be cut too deep."""
    path, _, machine, profile = a_job("gcode", count=6)
    path.write_text(path.read_text().replace("G0 Z5", "M5\nM0\nG0 Z5", 1))
    machine.name = "TLO:0.000"  # its only answer to $#
    with serve(machine) as line:
        run = Terminal(tmp_path / "jobs", "send", path, "--machine", profile, "--port", line.link)
        run.until(lambda: b"safe to move" in run.said)
        run.key(b"y\n")
        run.until(lambda: b"waits for you" in run.said and machine.awaits_hand)
        machine.name = "TLO:3.000"
        run.key(key)
        assert run.end() == 1
    told = (b"TLO:0.000' to 'TLO:3.000", b"only holds until a reset")
    assert told[key == b"q"] in run.said.replace(b"\r\n", b" ").replace(b"  ", b" ")
    assert machine.head.strokes == []


@pytest.mark.parametrize("how", ["shortened", "written to", "removed"])
def test_what_was_looked_through_is_sent_whatever_happens_to_its_file(serve, a_job, tmp_path, how):
    """The system ends a process that reads what was cut off a mapped file, with the tool down."""
    path, strokes, machine, profile = a_job("gcode", count=60)
    with serve(machine) as line:
        with slowly(machine):
            run = _begun(tmp_path, path, profile, line, machine, 3)
            if how == "removed":
                path.unlink()
            else:
                with path.open("r+b") as file:
                    file.truncate(0) if how == "shortened" else file.write(b"G20")
        assert run.end() == 0
    assert [stroke.points for stroke in machine.head.strokes] == strokes


def test_a_file_that_is_written_to_after_it_was_looked_through_is_not_sent(
    a_job, tmp_path, monkeypatch
):
    path, _, _, profile = a_job("gcode")

    def looked(*given, **named):
        digest = must_be_sound(*given, **named)
        path.write_bytes(path.read_bytes().replace(b"Z-1", b"Z-9"))
        return digest

    monkeypatch.setattr("plotout.sending.inspect.must_be_sound", looked)
    ended = plotout("send", path, "--machine", profile, jobs=tmp_path / "jobs")
    assert ended.returncode == 2
    assert "was written to after it was looked through" in ended.stderr


def test_a_journal_that_is_removed_meanwhile_is_told_of(serve, a_job, tmp_path):
    path, strokes, machine, profile = a_job("gcode", count=60)
    with serve(machine) as line:
        with slowly(machine):
            run = _begun(tmp_path, path, profile, line, machine, 3)
            shutil.rmtree(tmp_path / "jobs")
        assert run.end() == 0
    assert b"All is done, but that could not be noted: its journal was removed" in run.said
    assert [stroke.points for stroke in machine.head.strokes] == strokes


@pytest.mark.parametrize("language", ["hpgl", "gcode"])
def test_a_fault_of_ours_brings_the_tool_up(serve, a_job, tmp_path, language):
    path, _, machine, _ = a_job(language)
    machine.head.speed /= 5.0  # 0.1 s a square
    flow = "ok" if language == "gcode" else "enquiry"
    settings = SendingSettings(language, flow, 115200, machine.buffer)

    def done(units, _of):
        if units >= 9:
            raise RuntimeError("a fault")

    with serve(machine) as line:
        link = open_link(str(line.link), settings)
        with (
            cut_file(path, plugins.language(language), 0.025) as file,
            journal.opened(tmp_path / "j") as book,
        ):
            book.write(job={})
            with pytest.raises(PlotoutError, match="internal error: RuntimeError: a fault"):
                send(
                    file,
                    PortTalk(link, file.language),
                    credit_for(settings),
                    book,
                    watch=Watch(done=done),
                )
        link.close()
    assert not machine.head.down
    assert journal.read(tmp_path / "j").done >= 9
    assert len(machine.head.strokes) < 40


@pytest.mark.parametrize("down", [False, True])
@pytest.mark.parametrize("language", ["hpgl", "gcode"])
def test_a_tool_that_is_down_before_a_job_is_told_before_the_question(
    serve, a_job, tmp_path, language, down
):
    """As a sender that was killed leaves it: homed like that, it would be dragged over it."""
    path, strokes, machine, profile = a_job(language)
    if language == "gcode":
        machine.z = -1.0 if down else 5.0
    else:
        machine.head.down = down
    with serve(machine) as line:
        run = Terminal(tmp_path / "jobs", "send", path, "--machine", profile, "--port", line.link)
        run.until(lambda: b"safe to move" in run.said)
        assert (b"its own report the machine's tool is down" in run.said) == down
        run.key(b"y\n")
        assert run.end() == 0
    assert [s.points for s in machine.head.strokes][-len(strokes) :] == strokes
