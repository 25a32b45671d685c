"""After a reset a machine goes on with what reaches it: nothing that it says then tells of before.

A machine that answers from a script stands in, so that the words come in the order that matters.
"""

import time
from types import SimpleNamespace

import pytest
from plain_link import PlainLink
from plotout_hpgl.virtual import HpglMachine

from plotout import plugins
from plotout.conversation import Account, Heard
from plotout.errors import MachineError
from plotout.kit import Head
from plotout.machine import SendingSettings
from plotout.sending import faults, journal, lost
from plotout.sending.cutfile import cut_file
from plotout.sending.exchange import Exchange
from plotout.sending.find import Deciding, find_unit
from plotout.sending.flow_control import credit_for
from plotout.sending.messages import Message
from plotout.sending.ports import open_link
from plotout.sending.recover import Window, partly, possible
from plotout.sending.sender import send
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Watch

ASK = Deciding(lambda _text: None, lambda _doubt: None, 10.0)


class Forgetful(PlainLink):
    """Answers every line `ok`; after so many lines it was reset, and answers those that follow.

    To `?` it says the last line number that it saw, as a machine does that went on.
    """

    def __init__(self, lines, greeting=b"ready\r\n"):
        self.left = lines
        self.greeting = greeting
        self.out = b""
        self.number = 0

    def write(self, data):
        if data.startswith(b"\x18"):
            return len(data)
        for line in data.splitlines():
            if b"?" in line:
                self.out += b"<Idle|WPos:0.0,0.0,5.0|FS:0,0|Ln:%d>\r\n" % self.number
                continue
            if line.startswith(b"N"):
                self.number = int(line[1:].split()[0])
            self.left -= 1
            if self.left == 0:
                self.out += self.greeting
            elif self.left > 0 or self.left < -8:  # the lines that it held are lost
                self.out += b"ok\r\n"
        return len(data)

    def nap(self, seconds):
        time.sleep(seconds)


@pytest.mark.parametrize("greeting", [b"ready\r\n", b"Guten Tag\r\n"])
@pytest.mark.parametrize(  # of one square
    "lines",
    [
        pytest.param(lines, marks=() if lines in (32, 35, 38) else pytest.mark.thorough)
        for lines in range(32, 40)
    ],
)
def test_what_is_said_after_a_reset_finishes_no_stroke(gcode_file, tmp_path, lines, greeting):
    """Each square is 7 lines and a mark, after 4 lines of preamble and the count's own. Words that
    nobody knows are a greeting if what the machine held is lost.
    """
    path, _ = gcode_file(60)
    book = tmp_path / "j"
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        link = Forgetful(lines, greeting)
        credit = credit_for(SendingSettings("gcode", "ok", 9600, 2048))
        with journal.opened(book) as kept:
            kept.write(job={})
            with pytest.raises(MachineError, match="was reset"):
                send(file, PortTalk(link, file.language), credit, kept)
        told = journal.read(book)
        assert told.adrift
        assert told.done <= (lines - 5) // 8
        assert find_unit(file, PortTalk(link, file.language), told, ASK).unit == told.done


@pytest.mark.parametrize(
    ("rested", "told"), [((65.0, 3.0), True), ((0.0, 0.02), False), ((), False)]
)
@pytest.mark.parametrize("ends", [{"settled": True}, {"adrift": True, "sent": 4}])
def test_a_machine_that_is_not_where_it_was_stopped_is_told(gcode_file, rested, told, ends):
    """Nobody need have heard the greeting of a reset between a stop and the resume."""
    path, _ = gcode_file(6)
    said = []
    ask = Deciding(said.append, lambda _doubt: None, 10.0)
    record = journal.Told(**{"job": {}, "sent": 2, "done": 2, "rested": rested} | ends)
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        talk = PortTalk(Forgetful(1000), file.language)
        assert find_unit(file, talk, record, ask).unit == 2
    assert any("stopped at x 65.00, y 3.00 mm" in text for text in said) == told


