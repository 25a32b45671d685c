"""Bad input and bad luck, through the command line as a user meets them: a clear message, exit
code 1 or 2, no traceback, and the port left closed.
"""

import os
import resource
import stat
import threading
import time
import tty
from contextlib import contextmanager

import processes
import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine

from plotout import plugins
from plotout.errors import MachineError
from plotout.sending.cutfile import mapped
from plotout.sending.lock import locked


@pytest.fixture
def plotout(tmp_path, monkeypatch):
    """Run the command line; give its exit code and all that it said."""
    monkeypatch.setattr("plotout.sending.greet.STARTING", 1.0)  # s for a machine to start

    def _run(*arguments, limit=0, refused=""):
        def limited():
            if limit:
                resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
            if refused:
                monkeypatch.setattr(os, "open", _refusing(refused))

        jobs = tmp_path / "jobs"
        result = processes.plotout(*arguments, jobs=jobs, before=limited)
        said = result.stdout + result.stderr
        assert "Traceback" not in said
        return result.returncode, said

    return _run


@contextmanager
def _babbler(path):
    """A port at which something answers every byte with noise, as at a wrong speed."""
    master, slave = os.openpty()
    tty.setraw(slave)
    path.symlink_to(os.ttyname(slave))
    going = threading.Event()
    going.set()

    def babble():
        os.set_blocking(master, False)
        while going.is_set():
            try:
                if os.read(master, 100):
                    os.write(master, b"\xfe\x80\x9c\x00\xf8\xe1\x06\xff\x83")
            except OSError:
                time.sleep(0.005)

    thread = threading.Thread(target=babble, daemon=True)
    thread.start()
    yield
    going.clear()
    thread.join(5)
    os.close(master)
    os.close(slave)


def test_no_such_port(plotout, profile, hpgl_file, tmp_path):
    path, _ = hpgl_file(3)
    code, said = plotout("send", path, "--machine", profile(), "--port", tmp_path / "none", "--yes")
    assert code == 1
    assert "there is no port" in said


def _refusing(name):
    old = os.open

    def refuse(path, *more, **rest):
        if str(path).endswith(name):
            raise PermissionError(13, "Permission denied", path)
        return old(path, *more, **rest)

    return refuse


def test_no_permission(plotout, profile, hpgl_file):
    """The system refuses: it is made to say what it says then (root may open anything)."""
    path, _ = hpgl_file(3)
    code, said = plotout("send", path, "--machine", profile(), "--port", "/dev/ttyS0", "--yes",
                         refused="ttyS0")  # fmt: skip
    assert code == 1
    assert "may not use port" in said
    assert "dialout" in said


def test_busy(plotout, profile, hpgl_file, serve):
    path, _ = hpgl_file(3)
    with serve(HpglMachine(256)) as line, locked(str(line.link)):
        code, said = plotout("send", path, "--machine", profile(), "--port", line.link, "--yes")
    assert code == 1
    assert f"in use by {os.environ.get('USER', '')}" in said
    assert f"process {os.getpid()}" in said


def test_wrong_speed(plotout, profile, hpgl_file, tmp_path):
    path, _ = hpgl_file(3)
    with _babbler(tmp_path / "noise"):
        code, said = plotout("send", path, "--machine", profile(), "--port", tmp_path / "noise")
    assert code == 1
    assert "garbage" in said
    assert "baud" in said


def test_wrong_kind_of_machine(plotout, profile, hpgl_file, gcode_file, serve):
    hpgl, gcode = hpgl_file(3)[0], gcode_file(3)[0]
    machine = GcodeMachine(128)
    with serve(machine) as line:
        code, said = plotout("send", hpgl, "--machine", profile(), "--port", line.link, "--yes")
    assert code == 1
    assert "answer is not in hpgl" in said or "nothing answers" in said
    assert machine.head.strokes == []
    machine = HpglMachine(256)
    with serve(machine) as line:
        code, said = plotout("send", gcode, "--machine", profile("gcode", "ok"), "--port",
                             line.link, "--yes")  # fmt: skip
    assert code == 1
    assert "answer is not in gcode" in said or "nothing answers" in said
    assert machine.head.strokes == []


def test_a_file_for_a_larger_bed_and_files_that_are_none(
    plotout, profile, hpgl_file, gcode_file, tmp_path
):
    path, _ = hpgl_file(60)  # 285 mm long: fits
    wide, _ = hpgl_file(20, side=400, step=700)
    code, said = plotout("send", wide, "--machine", profile())
    assert code == 2
    assert "it goes off the bed" in said
    for content, words in ((b"", "the file is empty"), (b"not a plot\n", "it does nothing")):
        path.write_bytes(content)
        code, said = plotout("send", path, "--machine", profile())
        assert code == 2
        assert words in said
    code, said = plotout("send", gcode_file(3)[0], "--machine", profile())
    assert code == 2
    assert "it is not sent" in said
    code, said = plotout("send", tmp_path / "none.plt", "--machine", profile())
    assert code == 2
    assert "can't read the file" in said


def test_a_full_disk_for_the_journal(plotout, profile, hpgl_file, serve):
    """The system lets no file grow past 200 bytes: the journal's first record is larger."""
    path, _ = hpgl_file(3)
    machine = HpglMachine(256)
    with serve(machine) as line:
        code, said = plotout(
            "send", path, "--machine", profile(), "--port", line.link, "--yes", limit=200
        )
    assert code == 1
    assert "can't keep the journal" in said
    assert machine.head.strokes == []


