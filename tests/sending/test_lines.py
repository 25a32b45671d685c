"""A controller that only reads lines: numbers and checksums show what it has, places what is done.

The controller is the one from the notes (tests/bench/machines_from_notes), on a simulated clock.
`*` checksums, `Resend:`, M110, M114, M400: the public notes on the dialect, from memory.
"""

import random
import re
import signal
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from breaks import PROFILE, STEP, gcode_file, whole
from line_use import curves
from line_use import gcode_file as line_file
from machines_from_notes import lines
from machines_from_notes.simulated import Sender, Wire
from plotout_gcode import taking_turns
from test_safe import Straight
from trial import coverage

from plotout import Heard, MachineError, plugins
from plotout.language import Stop

LANGUAGE = plugins.language("gcode-lines")
ODD = {"garbles": (19, 40, 41), "loses_ok": (25, 33), "doubles_ok": tuple(range(20, 70, 5))}


@pytest.fixture
def sent(tmp_path, capfd):
    """A function that sends three strokes; it returns the exit code, what was said, the strokes
    that are not whole, and the machine. at: is called once it has made so many marks.
    """

    def _sent(
        data=None, at=None, kind=lines.LineReader, stands=0.0, wire="", marks=1, late=0.0, **habits
    ):
        beam = habits.get("beam", False)
        data = data or gcode_file(random.Random(16), 3, beam=beam)
        machine = kind(lines.Habits(**habits))
        machine.head.place[1] = machine._planned[1] = stands
        said = {"kind": "laser", "tool": "beam", "options": '[options]\ntool = "laser"'}
        if not beam:
            said = {"kind": "knife", "tool": "creaser", "options": ""}
        said |= {"driver": "gcode", "step": STEP, "flow": "ok", "baud": 115200, "buffer": 128}
        profile = PROFILE.format(**said, answers=f'language = "gcode-lines"\n{wire}')
        (tmp_path / "trial.toml").write_text(profile)
        (tmp_path / "job.txt").write_bytes(data)
        (tmp_path / "port").touch()
        words = ["send", str(tmp_path / "job.txt"), "--machine", str(tmp_path / "trial.toml")]
        words += ["--port", str(tmp_path / "port"), "--yes", "--as-it-is"]
        sender = Sender(words, Wire(machine, 115200), tmp_path / "said.txt", tmp_path / "jobs")
        done = []

        def on_tick():
            if at and not done and len(machine.head.marks) >= marks:
                done.append(at(machine, sender))

        code = sender.run(on_tick)
        strokes = whole("lines", lines.LineReader(lines.Habits(beam=beam)), data)
        covers = coverage(strokes, machine.head.marks)
        said = (tmp_path / "said.txt").read_text() + "".join(capfd.readouterr())
        return code, said, [n for n, cover in enumerate(covers) if 0 in cover], machine

    return _sent


@pytest.mark.parametrize(
    "habits",
    [ODD, ODD | {"ok": "number", "place_in_ok": True, "again": "rs N", "ok_after_again": False}],
)
def test_damage_and_wrong_answers_cost_nothing(sent, habits):
    """Damaged lines, lost and doubled `ok`s; a board that boots, and whose greeting runs on."""
    code, said, missing, machine = sent(boots_on_open=True, boot=1.0, glued=True, **habits)
    assert (code, missing, machine.tool_down) == (0, [], False), said


@pytest.mark.parametrize("habits", [{"bare_m110": False, "tight": True}, {"ok_first": True}])
def test_older_forms_are_understood(sent, habits):
    """A number before M110, no blanks in a place, `ok` before the place."""
    code, said, missing, _ = sent(**habits)
    assert (code, missing) == (0, []), said


class NoPlace(lines.LineReader):
    """Answers M114 without a height."""

    def _say(self, line):
        super()._say(re.sub(rb" Z:-?[.\d]+", b"", line))


class NoRest(lines.LineReader):
    """Knows no M400."""

    def _execute(self, code, values, raw, numbered):
        super()._execute("M4000" if code == "M400" else code, values, raw, numbered)


