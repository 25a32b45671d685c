"""Pauses of machines that report as most controllers do.

Source: the public interface notes of the most used open-source three-axis control, version 1.1:
`FS:` tells the speed of a spindle that turns, also at rest; `MPos` is counted from the machine's
own zero, which homing sets at the top, so that every height is below it; `WCO` is the work's zero.
"""

import time

import pytest
from plotout_gcode.virtual import GcodeMachine
from plotout_gcode.virtual_lines import LineMachine
from plotout_hpgl.virtual import HpglMachine
from processes import sent_at_terminal

from plotout.kit import Head

TOP = 40.0  # mm from the stock to the machine's own zero


class Homed(GcodeMachine):
    """Reports its place from its own zero, which is above all that it reaches. offset: of its work
    zero, x and y.
    """

    offset = (0.0, 0.0)

    def _status(self):
        x, y = self.head.here()
        word = "Run" if b"\n" in self.held or self.head.left > 0.0 else "Idle"
        shift = "".join(f"{value:.3f}," for value in self.offset)
        place = f"MPos:{x:.3f},{y:.3f},{(self.z or 0.0) - TOP:.3f}|WCO:{shift}{-TOP:.3f}"
        return f"<{word}|{place}|FS:0,0>\r\n".encode()


class Terse(Homed):
    """Never reports its work zero: it tells that if it is asked (`$#`). zero: along z."""

    zero = -TOP

    def _status(self):
        return super()._status().partition(b"|WCO")[0] + b"|FS:0,0>\r\n"

    def _do(self, line):
        if line.strip() != "$#":
            return super()._do(line)
        x, y = self.offset
        self.answers.append(f"[G54:{x:.3f},{y:.3f},{self.zero:.3f}]\r\n".encode())
        return 0.0


class Low(GcodeMachine):
    """Its tool has come loose, and its own height says so: it stays in the stock."""

    def _status(self):
        x, y = self.head.here()
        word = "Run" if b"\n" in self.held or self.head.left > 0.0 else "Idle"
        return f"<{word}|WPos:{x:.3f},{y:.3f},-1.000|FS:0,0>\r\n".encode()


@pytest.mark.parametrize(
    ("kind", "spindle", "words"),
    [
        (GcodeMachine, "M3 S12000\n", b"Paused at rest"),
        (Homed, "", b"Paused at rest"),
        (Terse, "", b"Paused at rest"),
        (Low, "", b"reports that its tool is down or on"),
    ],
)
def test_it_is_told_how_a_machine_rests(serve, gcode_file, profile, tmp_path, kind, spindle, words):
    path, strokes = gcode_file(40)
    path.write_text(path.read_text().replace("G0 Z5\n", f"G0 Z5\n{spindle}", 1))
    machine = kind(128, head=Head(speed=250.0))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, profile("gcode", "ok", buffer=128), line)
        run.until(lambda: len(machine.head.strokes) > 2)
        run.key(b"p")
        run.until(lambda: words in run.said)
        assert (b"Paused at rest" in run.said) is (kind is not Low)
        assert len(machine.head.strokes) < len(strokes)
        machine.head.speed *= 100.0
        run.key(b"p")
        assert run.end() == 0
    assert [stroke.points for stroke in machine.head.strokes] == strokes


def _paused(tmp_path, path, profile, line, machine):
    """Have a job sent, and paused once it has drawn some strokes."""
    run = sent_at_terminal(tmp_path, path, profile, line)
    run.until(lambda: len(machine.head.strokes) > 2)
    run.key(b"p")
    run.until(lambda: b"Paused at rest" in run.said)
    return run


class Powered(HpglMachine):
    """Its power may fail; some say so when it is back. It needs no SP to draw."""

    dark_until, greets = 0.0, False

    def fails(self, seconds):
        self.reset()
        self.head.holds_tool = True
        self.dark_until = time.monotonic() + seconds

    def receive(self, data):
        if time.monotonic() > self.dark_until:
            if self.greets and self.dark_until:
                self.answers.append(b"READY\r\n")
            self.dark_until = 0.0
            super().receive(data)


