"""Ports: found by what they are, opened by one program only."""

import os
import subprocess
import sys

import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine

from plotout import plugins
from plotout.errors import MachineError
from plotout.machine import SendingSettings
from plotout.sending import lock
from plotout.sending.greet import greet, probe
from plotout.sending.lock import locked
from plotout.sending.ports import find_port, open_link
from plotout.sending.talk import PortTalk

HPGL, GCODE = plugins.language("hpgl"), plugins.language("gcode")


def test_one_sender_a_port_and_stale_locks_are_taken_over(tmp_path, monkeypatch):
    """The other job has other folders, and another name for the port."""
    (tmp_path / "port").touch()
    (tmp_path / "link").symlink_to("port")
    port = str(tmp_path / "port")
    for name in ("PLOTOUT_JOBS", "HOME", "XDG_STATE_HOME", "TMPDIR"):
        monkeypatch.setenv(name, str(tmp_path / "other"))
    code = (
        "import sys,time\nfrom plotout.sending.lock import locked\n"
        f"with locked({port!r}):\n print('held',flush=True)\n time.sleep(60)"
    )
    holder = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    for _ in range(2):  # whoever asks in vain must not wipe out who it is
        with (
            pytest.raises(MachineError, match=f"process {holder.pid}"),
            locked(str(tmp_path / "link")),
        ):
            pass
    holder.kill()
    holder.wait()
    with locked(port):
        pass
    assert not lock.place(port).with_name(f"{lock.place(port).name}.owner").exists()


def test_a_device_is_opened_by_one_program_only_whoever_its_users_are(tmp_path, monkeypatch):
    """The other user here is only another folder of locks: the device itself is what refuses."""
    ours, theirs = os.openpty()
    name = os.ttyname(theirs)
    link = open_link(name, SendingSettings("hpgl", "enquiry"))
    try:
        code = (
            "from plotout.machine import SendingSettings\n"
            "from plotout.sending.ports import open_link\n"
            f"open_link({name!r}, SendingSettings('hpgl', 'enquiry'))"
        )
        env = {"HOME": str(tmp_path)}
        other = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, env=env, check=False
        )
        assert f"port {name} is busy" in other.stderr
    finally:
        link.close()
        os.close(theirs)
        os.close(ours)


def test_the_lock_knows_a_user_without_a_name(tmp_path, monkeypatch):
    def nameless() -> str:
        raise OSError("no username set in the environment")

    monkeypatch.setattr(lock, "FOLDERS", (str(tmp_path),))
    monkeypatch.setattr("getpass.getuser", nameless)
    with locked("/dev/none"):
        (owner,) = tmp_path.rglob("*.owner")
        assert owner.read_text().startswith("user ")


def test_no_such_port_and_no_permission(tmp_path, monkeypatch):
    with pytest.raises(MachineError, match="there is no port"):
        open_link(str(tmp_path / "none"), SendingSettings("hpgl", "enquiry"))
    import serial

    def refused(*_args, **_more):
        raise serial.SerialException(13, "could not open port: [Errno 13] Permission denied")

    monkeypatch.setattr(serial, "serial_for_url", refused)
    with pytest.raises(MachineError) as told:
        open_link("/dev/ttyS0", SendingSettings("hpgl", "enquiry"))
    assert "dialout" in told.value.fix


def test_a_device_that_moved_is_found_by_what_it_is(monkeypatch, tmp_path):
    class Port:
        device, vid, pid, serial_number = "/dev/ttyUSB7", 0x1234, 0x5678, "A1"

    import serial.tools.list_ports as ports

    monkeypatch.setattr(ports, "comports", lambda: [Port])
    assert find_port(str(tmp_path / "gone"), "1234:5678:A1") == "/dev/ttyUSB7"
    assert find_port(str(tmp_path / "gone"), "1234:5678:B2") == str(tmp_path / "gone")


def test_who_is_there(serve):
    with serve(HpglMachine(512)) as line:
        assert probe(str(line.link), 9600, 0.3).settings.buffer == 512
    with serve(GcodeMachine(128)) as line:
        met = probe(str(line.link), 9600, 0.3)
        assert (met.settings.language, met.settings.flow) == ("gcode", "ok")
        link = open_link(str(line.link), SendingSettings("hpgl", "enquiry"))
        with pytest.raises(MachineError, match=r"answer is not in hpgl|nothing answers"):
            greet(PortTalk(link, HPGL), 0.2)
        link.close()
