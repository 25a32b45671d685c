"""A machine behind a serial server: raw TCP, on this computer only."""

import socket
import threading

import pytest

from plotout.errors import MachineError
from plotout.wire import journal
from plotout.wire.credit import credit_for
from plotout.wire.cutfile import cut_file
from plotout.wire.greet import greet
from plotout.wire.language import LANGUAGES
from plotout.wire.link import WireSettings, open_link
from plotout.wire.sender import send
from plotout.wire.virtual import GcodeMachine, HpglMachine


def _serve(machine, server, going):
    """Lead what comes in to the machine, and its answers back."""
    client, _ = server.accept()
    client.settimeout(0.002)
    with client:
        while going.is_set():
            try:
                data = client.recv(4096)
            except TimeoutError:
                data = b""
            machine.receive(data)
            while machine.step() is not None:
                pass
            while machine.answers:
                client.sendall(machine.answers.popleft())


@pytest.mark.parametrize("language", ["hpgl", "gcode"])
def test_over_tcp(hpgl_file, gcode_file, tmp_path, language):
    gcode = language == "gcode"
    path, strokes = (gcode_file if gcode else hpgl_file)(40)
    machine = GcodeMachine(128) if gcode else HpglMachine(512)
    settings = WireSettings(language, "ok" if gcode else "enquiry", 9600, machine.buffer)
    going = threading.Event()
    going.set()
    with socket.create_server(("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=_serve, args=(machine, server, going), daemon=True)
        thread.start()
        link = open_link(f"socket://127.0.0.1:{server.getsockname()[1]}", settings)
        greet(link, LANGUAGES[language], 10.0)
        with (
            cut_file(path, LANGUAGES[language]) as file,
            journal.opened(tmp_path / "j") as book,
        ):
            outcome = send(file, link, credit_for(settings), book)
        link.close()
        going.clear()
        thread.join(5)
    assert outcome.done == outcome.units == 41
    assert [stroke.points for stroke in machine.motion.strokes] == strokes
    assert machine.overruns == 0


def test_nobody_there():
    with socket.create_server(("127.0.0.1", 0)) as server:
        free = server.getsockname()[1]
    with pytest.raises(MachineError):
        open_link(f"socket://127.0.0.1:{free}", WireSettings())