@pytest.mark.parametrize(("kind", "words"), [(NoPlace, "which holds no X"), (NoRest, "M400 by")])
def test_what_can_not_be_known_is_refused_before_the_question(sent, kind, words):
    code, said, _, machine = sent(kind=kind)
    assert (code, words in said, "Nothing has moved" in said) == (1, True, True), said
    assert not machine.head.marks


def test_a_machine_that_has_halted_is_not_waited_for(sent):
    began = []

    def halt(machine, _):
        began.append(machine.now)
        machine._say(b"Error:Printer halted. kill() called!")
        machine._read_line = machine._work_line = lambda: False

    code, said, _, machine = sent(at=halt, busy=0.0)
    assert (code, "The machine has halted" in said) == (1, True)
    assert machine.now - began[0] < 2.0


def test_a_machine_that_says_nothing_more_is_given_up(sent):
    """Nobody is at the keys. How long its stop waits is said: it may still work what it holds."""
    began = []

    def hang(machine, _):
        began.append(machine.now)
        machine._work_line = machine._read_line = lambda: False

    code, said, _, machine = sent(at=hang, busy=0.0)
    assert code == 1
    assert "at most 120 s while it says nothing. To stop it at once: press its stop" in said
    assert "its tool may be down" in said
    assert machine.now - began[0] < 8.0 + 15.0 + 130.0  # the profile's patience, and the stop


def test_a_machine_that_is_busy_for_ever_is_given_up(sent):
    """What is told of the wait is what was seen; it can't be stopped but by hand."""

    def hang(machine, _):
        machine._work_line = lambda: False

    code, said, _, _ = sent(at=hang, busy=0.5)
    found = re.search(r"for (\d+) s the machine did not finish anything, though it says", said)
    assert code == 1
    assert found, said
    assert 35 < int(found[1]) < 60  # five times the profile's patience, 8 s
    assert "did not answer" not in said
    assert "To stop it at once: press its stop button" in said


def test_a_stray_refusal_is_asked_about(sent):
    """Only a machine that was reset wants its first lines again and again."""
    code, said, missing, _ = sent(at=lambda machine, _: machine._say(b"Resend: 3"))
    assert (code, missing) == (0, []), said


def test_the_tool_waits_for_the_place(sent):
    """Nothing of the next stroke is cut before the last one is known to end where it should."""
    data = gcode_file(random.Random(16), 3, beam=False)
    code, said, missing, _ = sent(data, limits=(0.0, 0.0, 4.0), tells_limits=False)
    assert (code, missing) == (1, [1, 2]), said


def test_a_stop_waits_for_what_is_held_and_sees_the_tool_up(sent):
    code, said, _, machine = sent(at=lambda _, sender: sender.signal(signal.SIGTERM))
    assert (code, machine.tool_down) == (1, False)
    assert "can't be stopped at once" in said
    assert "Stopped, tool up." in said


@pytest.mark.parametrize("marks", [20, pytest.param(90, marks=pytest.mark.thorough), 400])
def test_a_stop_overfills_no_buffer(sent, marks):
    """Short moves: the buffer and the queue behind it are full whenever the stop comes."""
    stopped, sender_of = [], []

    class Stopped(lines.LineReader):
        def advance(self, seconds):
            super().advance(seconds)
            if not stopped and len(self.head.marks) >= marks:
                stopped.append(self.now)
                sender_of[0].signal(signal.SIGTERM)

        def _read_line(self):
            full = self.queue or len(self.head.queue) >= lines.PLANNED
            return not full and super()._read_line()

    data = line_file(curves(6000, 60))
    code, said, _, machine = sent(
        data, kind=Stopped, at=lambda _, sender: sender_of.append(sender), speed=0.3
    )
    assert (code, machine.overflows, machine.tool_down) == (1, 0, False), said
    assert "Stopped, tool up." in said
    assert machine.now - stopped[0] < 10.0


def test_a_beam_is_never_said_to_be_off(sent):
    code, said, _, machine = sent(beam=True, at=lambda _, sender: sender.signal(signal.SIGTERM))
    assert (code, machine.tool_down) == (1, False)
    assert "can't report whether its beam" in said
    assert "Stopped, tool up" not in said


