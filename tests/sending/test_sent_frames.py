"""A roll that the machine advances between frames: sent, broken off and gone on with, each frame's
work lies where it belongs on the roll, and the roll is advanced as often as the file says.

`FR` and `PS`: HP-GL/2 and HP RTL Reference Guide, from memory.
"""

import time
from itertools import pairwise

import pytest
from plotout_hpgl.virtual import HpglMachine
from processes import sender

from plotout import plugins
from plotout.conversation import Account
from plotout.kit import Head
from plotout.sending.cutfile import cut_file
from plotout.sending.recover import Window, possible
from plotout.sending.virtual.line import Fault

FRAME = 6000


class Still(HpglMachine):
    """Its pen keeps its coordinates when the roll is advanced, as the pen itself stands still."""

    def _do(self, word, rest):
        before = self.origin
        seconds = super()._do(word, rest)
        if self.origin != before:
            x, y = self.head.at
            self.head.at = (x + self.origin - before, y)
        return seconds


def framed(folder, frames=3, squares=8):
    """A file of squares in frames, and the strokes that they are on the whole roll."""
    strokes, text = [], [f"IN;PA;PS{FRAME},2000;SP1;VS20;\n"]
    for frame in range(frames):
        text.append("PU;FR;\n" if frame else "")
        for nth in range(squares):
            x, y = nth * 600, 100 + 40 * frame
            square = [(x, y), (x + 400, y), (x + 400, y + 400), (x, y + 400), (x, y)]
            strokes.append([(x + FRAME * frame, y) for x, y in square])
            text.append(f"PU{x},{y};PD" + ",".join(f"{a},{b}" for a, b in square[1:]) + ";\n")
    path = folder / "framed.plt"
    path.write_text("".join(text) + "PU;SP0;PG;")
    return path, strokes


def send(act, file, line, machine, book, *more):
    process = sender(act, file, line.link, "hpgl", machine.buffer, book, *more)
    ended = process.ended()
    return ended.returncode, ended.stderr


def drawn_whole(machine, strokes):
    drawn = [stroke.points for stroke in machine.head.strokes]
    return [points for points in drawn if points in strokes]


def test_each_frame_lies_where_it_belongs(serve, tmp_path):
    path, strokes = framed(tmp_path)
    machine = HpglMachine(256, head=Head(speed=0.0))
    with serve(machine) as line:
        code, errors = send("send", path, line, machine, tmp_path / "j")
    assert code == 0, errors
    assert [stroke.points for stroke in machine.head.strokes] == strokes
    assert machine.origin == 2 * FRAME


def _byte_of(path, word):
    return path.read_bytes().index(word)


@pytest.mark.parametrize("plotter", [HpglMachine, Still])
@pytest.mark.parametrize("after", [-120, -60, -40, -20, 0, 8, 20, 40, 400])
def test_after_a_break_the_roll_is_not_advanced_again(serve, tmp_path, after, plotter):
    """The line is dropped before, just after and long after the first advance was sent.

    Where it is dropped between an advance and its count, the machine can't tell whether it was
    advanced: then the user is asked, who sees it.
    """
    path, strokes = framed(tmp_path)
    machine = plotter(256, head=Head(speed=100_000.0))
    book = tmp_path / "j"
    at = _byte_of(path, b"FR;") + 8 * len("IP1,0;OP;") + after
    with serve(machine, faults=[Fault("drop", at)]) as line:
        code, errors = send("send", path, line, machine, book)
        assert code == 1, errors
        while not line.link.exists():
            time.sleep(0.005)
        code, errors = send("resume", path, line, machine, book)
        if code == 2:
            assert "give the first stroke that is not complete" in errors
            done = len(drawn_whole(machine, strokes)) + round(machine.origin / FRAME)
            code, errors = send("resume", path, line, machine, book, str(done + 1))
    assert code == 0, errors
    assert drawn_whole(machine, strokes) == strokes
    assert machine.origin == 2 * FRAME


@pytest.mark.parametrize(
    ("count", "done"),
    [
        (9, (9,)),  # the count follows the advance, which is the ninth unit
        (8, (8, 9)),  # it was advanced, or not: the pen stands where it stood before
    ],
)
def test_an_advance_is_certain_only_by_the_count_after_it(tmp_path, count, done):
    path, _ = framed(tmp_path)
    with cut_file(path, plugins.language("hpgl"), 0.025) as file:
        assert file.unit(8) == b"PU;FR;\n"
        account = Account(idle=True, stands=True, count=count, at=file.place_before(8), down=False)
        assert possible(file, account, Window(0, 20)) == done


def test_an_advance_is_a_unit_and_no_setting(tmp_path):
    path, _ = framed(tmp_path, squares=2)
    language = plugins.language("hpgl")
    data = path.read_bytes()
    starts = [*language.unit_starts(data), len(data)]
    units = [data[a:b] for a, b in pairwise(starts)]
    assert [unit for unit in units if b"FR" in unit] == [b"PU;FR;\n", b"PU;FR;\n"]
    assert b"FR" not in language.state(data, len(data))
    assert b"PG" not in language.state(data, len(data))


def test_a_change_of_the_sheet_is_a_unit_that_is_counted_by_itself():
    """HP-GL/2 Reference Guide, PG: it ejects the sheet, so that it may not be done twice."""
    language = plugins.language("hpgl")
    data = b"IN;SP1;PU1,1;PD5,5;PU;PG;PU9,9;PD8,8;PU;SP0;"
    starts = [*language.unit_starts(data), len(data)]
    units = [data[a:b] for a, b in pairwise(starts)]
    assert units == [b"PU1,1;PD5,5;", b"PU;PG;", b"PU9,9;PD8,8;", b"PU;SP0;"]
    assert [language.must_count(unit) for unit in units] == [False, True, False, False]


@pytest.mark.parametrize("text", [b"SM;", b"IM0;", b"PC1,255,0,0;", b"TR1;", b"AC0,0;", b"NP8;"])
def test_what_the_check_lets_pass_the_virtual_plotter_knows(text):
    """HP-GL/2 Reference Guide: settings that draw nothing."""
    machine = HpglMachine(10**6, head=Head())
    machine.receive(b"IN;SP1;" + text + b"PU1,1;PD5,5;PU;OE;")
    while machine.step() is not None:
        pass
    assert list(machine.answers) == [b"0\r"]