def test_wrong_settings(plotout, profile, hpgl_file):
    path, _ = hpgl_file(3)
    code, said = plotout("send", path, "--machine", profile(flow="enquire"))
    assert code == 2
    assert "'enquiry'" in said


def test_not_agreed(plotout, profile, hpgl_file, serve):
    path, _ = hpgl_file(3)
    machine = HpglMachine(256)
    with serve(machine) as line:
        code, _ = plotout("send", path, "--machine", profile(), "--port", line.link)
    assert code != 0
    assert machine.head.strokes == []


def test_to_a_file(plotout, profile, hpgl_file, tmp_path):
    path, _ = hpgl_file(30)
    out = tmp_path / "out.plt"
    code, said = plotout("send", path, "--machine", profile(), "--port", f"file:{out}", "--yes")
    assert code == 0, said
    assert out.read_bytes() == path.read_bytes()
    assert stat.S_ISREG(out.stat().st_mode)
    code, said = plotout("resume", "--from", 3, "--yes")
    assert code == 2
    assert "would be overwritten" in said
    assert out.read_bytes() == path.read_bytes()
    rest = tmp_path / "rest.plt"
    code, said = plotout("resume", "--from", 30, "--yes", "--port", f"file:{rest}")
    assert code == 0, said
    assert 0 < len(rest.read_bytes()) < len(path.read_bytes()) / 5


def test_a_file_that_is_there_is_not_replaced(plotout, profile, hpgl_file, tmp_path):
    """Nor is one left behind when nothing was sent; a device (POSIX: /dev/null) takes all."""
    path, _ = hpgl_file(3)
    mine = tmp_path / "mine.plt"
    mine.write_bytes(b"mine")
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    to = ("send", path, "--machine", profile(), "--port")
    for port, words in (
        (f"file:{mine}", "is not replaced"),
        (f"file:{tmp_path / 'dangling'}", "is not replaced"),
        (f"file:{tmp_path}", "a folder"),
        (f"file:{tmp_path / 'no' / 'a'}", "no such folder"),
        (f"file:{mine / 'a'}", "not a folder"),
        ("file:", "no file is named"),
    ):
        code, said = plotout(*to, port, "--yes")
        assert (code, words in said) == (2, True), said
    assert mine.read_bytes() == b"mine"
    code, said = plotout(*to, f"file:{tmp_path / 'new'}")
    assert (code, "not answered" in said) == (2, True)
    assert not (tmp_path / "new").exists()
    assert plotout(*to, "file:/dev/null", "--yes")[0] == 0


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="a device of Linux")
def test_a_full_disk(plotout, profile, hpgl_file):
    path, _ = hpgl_file(3)
    code, said = plotout("send", path, "--machine", profile(), "--port", "file:/dev/full", "--yes")
    assert code == 1
    assert "No space left" in said
    assert "resume --port file:PATH" in said


def test_a_pipe_that_nobody_reads(plotout, profile, hpgl_file, tmp_path):
    path, _ = hpgl_file(3)
    os.mkfifo(tmp_path / "pipe")
    to = f"file:{tmp_path / 'pipe'}"
    code, said = plotout("send", path, "--machine", profile(), "--port", to, "--yes")
    assert code == 1
    assert "nobody reads from this pipe" in said


def test_a_drawing_of_somebody_else_is_not_replaced(plotout, profile, hpgl_file, tmp_path):
    path, _ = hpgl_file(3)
    mine = tmp_path / "mine.json"
    mine.write_bytes(b"{}")
    to = ("send", path, "--machine", profile(), "--drawn", mine)
    code, said = plotout(*to)
    assert (code, "plotout did not write it" in said) == (2, True), said
    assert mine.read_bytes() == b"{}"
    code, said = plotout("virtual", "hpgl", "--link", tmp_path / "port", "--drawn", mine)
    assert (code, "plotout did not write it" in said) == (2, True), said
    assert plotout(*to, "--force")[0] == 0
    assert plotout(*to)[0] == 0  # its own
    assert mine.read_bytes() != b"{}"


def test_what_is_on_a_port(plotout, serve):
    with serve(HpglMachine(512)) as line:
        code, said = plotout("ports", line.link)
    assert code == 0
    assert 'language = "hpgl"\nflow = "enquiry"\nbaud = 9600\nbuffer = 512\n' in said
    code, said = plotout("ports", "--json")
    assert code == 0
    assert '"ports"' in said


def test_without_room_for_its_copy_a_file_is_not_sent(tmp_path, monkeypatch):
    """Python's tempfile: FileNotFoundError where no folder can be written to."""

    def nowhere():
        raise FileNotFoundError(2, "No usable temporary directory found")

    path = tmp_path / "a.plt"
    path.write_bytes(b"IN;SP1;PU1,1;PD5,5;PU;SP0;")
    monkeypatch.setattr("tempfile.TemporaryFile", nowhere)
    with (
        pytest.raises(MachineError, match="no folder with room") as fault,
        mapped(path, plugins.language("hpgl")),
    ):
        pass
    assert "TMPDIR" in fault.value.fix
