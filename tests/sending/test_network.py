"""A machine behind a serial server, raw TCP or RFC 2217, on this computer only.

The server's side of RFC 2217 is pyserial's own.
"""

import socket
import threading

import pytest
import serial
from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine
from serial.rfc2217 import PortManager

from plotout import plugins
from plotout.errors import MachineError, UserError
from plotout.machine import SendingSettings
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.flow_control import credit_for
from plotout.sending.greet import greet
from plotout.sending.ports import open_link
from plotout.sending.sender import send
from plotout.sending.talk import PortTalk


class Client:
    """The server's end of a connection, as PortManager writes to it."""

    def __init__(self, connection):
        self.write = connection.sendall


def _serve(machine, server, going, asked):
    """Lead what comes in to the machine, and its answers back. asked: RFC 2217's port settings."""
    client, _ = server.accept()
    client.settimeout(0.002)
    manager = PortManager(asked, Client(client)) if asked else None
    with client:
        while going.is_set():
            try:
                data = client.recv(4096)
            except TimeoutError:
                data = b""
            machine.receive(b"".join(manager.filter(data)) if manager else data)
            while machine.step() is not None:
                pass
            while machine.answers:
                answer = machine.answers.popleft()
                client.sendall(b"".join(manager.escape(answer)) if manager else answer)


@pytest.mark.parametrize("scheme", ["socket", "rfc2217"])
@pytest.mark.parametrize("language", ["hpgl", "gcode"])
def test_over_tcp(hpgl_file, gcode_file, tmp_path, language, scheme):
    asked = serial.serial_for_url("loop://", baudrate=1200) if scheme == "rfc2217" else None
    gcode = language == "gcode"
    path, strokes = (gcode_file if gcode else hpgl_file)(40)
    machine = GcodeMachine(128) if gcode else HpglMachine(512)
    settings = SendingSettings(language, "ok" if gcode else "enquiry", 115200, machine.buffer)
    going = threading.Event()
    going.set()
    with socket.create_server(("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=_serve, args=(machine, server, going, asked), daemon=True)
        thread.start()
        link = open_link(f"{scheme}://127.0.0.1:{server.getsockname()[1]}", settings)
        greet(PortTalk(link, plugins.language(language)), 10.0)
        with (
            cut_file(path, plugins.language(language), 0.025) as file,
            journal.opened(tmp_path / "j") as book,
        ):
            outcome = send(file, PortTalk(link, file.language), credit_for(settings), book)
        link.close()
        going.clear()
        thread.join(5)
    assert outcome.done == outcome.units == 41
    assert [stroke.points for stroke in machine.head.strokes] == strokes
    assert machine.overruns == 0
    assert asked is None or asked.baudrate == 115200  # set at the server, as RFC 2217 is for


def test_nobody_there():
    with socket.create_server(("127.0.0.1", 0)) as server:
        free = server.getsockname()[1]
    with pytest.raises(MachineError, match="can't be opened: nothing listens there"):
        open_link(f"socket://127.0.0.1:{free}", SendingSettings("hpgl", "enquiry"))
    with pytest.raises(MachineError, match="it is no serial port"):
        open_link("/dev/null", SendingSettings("hpgl", "enquiry"))


@pytest.mark.parametrize("kind", ["spy", "loop", "alt", "hwgrep", "ftp", "\x1b[2J"])
def test_other_kinds_of_ports_are_refused(kind, tmp_path):
    """pyserial's spy:// would write, and overwrite, a file that the address names."""
    mine = tmp_path / "mine"
    mine.write_bytes(b"mine")
    with pytest.raises(UserError, match="is no kind of port"):
        open_link(f"{kind}:///dev/null?file={mine}", SendingSettings("hpgl", "enquiry"))
    assert mine.read_bytes() == b"mine"