def test_a_long_stroke_is_no_silence(gcode_file, tmp_path, monkeypatch):
    path, _ = gcode_file(1)
    path.write_text(path.read_text().replace("G0 Z5\nM5", "G1 X1\nG1 X0\n" * 300 + "G0 Z5\nM5"))
    monkeypatch.setattr("plotout.sending.exchange.TELL_EVERY", 0.05)
    said = []

    class Slow(Forgetful):
        """Takes 0.5 ms a line."""

        def write(self, data):
            time.sleep(0.0005)
            return super().write(data)

    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        credit = credit_for(SendingSettings("gcode", "ok", 9600, 64))
        with journal.opened(tmp_path / "j") as kept:
            kept.write(job={})
            talk = PortTalk(Slow(10_000), file.language)
            send(file, talk, credit, kept, watch=Watch(said=said.append))
    shares = [int(text.split()[4]) for text in said if text.startswith("Stroke 1 of 1: ")]
    assert len(shares) > 1
    assert shares == sorted(shares)


@pytest.mark.parametrize(
    ("at", "height", "part"),
    [((35.0, 0.0), -1.0, True), ((40.0, 10.0), -1.0, True), ((30.0, 0.0), 5.0, False)],
)
def test_a_stroke_that_was_left_within_its_work_is_known(gcode_file, at, height, part):
    """Along a side or at a corner of the third square; but not over the place where it begins."""
    path, _ = gcode_file(6)
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        rests = Account(idle=False, stands=True, fresh=False, at=at, height=height)
        assert possible(file, rests, Window(2, 3)) == (2,)
        assert partly(file, rests, Window(2, 3), 2) is part
        assert not partly(file, rests, Window(1, 3), 1)


TABBED = """G21 G90 G17
G0 Z5
X10 Y10
G1 Z-1 F300
X40 Y10 F900
Z1
X50
Z-1
X80
Y40
G0 Z5
X10 Y60
G1 Z-1
Z5
M5
M2
"""


@pytest.mark.parametrize(
    ("at", "height", "done", "part"),
    [
        ((80.0, 10.0), -1.0, 1, True),  # at the corner after the tab
        ((50.0, 10.0), -1.0, 1, True),  # let down behind the tab
        ((50.0, 10.0), 1.0, 1, False),  # over that
        ((40.0, 10.0), -1.0, 1, False),  # before the tab: the part before it is whole
        ((10.0, 10.0), -1.0, 0, True),
        ((10.0, 60.0), -1.0, 3, False),  # the hole is there
    ],
)
def test_a_stroke_that_was_left_within_is_known_where_no_line_says_how_it_moves(
    tmp_path, at, height, done, part
):
    """NIST IR 6556, 3.5.1: G0 and G1 hold until another motion. Tabs divide it into strokes, the
    second of which has no motion of its own; a hole is a stroke that goes nowhere.
    """
    path = tmp_path / "tabbed.gcode"
    path.write_text(TABBED)
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        assert file.strokes == 3
        rests = Account(idle=True, stands=True, fresh=False, at=at, height=height)
        window = Window(max(0, done - 1), min(done + 1, file.units))
        assert possible(file, rests, window) == (done,)
        assert partly(file, rests, window, done) is part


@pytest.mark.parametrize("height", [4.0, 0.5])
def test_half_lifted_from_a_closed_line_is_not_taken_for_half_lowered(gcode_file, height):
    """Where it began it ends, so that the height on the way says neither: its user must."""
    path, _ = gcode_file(6)
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        stopped = Account(idle=False, stands=True, fresh=False, at=(30.0, 0.0), height=height)
        assert possible(file, stopped, Window(2, 4)) == (2, 3)


def test_the_origin_proves_nothing_of_a_machine_that_may_be_fresh(gcode_file):
    """A machine that was switched on shows its origin, and a file may begin or end there."""
    path, _ = gcode_file(6)
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        for fresh, known in ((None, ()), (True, ()), (False, (0,))):
            rests = Account(idle=True, stands=True, fresh=fresh, at=(0.0, 0.0), height=5.0)
            assert possible(file, rests, Window(0, 1, last=1)) == known


@pytest.mark.parametrize("away", [0.1, 0.5, 0.99])
@pytest.mark.parametrize("count", [None, 3])
def test_just_begun_is_not_taken_for_closed(gcode_file, away, count):
    """Halted less than a millimetre along a square: its end, where it began, was not reached."""
    path, _ = gcode_file(6)
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        halted = Account(
            idle=False, stands=True, fresh=False, count=count, at=(30.0 + away, 0.0), height=-1.0
        )
        assert 3 not in possible(file, halted, Window(2, 4))