def test_a_reset_is_known_by_the_count_of_lines(sent):
    """Also without any greeting."""
    code, said, _, _ = sent(greeting=b"", at=lambda machine, _: machine.lose_power())
    assert code == 1
    assert "was reset" in said
    assert "Stopped, tool up" not in said
    assert "The tool is up and off" not in said


def test_a_move_that_is_cut_short_stops_the_job(sent):
    """Such machines end a move at the end of their travel without an error."""
    data = gcode_file(random.Random(16), 3, beam=False)
    farthest = max(float(x) for x in re.findall(rb"X(\d+\.\d+)", data))
    code, said, _, _ = sent(data, limits=(farthest - 5.0, 0.0, 0.0))
    assert code == 1
    assert "it travels" in said  # it tells that itself, so nothing has moved
    code, said, _, _ = sent(data, limits=(0.0, 0.0, 4.0), tells_limits=False)  # the lift to 5
    assert code == 1
    assert "should be at" in said


@pytest.mark.parametrize(("axis", "habit"), [(0, "limits"), (1, "limits"), (2, "lowest")])
def test_a_travel_that_is_too_short_is_seen_before_anything_is_cut(sent, axis, habit):
    """The machine tells neither its travel nor that it ends moves there; a bulge may lie beyond."""
    limits = [0.0, 0.0, 0.0]
    limits[axis] = 25.0
    given = {"lowest": 0.0} if habit == "lowest" else {"limits": tuple(limits)}
    bulge = b"G21\nG90\nG0 Z5\nG0 X5 Y5\nG1 Z-1 F600\nG2 X15 Y15 I5 J5 F900\nG1 X30 Y30\nG1 X9 Y9\n"
    code, said, _, machine = sent(bulge + b"G0 Z5\nM5\nM2\n", tells_limits=False, **given)
    assert (code, "should be at" in said, machine.head.marks) == (1, True, []), said


def test_a_file_may_go_on_from_where_the_machine_stands(sent):
    """Its first stroke begins at the y where the machine stood."""
    data = b"G21\nG90\nG0 Z5\nG0 X5\nG1 Z-1 F600\nG1 X30 F900\nG0 Z5\nG0 X9 Y9\nG1 Z-1\nG1 X9 Y25\n"
    code, said, missing, _ = sent(data + b"G0 Z5\nM5\nM2\n", stands=12.0)
    assert (code, missing) == (0, [0]), said  # it is 12 mm higher than for a machine at its origin


class Recording(lines.LineReader):
    """Keeps what it was sent."""

    wire = b""

    def feed(self, data):
        self.wire += data
        super().feed(data)


def test_it_goes_to_its_corners_as_high_as_the_file_ever_lifts(sent):
    """A clamp may stand in the way, over which the file lifts higher."""
    strokes = b"".join(
        b"G0 X%d Y9\nG1 Z-1 F600\nG1 X%d F900\nG0 Z%d\n" % (x, x + 5, z)
        for x, z in ((5, 2), (15, 4), (25, 2))
    )
    code, said, missing, machine = sent(
        b"G21\nG90\nG0 Z2\n" + strokes + b"M5\nM2\n", kind=Recording
    )
    assert (code, missing) == (0, []), said
    moves = re.findall(rb"G0 ([XZ][\d.]+)", machine.wire)
    first = next(index for index, move in enumerate(moves) if move.startswith(b"X"))
    assert set(moves[:first]) == {b"Z4"}


class Turning(lines.LineReader):
    """Sees whether its spindle turned while its tool was in the stock."""

    def __init__(self, habits):
        self.cut = set()
        super().__init__(habits)

    def advance(self, seconds):
        super().advance(seconds)
        if self.tool_down:
            self.cut.add(self.power)


def test_a_spindle_that_the_file_starts_once_turns_in_every_stroke(sent):
    """It is off while the machine first goes to the corners of its work."""
    plain = gcode_file(random.Random(16), 3, beam=False)
    data = plain.replace(b"M5\n", b"M3 S800\nG4 P1\n", 1)
    code, said, missing, machine = sent(data, kind=Turning)
    assert (code, missing, machine.cut, machine.power) == (0, [], {True}, False), said


