"""Stops in the program (M0), at which somebody may move the machine, or change its modes.

Source: NIST IR 6556 (M0, M5, G20, G91), and the public interface notes of the most used open-source
three-axis control, version 1.1.
"""

import time

import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_gcode.virtual_lines import LineMachine
from processes import sent_at_terminal

from plotout import plugins
from plotout.kit import Head


class Deaf(GcodeMachine):
    """The answer to a stop in the program is lost on the line."""

    def _go_on(self):
        self.stopped = self.awaits_hand = False


@pytest.mark.parametrize("ours", [True, False])
def test_a_lost_answer_to_a_stop_in_the_program_is_noticed(
    serve, gcode_file, profile, tmp_path, ours
):
    """Whether it was let go on by a key here, or at its own panel: it then stands idle."""
    path, _ = gcode_file(6)
    path.write_text(path.read_text().replace("G0 Z5", "M5\nM0\nG0 Z5", 1))
    machine = Deaf(128, head=Head(speed=2500.0))
    settings = profile("gcode", "ok", buffer=128)
    settings.write_text(settings.read_text() + "patience = 4\n")
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, settings, line, *([] if ours else ["--yes"]))
        run.until(lambda: b"waits for you" in run.said and machine.awaits_hand)
        for _ in range(200 if not ours else 0):  # seen to stand
            run.listen()
        if ours:
            run.key(b"p")
        else:
            machine.receive(b"~")
        assert run.end() == 1
        assert b"answers of the machine are missing" in run.said
    assert machine.head.strokes == []


class Early(GcodeMachine):
    """Acknowledges a stop in the program at once, and then holds."""

    def _do(self, line):
        ends = super()._do(line)
        if self.awaits_hand:
            self.answers.append(b"ok\r\n")
        return ends

    def _go_on(self):
        self.stopped = self.awaits_hand = False


@pytest.mark.parametrize("ours", [True, False])
def test_a_stop_that_is_acknowledged_before_it_is_made_is_waited_for(
    serve, gcode_file, profile, tmp_path, ours
):
    """By its own words it is on hold (Hold:0) until a key is pressed here, or at its panel."""
    path, strokes = gcode_file(3)
    path.write_text(path.read_text().replace("G0 Z5", "M5\nM0\nG0 Z5", 1))
    machine = Early(128, head=Head(speed=2500.0))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, profile("gcode", "ok", buffer=128), line)
        run.until(lambda: b"waits for you" in run.said and machine.awaits_hand)
        until = time.monotonic() + 2.0
        run.until(lambda: time.monotonic() > until)
        assert machine.awaits_hand
        assert b"goes on" not in run.said
        if ours:
            run.key(b"p")
        else:
            machine.receive(b"~")
        assert run.end() == 0, run.said
        assert (b"The machine goes on" in run.said) is not ours
    assert [stroke.points for stroke in machine.head.strokes] == strokes


def test_a_reset_at_a_stop_in_the_program_is_noticed(serve, gcode_file, profile, tmp_path):
    """Without a word, and before it was ever seen to stand: nobody need press a key first."""
    path, _ = gcode_file(3)
    head, lift, tail = path.read_text().rpartition("G0 Z5\nG0 X")
    path.write_text(f"{head}G0 Z5\nM5\nM0\nG0 X{tail}")
    machine = GcodeMachine(128, head=Head(speed=2500.0))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, profile("gcode", "ok", buffer=128), line)
        run.until(lambda: b"waits for you" in run.said and machine.awaits_hand)
        machine.reset()
        machine.answers.clear()
        assert run.end() == 1, run.said
    assert b"the machine was reset" in run.said
    assert len(machine.head.strokes) == 2
    assert lift


@pytest.mark.parametrize("kind", [GcodeMachine, LineMachine])
@pytest.mark.parametrize("first", [False, True])
@pytest.mark.parametrize(
    "by",
    [
        (0.0, 0.0, 0.0),
        pytest.param((0.0, 0.0, -5.5), marks=pytest.mark.thorough),
        (7.0, 9.0, 2.0),
    ],
)
def test_a_machine_moved_at_a_stop_in_the_program_goes_back(
    serve, gcode_file, profile, tmp_path, by, first, kind
):
    """The stroke after a stop has no move of its own: it begins where the one before ended. Before
    the first stroke, the way to it would lead through the stock.
    """
    path, _ = gcode_file(2)
    text = "G21\nG90\nG0 Z5\nFIRSTG0 X10 Y10\nG1 Z-1 F600\nG1 X30 F1500\nG0 Z5\nM5\nTHEN"
    text = text.replace("FIRST", "M0\n" if first else "").replace("THEN", "" if first else "M0\n")
    path.write_text(text + "G1 Z-1 F600\nG1 X30 Y40 F1500\nG0 Z5\nM5\nM2\n")
    machine = kind(128, head=Head(speed=2500.0))
    settings = profile("gcode" if kind is GcodeMachine else "gcode-lines", "ok", buffer=128)
    settings.write_text(settings.read_text().replace('driver = "gcode-lines"', 'driver = "gcode"'))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, settings, line)
        waits = kind is GcodeMachine  # the other one's stop is plotout's own
        run.until(lambda: b"waits for you" in run.said and machine.awaits_hand == waits)
        x, y = machine.head.at
        machine.head.at = (x + by[0], y + by[1])
        machine.z += by[2]
        run.key(b"p")
        if kind is LineMachine and any(by):  # its zero may as well have been set anew
            run.until(lambda: b"Still paused" in run.said)
            run.key(b"p")
        assert run.end() == 0, run.said
    lines = [stroke.points for stroke in machine.head.strokes if len(stroke.points) > 1]
    assert lines == [[(10, 10), (30, 10)], [(30, 10), (30, 40)]]
    assert (b"the machine was moved while it was paused" in run.said) == any(by)


