"""A reset between the user's word and the first move, or where the job rests: never unnoticed.

Source: the public interface notes of the most used open-source three-axis control, version 1.1 (its
place is 0,0,0 after a start, `$G` shows F0 until a feed is set); HP 7550A manual, OS: bit 3 is set
by a start or IN and cleared by reading (from memory). A scripted machine stands in. Found by
tests/bench/breaks.py, G-code seed 606302.
"""

import re
import time
from types import SimpleNamespace

import pytest
from plain_link import PlainLink

from plotout import plugins
from plotout.errors import MachineError
from plotout.machine import SendingSettings
from plotout.sending import journal
from plotout.sending.at_port import agreed
from plotout.sending.cutfile import cut_file
from plotout.sending.flow_control import credit_for
from plotout.sending.greet import greet
from plotout.sending.sender import send
from plotout.sending.standing import Standing
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Watch, Wish


class Control(PlainLink):
    """A control that works at once. It is reset before the nth line that it gets."""

    def __init__(self, at=(10.0, 20.0, 5.0), reset_at=0, greeting=b"Guten Tag\r\n"):
        self.at, self.feed, self.lines, self.out = list(at), 0.0, 0, b""
        self.reset_at, self.greeting = reset_at, greeting
        self.got = []

    def reset(self):
        self.at, self.feed = [0.0, 0.0, 0.0], 0.0
        self.out += self.greeting

    def write(self, data):
        for line in data.replace(b"?", b"?\n").split(b"\n"):
            if line.endswith(b"?"):
                place = ",".join(f"{v:.3f}" for v in self.at)
                self.out += f"<Idle|MPos:{place}|FS:0,0|WCO:0,0,0>\r\n".encode()
            elif line and line not in (b"!", b"\x18"):
                self._line(line)
        return len(data)

    def _line(self, line):
        self.lines += 1
        if self.lines == self.reset_at:
            self.reset()
            return
        if line == b"$G":
            self.out += b"[GC:G0 G54 G17 G21 G90 G94 M5 M9 T0 F%.0f S0]\r\n" % self.feed
        else:
            self.got.append(line)
        for letter, value in re.findall(rb"([XYZF])([-\d.]+)", line):
            if letter == b"F":
                self.feed = float(value)
            else:
                self.at["XYZ".index(letter.decode())] = float(value)
        self.out += b"ok\r\n"

    def nap(self, seconds):
        time.sleep(min(seconds, 0.0005))


def talk_to(link, language="gcode"):
    return PortTalk(link, plugins.language(language))


def run(path, link, tmp_path, watch=None):
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        talk = PortTalk(link, file.language)
        standing = Standing(talk, 128)
        standing.agreed()
        with journal.opened(tmp_path / "j") as kept:
            kept.write(job={})
            credit = credit_for(SendingSettings("gcode", "ok", 9600, 128))
            return send(file, talk, credit, kept, standing=standing, watch=watch, patience=2.0)


@pytest.mark.parametrize("greeting", [b"Guten Tag\r\n", b"Grind 1.1h\r\n", b""])
@pytest.mark.parametrize("at", [(10.0, 20.0, 5.0), (0.0, 0.0, 5.0)])
def test_a_reset_before_the_user_answers_is_noticed(greeting, at):
    """One without a greeting that stands elsewhere afterwards may have been moved by hand."""
    link = Control(at, greeting=greeting)
    standing = Standing(talk_to(link), 128)
    link.reset()
    if greeting:
        with pytest.raises(MachineError, match="reset just now"):
            standing.agreed()
    else:
        standing.agreed()


@pytest.mark.parametrize("silent", [1, 2])
def test_one_that_still_starts_when_it_is_asked_again_was_reset(monkeypatch, silent):
    """Its greeting comes while it is asked where it is. Found by tests/bench/breaks.py, 9230012."""
    link = Control((10.0, 20.0, 5.0), greeting=b"Grind 1.1h\r\n")
    standing = Standing(talk_to(link), 128)
    tells, asked = Standing._place, []

    def place(self):
        asked.append(self)
        if len(asked) > silent:
            return tells(self)
        if len(asked) == 1:
            link.reset()
            self.talk.hear(0.0)
        return None

    monkeypatch.setattr(Standing, "_place", place)
    with pytest.raises(MachineError, match="reset just now"):
        standing.agreed()