def test_a_machine_that_does_not_check_is_refused(sent):
    code, said, _, machine = sent(checks=False)
    assert code == 1
    assert "does not number and check" in said
    assert not machine.head.marks


@pytest.mark.parametrize(
    ("line", "sound"),
    [
        ("M3 S300 G4 P0.3", False),
        ("G21 G90", False),
        ("G1 X9 F600 M5", False),
        ("N40 G1 X9 Y9 F600 S300", True),
        ("T2 M6", True),
        ("G1 X9 (then M5 and G4)", True),
    ],
)
def test_several_codes_in_a_line_are_refused(line, sound):
    """Of several codes such firmwares obey the first alone (the public notes, from memory)."""
    data = f"G21\nG90\nM5\nG0 X5 Y5\n{line}\nM5\nM2\n".encode()
    told = [text for text in LANGUAGE.unsafe(data, lambda _at: None) if "several codes" in text]
    assert [text.partition(" has")[0] for text in told] == ([] if sound else ["line 5"])


def test_what_a_late_machine_says_of_its_numbers_is_waited_for():
    """It has answered after 3 s before: without a word in 2 s it is not said not to check."""
    waited = []

    class Late:
        late, number = 4.5, 0

        def ask(self, *_question):
            return Heard("again", "Resend: 1", value=1)

        def say(self, _line):
            pass

        def hear(self, seconds, _until=None):
            waited.append(seconds)
            return []

    with pytest.raises(MachineError, match="answers too late"):
        taking_turns.identify(Late())
    assert max(waited) > Late.late


def test_a_name_with_versions_is_no_greeting():
    """The answer to M115, from memory; a greeting has no such key."""
    language = plugins.language("gcode-lines")
    name = "FIRMWARE_NAME:Mill 2.1 (Nov 26) PROTOCOL_VERSION:1.0 MACHINE_TYPE:Mill EXTRUDER_COUNT:0"
    assert language.hear(name).kind == "other"
    assert language.hear("Mill 2.1").kind == "reset"


class Garbling(lines.LineReader):
    """Some of its places are damaged: what ends the line before them runs into them."""

    damaged, places = (), 0

    def _say(self, line):
        self.places += line.startswith(b"X:")
        damaged = line.startswith(b"X:") and self.places in self.damaged
        super()._say(b"*" + line if damaged else line)


@pytest.mark.parametrize("nth", range(6, 16))
def test_a_place_that_is_lost_is_asked_for_again_and_believed(sent, nth):
    machine_of = []

    class Once(Garbling):
        damaged = (nth,)

        def __init__(self, habits):
            super().__init__(habits)
            machine_of.append(self)

    code, said, missing, machine = sent(kind=Once)
    assert (code, missing) == (0, []), said
    assert machine.places >= nth


def test_a_lift_never_lowers_the_tool():
    """A machine that keeps its work zero when it is switched off counts from where it stood."""
    machine = lines.LineReader(lines.Habits())
    machine._planned[2] = machine.head.place[2] = 41.3
    talk = Straight(machine, LANGUAGE)
    talk.number, talk.halted = 0, False
    safe = LANGUAGE.make_safe(talk, b"G21\nG90\nG0 Z5\n")
    assert machine._planned[2] == 41.3
    assert safe.tool_up is None
    assert "higher than the first strokes lift it" in safe.words


class Failing(lines.LineReader):
    """Its power fails when it is told to switch off, and is back at once: it counts from its stored
    zero then, wherever it stands.
    """

    failed = False

    def feed(self, data):
        if b"M5" in data and not self.failed:
            self.failed = True
            self.head.drop()
            self.head.lose_place((0.0, 0.0, 41.3))
            self._power_up(self.habits.boot)
        else:
            super().feed(data)