@pytest.mark.parametrize(("off", "greets"), [(0.0, False), (0.5, False), (1.6, True), (4.0, False)])
def test_a_plotter_whose_power_failed_in_a_pause_draws_nothing_more(
    serve, hpgl_file, profile, tmp_path, off, greets
):
    """HP 7550A Interfacing and Programming Manual, from memory: power-on sets the defaults (P1, P2,
    the pen, the speed) and says nothing.
    """
    path, strokes = hpgl_file(20)
    machine = Powered(256, head=Head(speed=20_000.0))
    machine.greets = greets
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile(), line, machine)
        drawn = len(machine.head.strokes)
        machine.fails(off)
        run.key(b"p")
        assert run.end() == 1
        assert b"was reset" in run.said
    assert drawn == len(machine.head.strokes) < len(strokes)


@pytest.mark.parametrize("then", ["q", "p"])
def test_an_origin_that_was_set_anew_in_a_pause_is_told(serve, hpgl_file, profile, tmp_path, then):
    """HP 7550A manual: OA tells the place in plotter units, counted from its origin."""
    path, strokes = hpgl_file(20)
    machine = Powered(256, head=Head(speed=20_000.0))
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile(), line, machine)
        drawn, machine.origin = len(machine.head.strokes), machine.origin + 400.0
        run.key(b"p")
        run.until(lambda: b"Still paused" in run.said)
        assert drawn == len(machine.head.strokes)
        run.key(then.encode())
        run.end()
    drawn_on = len(machine.head.strokes) > drawn
    assert drawn_on is (then == "p")
    assert len(machine.head.strokes) < len(strokes) or then == "p"


def test_a_second_pause_at_once_is_told_too(serve, hpgl_file, profile, tmp_path):
    path, _ = hpgl_file(20)
    machine = HpglMachine(256, head=Head(speed=20_000.0))
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile(), line, machine)
        run.key(b"pp")
        run.until(lambda: run.said.count(b"Paused at rest") == 2)
        run.key(b"q")
        assert run.end() == 1


class Keeps(HpglMachine):
    """Keeps its scaling points over a reset, and says that it was initialized."""

    initialized = True

    def fails(self):
        points = self.points
        self.reset()
        self.answers.clear()
        self.points, self.initialized = points, True

    def _told(self, word):
        if word != b"OS":
            return super()._told(word)
        before, self.initialized = self.initialized, False
        return str(16 + 8 * before)


def test_a_reset_that_keeps_the_count_is_known_by_the_status(serve, hpgl_file, profile, tmp_path):
    """HP 7550A manual, OS: bit 3 is set by power-on, and cleared as it is told (from memory)."""
    path, strokes = hpgl_file(20)
    machine = Keeps(256, head=Head(speed=20_000.0))
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile(), line, machine)
        drawn = len(machine.head.strokes)
        at = machine.head.at
        machine.fails()
        machine.head.at = at
        run.key(b"p")
        assert run.end() == 1
        assert b"was reset" in run.said
    assert drawn == len(machine.head.strokes) < len(strokes)


class RunsDry(Keeps):
    """Is reset when it has worked all that it held."""

    def fails(self):
        self.head.holds_tool, self.initialized = False, True


@pytest.mark.parametrize("ends", ["q", ""])
def test_what_a_reset_that_keeps_the_count_left_undrawn_is_not_counted(
    serve, hpgl_file, profile, tmp_path, ends
):
    """It has put its pen away, draws nothing more, and counts on: what was counted since it was
    last seen to have it is not sure.
    """
    path, strokes = hpgl_file(20)
    machine = RunsDry(256, head=Head(speed=20_000.0))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, profile(), line)
        run.until(lambda: len(machine.head.strokes) > 2)
        machine.fails()
        if ends:
            time.sleep(0.5)
            run.key(b"q")
        assert run.end() == 1
        assert b"was reset" in run.said
        assert b"0 of 20 strokes" in run.said
    assert 2 < len(machine.head.strokes) < len(strokes)


class Keyed(HpglMachine):
    """Its origin is set anew, if `waits`, just before it tells its count at rest."""

    waits = False

    def _told(self, word):
        if word == b"OP" and self.waits and not self.head.down:
            self.waits, self.origin = False, self.origin + 400.0
        return super()._told(word)


