"""Whole files over pseudo-terminals: what the machine drew is what the file says."""

import pytest

from plotout import plugins
from plotout.machine import SendingSettings
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.flow_control import credit_for
from plotout.sending.ports import open_link
from plotout.sending.sender import send
from plotout.sending.talk import PortTalk


def _send(path, line, tmp_path, settings, **how):
    language = plugins.language(settings.language)
    link = open_link(str(line.link), settings)
    try:
        with cut_file(path, language, 0.025) as file, journal.opened(tmp_path / "j") as book:
            book.write(job={"file": str(path)})
            return send(file, PortTalk(link, file.language), credit_for(settings), book, **how)
    finally:
        link.close()


@pytest.mark.parametrize("flow", ["enquiry", "enq-ack"])
def test_hpgl_is_drawn_whole(serve, hpgl_machine, hpgl_file, tmp_path, flow):
    path, strokes = hpgl_file(60)
    with serve(hpgl_machine) as line:
        outcome = _send(path, line, tmp_path, SendingSettings("hpgl", flow, 115200, 256))
    assert outcome.done == outcome.units == 61  # 60 squares and the ending
    assert [s.points for s in hpgl_machine.head.strokes] == strokes
    assert all(s.whole for s in hpgl_machine.head.strokes)
    assert hpgl_machine.overruns == 0
    assert journal.read(tmp_path / "j").ended


def test_gcode_is_drawn_whole(serve, gcode_machine, gcode_file, tmp_path):
    path, strokes = gcode_file(60)
    with serve(gcode_machine) as line:
        outcome = _send(path, line, tmp_path, SendingSettings("gcode", "ok", 115200, 128))
    assert outcome.done == outcome.units == 61
    assert [s.points for s in gcode_machine.head.strokes] == strokes
    assert gcode_machine.overruns == 0