@pytest.mark.parametrize("greeting", [b"start", b""])
@pytest.mark.parametrize("boot", [0.0, 0.4, 1.5])
def test_a_lift_is_not_sent_again_where_power_has_failed(monkeypatch, greeting, boot):
    machine = Failing(lines.Habits(boot=boot, greeting=greeting))
    monkeypatch.setattr("time.monotonic", lambda: machine.now)
    machine.head.place[2] = machine._planned[2] = -1.0
    talk = Straight(machine, LANGUAGE)
    talk.number, talk.halted = 2_000_000, False
    machine._last = 1_999_999
    safe = LANGUAGE.make_safe(talk, b"G21\nG90\nG0 Z5\n")
    assert machine.failed
    assert machine.head.true_place()[2] == -1.0
    assert safe.tool_up is None
    assert safe.lost_place


class Named(lines.LineReader):
    """Tells, in its answer to M115, what kind of machine it is (from memory)."""

    def _say(self, line):
        super()._say(line + b" MACHINE_TYPE:Knife table" if b"FIRMWARE" in line else line)


def test_it_may_be_known_by_its_type(sent):
    code, said, missing, _ = sent(kind=Named, wire='identity = "MACHINE_TYPE:Knife table"')
    assert (code, missing) == (0, []), said
    code, said, _, _ = sent(kind=Named, wire='identity = "MACHINE_TYPE:Laser"')
    assert code == 1
    assert "may be another machine" in said


def test_what_such_a_machine_reads_otherwise():
    """A dwell counts milliseconds; a feed is no word of its own; `%`, comments and tabs are not
    sent.
    """
    assert list(LANGUAGE.split(b"%\nG4 P0.5\nF900\nG1\tX1 F9\n")) == [
        b"G4 P500\n",
        b"G1 F900\n",
        b"G1 X1 F9\n",
    ]
    assert LANGUAGE.numbered(b"(tool 1)\n", 5) == b""
    assert LANGUAGE.numbered(b"T0 ; the first\n", 3) == b"N3 T0*57\n"  # the notes' own example


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("X:1.00 Y:2.00 Z:-1.00 E:0.00 Count X:80 Y:160 Z:-400", "place"),
        ("ok C: X:1.00 Y:2.00 Z:-1.00 E:0.00", "place"),
        ("X:1.00Y:2.00Z:-1.00E:0.00 Count X: 1.00Y:2.00Z:-1.00", "place"),
        ("X:1.00 Y:2.00 Z:-1.00 E:0.00ok", "place"),
        ('echo:Unknown command: "G94"', "other"),
        ('echo:Unknown command: "56"', "other"),
        ("echo:Unknown command:", "error"),
        ('echo:Unknown command: "G2 X1 Y1 I1 J0"', "error"),
        ('echo:Unknown command: "M4 S500"', "error"),
        ("rs 12", "again"),
        ("startecho:Board 1.4", "reset"),
        ("echo:busy: processing", "busy"),
        ("echo:busy: paused for user", "other"),
        ("Error:Printer halted. kill() called!", "error"),
    ],
)
def test_what_it_says(line, kind):
    heard = LANGUAGE.hear(line)
    assert heard.kind == kind
    if kind == "place":
        assert (heard.at, heard.height, heard.down) == ((1.0, 2.0), -1.0, True)


def test_what_it_would_not_do_is_not_sent():
    """A beam that is not switched off along travels; a word that needs the line before it."""
    end = b"M5\nM2\n"
    beam = b"G21\nG90\nM4 S500\nG1 X5 Y0 F900\nG0 X9 Y9\nG1 X9 Y0\n" + end
    assert any("laser mode" in text for text in LANGUAGE.unsafe(beam, lambda _: None))
    short = b"G21\nG90\nG0 Z5\nG0 X0 Y0\nG1 Z-1 F90\nX5 Y0\nG0 Z5\n" + end
    assert any("line 6" in text for text in LANGUAGE.unsafe(short, lambda _: None))
    right = short.replace(b"\nX5", b"\nG1 X5")
    assert not list(LANGUAGE.unsafe(right, lambda _: None))
    assert LANGUAGE.stops(b"G1 X5 Y0\n", Stop((0.0, 0.0), False))[-1].at == (5.0, 0.0)