def test_an_origin_set_anew_before_the_pause_is_told_is_noticed(
    serve, hpgl_file, profile, tmp_path
):
    """HP 7550A manual: OA tells the place in plotter units, counted from its origin."""
    path, strokes = hpgl_file(20)
    machine = Keyed(256, head=Head(speed=20_000.0))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, profile(), line)
        run.until(lambda: len(machine.head.strokes) > 2)
        machine.waits = True
        run.key(b"p")
        run.until(lambda: b"Paused at rest" in run.said)
        assert not machine.waits
        drawn = len(machine.head.strokes)
        run.key(b"p")
        run.until(lambda: b"Still paused" in run.said)
        run.key(b"q")
        run.end()
    assert drawn == len(machine.head.strokes) < len(strokes)


class Placeless(HpglMachine):
    """Answers no question for its place."""

    def _do(self, word, rest):
        return 0.0 if word == b"OA" else super()._do(word, rest)


@pytest.mark.parametrize("kind", [HpglMachine, Placeless])
def test_it_is_told_that_an_origin_set_anew_would_not_be_noticed(
    serve, hpgl_file, profile, tmp_path, kind
):
    path, strokes = hpgl_file(20)
    machine = kind(256, head=Head(speed=20_000.0))
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile(), line, machine)
        run.key(b"p")
        assert run.end() == 0
    assert (b"nobody sees that" in run.said) == (kind is Placeless)
    assert [stroke.points for stroke in machine.head.strokes] == strokes


def test_a_pen_that_was_put_away_in_a_pause_is_taken_again(serve, hpgl_file, profile, tmp_path):
    """HP 7550A manual, SP: takes the pen, and does nothing if it is held (from memory)."""
    path, strokes = hpgl_file(20)
    machine = HpglMachine(256, head=Head(speed=20_000.0))
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile(), line, machine)
        machine.head.holds_tool = False
        run.key(b"p")
        assert run.end() == 0
    assert [stroke.points for stroke in machine.head.strokes] == strokes


def test_a_plotter_that_is_off_line_in_a_pause_goes_on(serve, hpgl_file, profile, tmp_path):
    """It reads nothing, and loses nothing: it answers all that it was asked when it is on line."""
    path, strokes = hpgl_file(20)
    machine = Powered(256, head=Head(speed=20_000.0))
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile(), line, machine)
        kept = []
        machine.receive = kept.append
        run.key(b"p")
        run.until(lambda: b"Waiting for its answer" in run.said)
        del machine.receive
        machine.receive(b"".join(kept))
        assert run.end() == 0
    assert [stroke.points for stroke in machine.head.strokes] == strokes


ON = (
    "G1 X{} Y{}\nG0 Z2\nG1 Z-1 F600\nG1 X{} Y{}\nG0 Z5\n"  # the second begins where the first ended
)
JOINED = {
    "gcode": ("G21\nG90\nG0 Z5\n{}M5\nM2\n", "G0 X{} Y{}\nG1 Z-1 F600\n" + ON),
    "hpgl": ("IN;SP1;VS10;PA;{}PU;SP0;", "PU{},{};PD;PA{},{};PU;PD{},{};"),
}
JOINED["gcode-lines"] = JOINED["gcode"]
KINDS = {"gcode": GcodeMachine, "gcode-lines": LineMachine, "hpgl": HpglMachine}


@pytest.mark.parametrize(
    "language",
    ["gcode", pytest.param("gcode-lines", marks=pytest.mark.thorough), "hpgl"],
)
@pytest.mark.parametrize("moved", [True, False])
def test_a_machine_that_was_moved_in_a_pause_goes_back(serve, profile, tmp_path, language, moved):
    """By the keys at its panel, say to change a blade: the next stroke may begin without a move."""
    whole, two = JOINED[language]
    corners = [((x, 10), (x + 8, 10), (x + 8, 18)) for x in range(10, 250, 12)]
    size = 40 if language == "hpgl" else 1
    corners = [tuple((size * x, size * y) for x, y in places) for places in corners]
    path = tmp_path / "joined"
    path.write_text(whole.format("".join(two.format(*sum(places, ())) for places in corners)))
    machine = KINDS[language](128, head=Head(speed=size * 50.0))
    settings = profile(language, "enquiry" if language == "hpgl" else "ok", buffer=128)
    settings.write_text(settings.read_text().replace('driver = "gcode-lines"', 'driver = "gcode"'))
    with serve(machine) as line:
        run = sent_at_terminal(tmp_path, path, settings, line)
        run.until(lambda: len(machine.head.strokes) > 4)
        run.key(b"p")
        run.until(lambda: b"Paused at rest" in run.said)
        if moved:
            machine.head.at = (199.0 * size, 14.0 * size)
            if language != "hpgl":
                machine.mode = 0  # a move at its panel was by G0
        machine.head.speed *= 100.0
        run.key(b"p")
        if moved and language != "gcode":  # it could as well be its origin that was moved
            run.until(lambda: b"Still paused" in run.said)
            run.key(b"p")
        assert run.end() == 0, run.said
        assert (b"was moved while it was paused" in run.said) is (moved and language == "gcode")
    meant = [side for a, b, c in corners for side in ([a, b], [b, c])]
    assert [stroke.points for stroke in machine.head.strokes] == meant