def test_a_count_read_ahead_is_not_taken_for_work_done(tmp_path):
    """A beam halted on the first side of a square, which its next travel follows too; its machine
    tells the last number that it has read. Found by tests/bench/breaks.py, seed 41111.
    """
    square = "M5\nG0 X{0} Y0\nM4 S500\nG1 X{1} Y0 F900\nG1 X{1} Y10\nG1 X{0} Y10\nG1 X{0} Y0\n"
    path = tmp_path / "squares.gcode"
    path.write_text("G21\nG90\n" + "".join(square.format(x, x + 10) for x in (0, 30, 60)) + "M5\n")
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        halted = Account(idle=False, stands=True, fresh=False, count=2, at=(32.0, 0.0))
        assert possible(file, halted, Window(1, 3)) == (1, 2)


@pytest.mark.parametrize(
    ("at", "down", "done"),
    [
        ((1300.0, 0.0), True, (2,)),  # along a side
        ((1600.0, 250.0), True, (2,)),
        ((1300.0, 0.0), False, (3,)),  # over that side, on its way to the next square
        ((1300.0, 250.0), False, ()),
        ((900.0, 0.0), False, (2,)),  # on its way to it
        ((1200.0, 0.0), True, (2, 3)),  # where it begins it ends
    ],
)
@pytest.mark.parametrize("dropped", [True, False])
def test_a_plotter_that_dropped_what_it_held_stands_within_a_move(
    hpgl_file, at, down, done, dropped
):
    """HP 7550A manual, ESC . K (from memory). One that finished all it held stands at a stop."""
    path, _ = hpgl_file(6)
    with cut_file(path, plugins.language("hpgl"), 0.025) as file:
        stands = Account(idle=True, stands=True, fresh=False, at=at, down=down, dropped=dropped)
        known = done if dropped or len(done) == 2 else ()
        assert possible(file, stands, Window(2, 4)) == known
        coming = {2} if dropped and not down and known else set()  # from anywhere
        assert possible(file, stands, Window(2, 4, coming=True)) == tuple(sorted({*known, *coming}))


@pytest.mark.parametrize(
    ("at", "start", "high", "done"),
    [
        ((300.0, 100.0), None, 4, ()),  # within a square: its tool may have lifted by itself
        ((300.0, 100.0), (0.0, 0.0), 4, ()),
        ((900.0, 450.0), (600.0, 900.0), 4, (2,)),  # half the way to the third, 1200, 0
        ((900.0, 450.0), (600.0, 900.0), 3, (2,)),
        ((300.0, 100.0), None, 3, (2,)),  # no more than one was sent
    ],
)
def test_a_lifted_tool_on_no_way_shows_nothing_of_the_first_strokes(
    hpgl_file, at, start, high, done
):
    """HP 7550A manual, ESC . K (from memory). A plotter that lifted its pen in the fifth stroke was
    said to be on its way to the first, from anywhere: none were done.
    """
    path, _ = hpgl_file(6)
    with cut_file(path, plugins.language("hpgl"), 0.025) as file:
        stands = Account(idle=True, stands=True, fresh=False, at=at, down=False, dropped=True)
        window = Window(2, high, coming=True, start=start)
        assert possible(file, stands, window) == done


def test_on_its_way_to_the_first_square_is_not_taken_for_the_way_to_the_next(gcode_file):
    """Both ways may lie on one line. Found by tests/bench/breaks.py, seed 41156."""
    path, _ = gcode_file(6)
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        halted = Account(idle=False, stands=True, fresh=False, at=(22.0, 0.0), height=5.0)
        assert possible(file, halted, Window(1, 3)) == (2,)
        assert possible(file, halted, Window(1, 3, coming=True)) == (1, 2)