def test_one_that_no_longer_tells_where_it_is_may_have_been_reset(monkeypatch):
    standing = Standing(talk_to(Control((10.0, 20.0, 5.0), greeting=b"")), 128)
    monkeypatch.setattr(Standing, "_place", lambda _self: None)
    with pytest.raises(MachineError, match="reset just now"):
        standing.agreed()


@pytest.mark.parametrize("greeting", [b"Guten Tag\r\n", b"Grind 1.1h\r\n"])
def test_a_reset_while_it_is_asked_for_its_name_is_noticed(greeting):
    """Unknown words may be its name, but a place that changes at rest is none."""
    with pytest.raises(MachineError, match="reset just now"):
        greet(talk_to(Control(reset_at=1, greeting=greeting)))


@pytest.mark.parametrize("at", [(10.0, 20.0, 5.0), (0.0, 0.0, 5.0)])
def test_a_silent_reset_after_the_users_word_is_seen_by_the_place(at):
    link = Control(at, greeting=b"")
    standing = Standing(talk_to(link), 128)
    standing.agreed()
    link.reset()
    with pytest.raises(MachineError, match="reset just now"):
        standing.begun([])


@pytest.mark.parametrize(("at", "harmless"), [((10.0, 20.0, 5.0), True), ((0.0, 0.0, 0.0), False)])
def test_unknown_words_are_a_greeting_where_a_fresh_machine_would_stand(at, harmless):
    link = Control(at)
    standing = Standing(talk_to(link), 128)
    link.out += b"Nice weather today\r\n"
    if harmless:
        standing.agreed()
        standing.begun(["Nice weather today"])
    else:
        with pytest.raises(MachineError, match="reset just now"):
            standing.agreed()


@pytest.mark.parametrize(
    ("greeting", "line"),
    [(b"Guten Tag\r\n", 1), (b"Guten Tag\r\n", 3), (b"ready\r\n", 2), (b"", 1)],
)
def test_a_reset_at_the_first_lines_of_a_job_ends_it_before_it_cuts(
    gcode_file, tmp_path, monkeypatch, greeting, line
):
    """It is lost with the line that it came before. Nothing is cut from a wrong place."""
    monkeypatch.setattr("plotout.sending.stalled.ANSWERS_IN", 0.1)
    path, _ = gcode_file(4)
    link = Control(reset_at=line, greeting=greeting)
    with pytest.raises(MachineError, match=r"was reset|been reset"):
        run(path, link, tmp_path)
    assert not any(b"Z-1" in one for one in link.got)


def test_a_silent_reset_while_paused_is_seen_before_it_goes_on(gcode_file, tmp_path):
    """Everything was answered: only what the machine has forgotten shows it."""
    path, _ = gcode_file(4)
    link, wish = Control(greeting=b""), Wish()

    def done(units, _of):
        wish.pause = units == 2

    def said(text):
        if text.startswith("Paused at rest"):
            link.reset()
            wish.pause = False

    with pytest.raises(MachineError, match=r"was reset|been reset"):
        run(path, link, tmp_path, Watch(wish, done, said=said))
    assert sum(b"Z-1" in one for one in link.got) < 4


def test_a_job_that_nothing_disturbs_is_not_suspected(gcode_file, tmp_path):
    path, _ = gcode_file(4)
    for at in ((10.0, 20.0, 5.0), (0.0, 0.0, 0.0)):
        outcome = run(path, Control(at), tmp_path)
        assert outcome.strokes_done == 4
        assert not outcome.stopped
        (tmp_path / "j").unlink()


@pytest.mark.parametrize("sure", [True, False])
def test_a_machine_that_is_elsewhere_after_the_answer_is_asked_about(sure):
    """Its user may have homed it while he was asked; or it was reset without a word."""
    link, asked = Control(greeting=b""), []
    standing = Standing(talk_to(link), 128)
    calls = SimpleNamespace(agreed=lambda question: asked.append(question) or sure)
    agreed(standing, SimpleNamespace(calls=calls))
    assert not asked
    link.reset()
    if sure:
        agreed(standing, SimpleNamespace(calls=calls))
    else:
        with pytest.raises(MachineError, match="reset just now"):
            agreed(standing, SimpleNamespace(calls=calls))
    assert "not where it was when you were asked" in asked[0]


