"""What controls and plotters say of themselves: their words, damaged or not, and their settings.

Source: the public interface notes of the most used open-source three-axis control, version 1.1, for
its reports and settings; words of others as the project's facts list them, or from memory.
"""

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from plotout import job, plugins
from plotout.sending.talk import Hearing

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from machines_from_notes import gcode
from test_safe import Straight


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("ok", "ok"),
        ("ok P15 B3", "ok"),
        ("ok N12", "ok"),
        (">G54 G20:ok", "reset"),
        (">G54:error:9", "reset"),
        ("[MSG:already unlocked]", "other"),
        ("[echo: (ready)]", "other"),
        ("echo:SD card ready", "other"),
        ("Guten Tag", "strange"),
        ("k", "other"),
        ("Idle|MPos:0.0,0.0,0.0", "other"),
        ("T:20.1 /0.0", "other"),
        ("Controller ready.", "reset"),
        ("[echo: G1 X1 Y1.5]", "other"),
        ("G1 X1.5 Y2", "other"),
        ("Resend: 12", "again"),
        ("echo:busy: processing", "busy"),
        ("Grind 1.1h ['$' for help]", "reset"),
        ("Another 3.2", "reset"),
        ("start", "reset"),
        ("[MSG:'$H'|'$X' to unlock]", "locked"),
        ("$32=1", "setting"),
        ("[VER:1.1h.20190830:]", "other"),
        ("error:20", "error"),
        ("ALARM:3", "error"),
    ],
)
def test_what_small_controls_say(line, kind):
    assert plugins.language("gcode").hear(line).kind == kind


@pytest.mark.parametrize(
    ("language", "line"),
    [
        ("gcode", "<Idle|MPos:0.000,0.000,0.0<Run|MPos:1.2.3,4,5|FS:0,0>"),  # two run together
        ("gcode", "<Idle|MPos:0.000,0.0000.000,5.000|FS:0,0>"),  # a comma was lost
        ("gcode", "<Idle|WPos:7.000|FS:0,0>"),
        ("gcode", "<Run|WPos:0,0,0|Ln:" + "9" * 5000 + "|FS:0,0>"),
        ("gcode", "rs N" + "9" * 5000),
        ("hpgl", "1.2.3,4,1"),
        ("hpgl", "..,4,1"),
        ("hpgl", "9" * 5000),
        ("hpgl", "\xb2\xb3"),
    ],
)
def test_a_damaged_answer_tells_no_place(language, line):
    heard = plugins.language(language).hear(line)
    assert heard.kind == "other"
    assert heard.at is None


def test_noise_without_an_end_is_not_kept():
    hearing = Hearing(plugins.language("gcode"))
    for _ in range(300):
        assert hearing.take(b"\xff" * 4000) == []
    assert len(hearing._rest) <= 4096
    assert [heard.kind for heard in hearing.take(b"\r\nok\r\n")][-1] == "ok"


def test_a_laser_that_would_burn_its_travels_is_refused():
    """Setting 32: laser mode; 13: inches; 30: greatest S; 110: greatest speed, mm/min."""
    language, laser = plugins.language("gcode"), job.load_machine("laser")

    def told(**settings):
        habits = gcode.Habits(settings={int(k[1:]): v for k, v in settings.items()})
        machine = gcode.Controller(habits)
        return language.differences(Straight(machine, language), laser)

    assert told(s32=1).unsafe == ()
    assert "along travels" in told(s32=0).unsafe[0]
    assert "stronger" in told(s32=1, s30=255).unsafe[0]
    assert "inches" in told(s32=1, s13=1).unsafe[0]
    assert "slower" in told(s32=1, s110=6000).notes[0]


class Small(gcode.Controller):
    """Has less room than its answer to `$I` says, or says that it has less."""

    reports, size = 64, 128

    @property
    def room(self):
        """See Board."""
        return self.reports - len(self.received)

    def _say(self, line):
        super()._say(line.replace(b",15,128]", b",15,%d]" % self.size))


@pytest.mark.parametrize(
    ("reports", "size", "stated", "flow", "told"),
    [
        (64, 128, 0, "", 64),
        (128, 64, 0, "ok", 64),
        (127, 128, 0, "", 0),  # a byte always stays free
        (128, 128, 256, "", 128),
        (256, 256, 0, "", 0),
        (64, 128, 64, "", 0),
        (64, 128, 0, "xon-xoff", 0),  # nothing is counted
    ],
)
def test_a_buffer_that_would_run_over_is_refused(reports, size, stated, flow, told):
    """Interface notes: Bf's second number is the free bytes; the third of [OPT:] all of them."""
    language, machine = plugins.language("gcode"), Small(gcode.Habits())
    machine.reports, machine.size = reports, size
    router = job.load_machine("router")
    sending = replace(router.sending, buffer=stated, flow=flow)
    profile = replace(router, sending=sending)
    unsafe = language.differences(Straight(machine, language), profile).unsafe
    words = f"its receive buffer holds {told} bytes, not {stated or 128}"
    assert [words in text for text in unsafe] == [True] * bool(told)
    assert language.receive_buffer(Straight(machine, language)) == min(reports, size)