@pytest.mark.parametrize(
    "ending",
    [
        b"PU0,0;SP0;IN;",
        b"PU;SP0;DF;",
        b"PU;SP0;IN",
        b"IN;SP1;PA;PU4000,0;PD4400,0,4400,400;PU;SP0;",
    ],
)
def test_a_plot_file_that_initializes_again_is_no_reset(
    serve, hpgl_machine, hpgl_file, tmp_path, ending
):
    """IN and DF set P1 and P2, which hold the count, back (HP 7550A manual, IN and DF)."""
    path, strokes = hpgl_file(30)
    path.write_bytes(path.read_bytes().removesuffix(b"PU;SP0;") + ending)
    with serve(hpgl_machine) as line, cut_file(path, plugins.language("hpgl"), 0.025) as file:
        link = open_link(str(line.link), SendingSettings("hpgl", "enquiry", 115200, 1024))
        with journal.opened(tmp_path / "j") as kept:
            kept.write(job={})
            credit = credit_for(SendingSettings("hpgl", "enquiry", 115200, 1024))
            outcome = send(file, PortTalk(link, file.language), credit, kept)
        link.close()
    assert outcome.done == file.units
    drawn = [stroke.points for stroke in hpgl_machine.head.strokes if stroke.whole]
    assert drawn[: len(strokes)] == strokes
    assert len(drawn) == file.strokes


class Failing(HpglMachine):
    """Its power fails for a moment after these bytes, without a word."""

    def __init__(self, last):
        super().__init__(head=Head(speed=0.0))
        self.last, self.heard = last, b""

    def receive(self, data):
        for byte in data:
            super().receive(bytes([byte]))
            self.heard += bytes([byte])
            if self.last and self.heard.endswith(self.last):
                self.last = b""
                self.reset()


@pytest.mark.parametrize(
    "ending",
    [
        b"PU0,0;SP0;IN;",
        b"IN;SP1;PA;PU4000,0;PD4400,0,4400,400;PU;SP0;",
        b"PG;PU4000,0;PD4400,0,4400,400;PU;SP0;",
    ],
)
def test_what_a_file_initializes_or_advances_hides_no_reset_before_it(
    serve, hpgl_file, tmp_path, ending
):
    """The count that is given anew after it is there whether the machine was reset or not."""
    path, _ = hpgl_file(3)
    path.write_bytes(path.read_bytes().removesuffix(b"PU;SP0;") + ending)
    machine = Failing(b"PU1200,0;")
    settings = SendingSettings("hpgl", "enquiry", 115200, 1024)
    with serve(machine) as line, cut_file(path, plugins.language("hpgl"), 0.025) as file:
        link = open_link(str(line.link), settings)
        with journal.opened(tmp_path / "j") as kept:
            kept.write(job={})
            with pytest.raises(MachineError, match="was reset"):
                send(file, PortTalk(link, file.language), credit_for(settings), kept)
        link.close()
    assert not machine.last
    assert journal.read(tmp_path / "j").done < 3


def test_what_is_answered_after_unknown_words_is_taken_back_if_they_were_a_greeting(
    gcode_file, tmp_path
):
    """The lines that reach a machine after its reset are answered too: they are none of those that
    it lost. Found by resets in the first second of a job, G-code seed 740512.
    """
    path, _ = gcode_file(6)
    with (
        cut_file(path, plugins.language("gcode"), 0.025) as file,
        journal.opened(tmp_path / "j") as kept,
    ):
        kept.write(job={})
        credit = credit_for(SendingSettings("gcode", "ok", 9600, 128))
        talk = PortTalk(Forgetful(99), file.language)
        state = Exchange(file, talk, credit, kept, Watch(), answers=True, buffer=128, done=1)
        state.unanswered.extend(Message(unit, b"G4 P0\n", done=unit) for unit in (1, 2, 3))
        state.take_in([Heard("ok"), Heard("strange", "Guten Tag"), Heard("ok"), Heard("ok")])
        assert state.done == 4
        faults.was_reset(state)
        assert state.done == 2
    assert journal.read(tmp_path / "j").done == 2


def test_a_count_that_goes_on_beyond_counts_never_told_shows_strokes_lost():
    """HP-GL works in order: a stroke's count is told (OP) before the next one's is set (IP)."""
    marks = [Message(unit, b"", done=unit) for unit in range(22, 29)]
    language = plugins.language("hpgl")
    state = SimpleNamespace(file=SimpleNamespace(language=language), unanswered=marks, unit=31)

    def skipped(count, *told):
        return lost.skipped(state, count, [Heard("count", value=value) for value in told])

    assert skipped(29, 23, 24)
    assert skipped(29)
    assert not skipped(29, 23, 24, 25, 26, 27, 28)
    assert not skipped(23)
    assert not skipped(None)
    assert skipped(32, 23, 24)  # set by a stroke whose question was not sent any more
    assert not skipped(32, *range(23, 30))
    state.file.language = plugins.language("gcode")
    assert not skipped(29)