class Untold(GcodeMachine):
    """Does not say what it has in force."""

    def _do(self, line):
        if line.strip() != "$G":
            return super()._do(line)
        raise ValueError("3")


@pytest.mark.parametrize(
    ("kind", "left"),
    [
        (GcodeMachine, {"relative": True}),
        (GcodeMachine, {"scale": 25.4}),
        (GcodeMachine, {"mode": 0}),
        (Untold, {"relative": True, "mode": 0}),
        (LineMachine, {"relative": True, "mode": 0}),
        (LineMachine, {"scale": 25.4}),
    ],
)
def test_modes_that_were_changed_at_a_stop_in_the_program_are_set_anew(
    serve, profile, tmp_path, kind, left
):
    """NIST IR 6556, 3.5.17, 3.5.7: G91 adds each place to the last, G20 takes it for inches. The
    stroke after the stop has no distance mode of its own, nor a motion where that may be left out.
    """
    path = tmp_path / "plain.ngc"
    text = "G21\nG90\nG0 Z5\nG0 X10 Y10\nG1 Z-1 F600\nG1 X30\nG1 Z5\nM0\n"
    motion = "G1 " if kind is LineMachine else ""
    places = "".join(f"{motion}{place}\n" for place in ("X40 Y20", "Z-1", "X60 Y40"))
    path.write_text(f"{text}{places}G0 Z5\nM5\nM2\n")
    machine = kind(128, head=Head(speed=2500.0))
    settings = profile("gcode-lines" if kind is LineMachine else "gcode", "ok", buffer=128)
    settings.write_text(settings.read_text().replace('driver = "gcode-lines"', 'driver = "gcode"'))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, settings, line)
        waits = kind is not LineMachine  # whose stop is plotout's own
        run.until(lambda: b"waits for you" in run.said and machine.awaits_hand == waits)
        for name, value in left.items():
            setattr(machine, name, value)
        run.key(b"p")
        assert run.end() == 0, run.said
    lines = [stroke.points for stroke in machine.head.strokes if len(stroke.points) > 1]
    assert lines == [[(10, 10), (30, 10)], [(40, 20), (60, 40)]]


def test_only_what_a_stop_itself_sets_is_left_out():
    """A spindle that somebody else switched, a zero and a tool's length stay compared."""
    force = "G54 G17 G94 M3 M8 T2 S800 G54:1.000,2.000 TLO:0.000"
    language = plugins.language("gcode")
    for message, left in (
        (b"M5 M0", "G54 G17 G94 M8 T2 S800 G54:1.000,2.000 TLO:0.000"),
        (b"T3 M6 M9", "G54 G17 G94 M3 S800 G54:1.000,2.000 TLO:0.000"),
        (b"M0", force),
        (b"", force),
    ):
        assert language.apart_from(force, message) == left


@pytest.mark.parametrize("stop", ["M5 M0", "M0 M5", "M5 S0 M0", "G0 Z5 M5 M0"])
def test_what_a_stop_itself_sets_was_changed_by_nobody(serve, gcode_file, profile, tmp_path, stop):
    """NIST IR 6556, table 8: M5 acts before the stop in its line."""
    path, _ = gcode_file(2)
    text = path.read_text().replace("G0 Z5\n", "G0 Z5\nM3 S800\n", 1)
    head, lift, tail = text.rpartition("G0 Z5\nG0 X")
    path.write_text(f"{head}G0 Z5\n{stop}\nM3 S800\nG0 X{tail}")
    assert lift
    machine = GcodeMachine(128, head=Head(speed=2500.0))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, profile("gcode", "ok", buffer=128), line)
        run.until(lambda: b"waits for you" in run.said and machine.awaits_hand)
        run.key(b"p")
        assert run.end() == 0, run.said
    assert len(machine.head.strokes) == 2