class InWork(GcodeMachine):
    """Reports its place in work coordinates, and its zero only after so many other reports."""

    without = 0

    def _status(self):
        self.without -= 1
        x, y = self.head.here()
        word = "Run" if b"\n" in self.held or self.head.left > 0.0 else "Idle"
        zero = "|WCO:3.000,4.000,-9.000" if self.without < 0 else ""
        return f"<{word}|WPos:{x:.3f},{y:.3f},{self.z or 0.0:.3f}|FS:0,0{zero}>\r\n".encode()


def test_a_pause_in_which_nobody_touches_the_machine_goes_on(serve, gcode_file, profile, tmp_path):
    path, strokes = gcode_file(40)
    machine = InWork(128, head=Head(speed=250.0))
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile("gcode", "ok", buffer=128), line, machine)
        machine.without = 20
        run.key(b"p")
        machine.head.speed *= 100.0
        assert run.end() == 0, run.said
    assert [stroke.points for stroke in machine.head.strokes] == strokes


@pytest.mark.parametrize("field", ["relative", "power", "feed", "offset", "zero", "length"])
def test_what_is_changed_at_the_panel_in_a_pause(serve, gcode_file, profile, tmp_path, field):
    """G91 is set anew; what else the file had put in force is not known to be wanted so."""
    path, strokes = gcode_file(40)
    path.write_text(path.read_text().replace("G0 Z5\n", "G0 Z5\nM3 S12000\n", 1))
    machine = Homed(128, head=Head(speed=250.0))
    told = {"zero": "G54:0.000,0.000,0.000", "length": "TLO:0.000"}  # its only answer to $#
    machine.name = told.get(field, machine.name)
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile("gcode", "ok", buffer=128), line, machine)
        before = len(machine.head.strokes)
        changed = {"relative": True, "power": 500.0, "feed": 30.0, "offset": (7.0, 0.0)}
        if field in told:
            machine.name = "TLO:3.000" if field == "length" else "G54:0.000,7.000,0.000"
        else:
            setattr(machine, field, changed[field])
        machine.head.speed *= 100.0
        run.key(b"p")
        assert run.end() == (field != "relative"), run.said
        if field != "relative":
            assert b"was changed while it was paused" in run.said
            assert len(machine.head.strokes) == before
            return
    assert [stroke.points for stroke in machine.head.strokes] == strokes


@pytest.mark.parametrize("anew", [True, False])
def test_a_zero_that_was_set_anew_along_z_is_told(serve, gcode_file, profile, tmp_path, anew):
    """2 mm lower than TOP below the machine's own zero, and so much deeper goes the tool."""
    path, strokes = gcode_file(40)
    machine = Terse(128, head=Head(speed=250.0))
    with serve(machine) as line:
        run = _paused(tmp_path, path, profile("gcode", "ok", buffer=128), line, machine)
        machine.zero = -TOP - 2.0 if anew else -TOP
        machine.head.speed *= 100.0
        run.key(b"p")
        assert run.end() == 0, run.said
    words = b"set anew along z: G54:0.000,0.000,-40.000 before, G54:0.000,0.000,-42.000 now"
    assert (words in run.said) is anew
    assert (b"set anew" in run.said) is anew
    assert [stroke.points for stroke in machine.head.strokes] == strokes