class Plotter(Control):
    """Answers OS with its status, as a 7550A does, and ESC . B."""

    status = 24

    def write(self, data):
        if b"OS;" in data:
            self.out += b"%d\r" % self.status
            self.status = 16
        if b"\x1b.B" in data:
            self.out += b"1024\r"
        return len(data)


def test_a_plotter_that_was_initialized_since_is_noticed():
    link = Plotter()
    standing = Standing(talk_to(link, "hpgl"), 1024)
    standing.rests()
    standing.agreed()
    link.status = 24
    with pytest.raises(MachineError, match="reset just now"):
        standing.agreed()


def test_a_plotter_that_tells_no_status_is_not_suspected():
    link = Control()
    link.write = len
    talk = talk_to(link, "hpgl")
    talk.language = plugins.language("hpgl")
    assert talk.language.initialized(talk) is None


@pytest.mark.parametrize(
    ("later", "words"), [([None, None, True], "been reset just now"), ([], "has said nothing")]
)
def test_a_plotter_that_does_not_say_whether_it_was_reset_is_waited_for(monkeypatch, later, words):
    """HP 7550A manual, OS, from memory: bit 3 is set by power-on, and cleared as it is told."""
    monkeypatch.setattr("plotout.sending.standing.SILENCE", 0.05)
    told = iter([False, *later])
    language = SimpleNamespace(
        initialized=lambda _talk: next(told, None), glance=lambda _talk, _buffer: None
    )
    talk = SimpleNamespace(language=language, overheard=[], hear=lambda *_: [])
    standing = Standing(talk, 1024)
    standing.rests()
    with pytest.raises(MachineError, match=words):
        standing.agreed()


class Failing(Plotter):
    """Its power fails as it is asked for its room the nth time, and comes back within seconds."""

    def __init__(self, fails_at, seconds=1.2):
        super().__init__()
        self.asked, self.fails_at, self.seconds, self.back_at = 0, fails_at, seconds, 0.0
        self.drawn = b""

    def write(self, data):
        self.asked += b"\x1b.B" in data
        if self.asked == self.fails_at and not self.back_at:
            self.back_at = time.monotonic() + self.seconds
            self.status = 24
        if time.monotonic() < self.back_at:
            return len(data)
        self.drawn += b"" if b"OS;" in data or b"\x1b." in data else data
        return super().write(data)


def test_a_plotter_whose_power_fails_after_it_has_told_its_status_is_asked_again():
    """HP 7550A manual, OS: bit 3 is set by power-on (from memory)."""
    standing = Standing(talk_to(Failing(2), "hpgl"), 1024)
    standing.rests()
    with pytest.raises(MachineError, match="reset just now"):
        standing.agreed()


def test_a_plotter_whose_power_fails_before_it_is_sent_anything_draws_nothing(tmp_path):
    """The file's own IN would hide it: the pen would be somewhere else, and the sheet perhaps."""
    link = Failing(3)
    (tmp_path / "p.plt").write_bytes(b"IN;SP1;PU100,100;PD900,100;PU;SP0;")
    talk = talk_to(link, "hpgl")
    standing = Standing(talk, 1024)
    standing.rests()
    standing.agreed()
    settings = SendingSettings("hpgl", "enquiry", 9600, 1024)
    with (
        cut_file(tmp_path / "p.plt", talk.language, 0.025) as file,
        journal.opened(tmp_path / "j") as kept,
    ):
        kept.write(job={})
        with pytest.raises(MachineError, match="reset just now"):
            send(file, talk, credit_for(settings), kept, standing=standing, patience=4.0)
    assert b"PD" not in link.drawn


@pytest.mark.parametrize("moved", [True, False])
def test_a_plotter_that_tells_no_status_is_known_by_its_place(moved):
    """HP 7550A manual, OA: where the pen is. One that starts may take its place for its origin."""
    link = Plotter()
    link.place = b"5000,4000,0"
    tells = Plotter.write

    def write(data):
        if b"OA;" in data:
            link.out += link.place + b"\r"
        tells(link, data.replace(b"OS;", b""))
        return len(data)

    link.write = write
    standing = Standing(talk_to(link, "hpgl"), 1024)
    standing.rests()
    link.place = b"0,0,0" if moved else link.place
    standing.agreed()
    assert standing.moved is moved
