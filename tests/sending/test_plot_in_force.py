"""Resumed at any stroke, a plot of any style draws what is left as it would have: random plots,
followed by an interpreter of this file alone.

Source: HP 7550A manual: PU, PD, PA and PR with lists of pairs; VS v, n and FS f, n of pen n,
without n of all; SP lifts the pen; IN forgets all; commas or blanks between numbers, and no
semicolon where letters follow.
"""

import itertools
import random
import re

import pytest

from plotout import plugins
from plotout.sending.cutfile import cut_file

HPGL = plugins.language("hpgl")
TOKEN = re.compile(r"([A-Za-z]{2})([^A-Za-z;]*)")
PENS = (1, 2, 3)


class Follower:
    """Obeys a plot. strokes: pen, its speed and force, and places."""

    def __init__(self, at=(0.0, 0.0)):
        self.at, self.pen, self.down, self.relative = at, 0, False, False
        self.limits = {"VS": {}, "FS": {}}
        self.strokes, self.drawn = [], []

    def obey(self, text):
        for word, rest in TOKEN.findall(text):
            self._instruction(word.upper(), [float(n) for n in re.findall(r"-?\d+", rest)])
        self._ends()
        return self

    def _instruction(self, word, numbers):
        if word in ("IN", "SP", "PU"):
            self._ends()
            self.down = False
        if word == "IN":
            self.limits, self.relative = {"VS": {}, "FS": {}}, False
        elif word == "SP":
            self.pen = int(numbers[0]) if numbers else 0
        elif word in self.limits:
            self._limit(self.limits[word], *numbers)
        elif word == "PD" and not self.down:
            self.down, self.drawn = True, [self.at]
        elif word in ("PA", "PR"):
            self.relative = word == "PR"
        if word in ("PU", "PD", "PA", "PR"):
            self._move(numbers)

    def _limit(self, limits, value, pen=0):
        if not pen:
            limits.clear()
        limits[int(pen)] = value

    def _move(self, numbers):
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            self.at = (self.at[0] + x, self.at[1] + y) if self.relative else (x, y)
            self.drawn.append(self.at)

    def _ends(self):
        if self.down:
            limits = [of.get(self.pen, of.get(0)) for of in self.limits.values()]
            self.strokes.append((self.pen, *limits, self.drawn))
        self.down, self.drawn = False, []


def plot(rng):
    between = rng.choice([";", ";\n", "; ", ""])
    lower = rng.random() < 0.2

    def said(word, *numbers):
        text = rng.choice([",", ", ", " "]).join(map(str, numbers))
        return (word.lower() if lower else word) + text + between

    def places(most, many):
        return [rng.randint(0 if most > 100 else -most, most) for _ in range(2 * many)]

    def limited():
        pen = [rng.choice(PENS)] if rng.random() < 0.6 else []
        return said(rng.choice(["VS", "FS"]), rng.randint(1, 40), *pen)

    parts = ["IN" + (between or ";"), *(limited() for _ in range(4)), said("SP", 1), said("PA")]
    for _ in range(12):
        extra = [limited(), said("SP", rng.choice(PENS)), said("IN") + said("SP", 2)]
        parts.append(rng.choices(["", *extra], [6, 2, 2, 0.5])[0])
        there, many = places(8000, 1), rng.randint(1, 5)
        parts.append(
            rng.choice(
                [
                    said("PU", *there) + said("PD", *places(8000, many)),
                    said("PU") + said("PA", *there) + said("PD") + said("PA", *places(8000, many)),
                    said("PU", *there) + said("PD") + said("PR", *places(50, many)) + said("PA"),
                    said("PU") + said("PD", *there),  # from where the last one ended
                    said("PU", *there) + said("PD"),  # a dot
                ]
            )
        )
    return "".join([*parts, said("PU"), "SP0;"])


@pytest.mark.parametrize("seed", range(40))
def test_what_is_left_is_drawn_as_it_would_have_been(tmp_path, seed):
    text = plot(random.Random(seed))
    whole = Follower().obey(text).strokes
    assert list(HPGL.unsafe(text.encode(), lambda _at: None)) == []
    path = tmp_path / "plot.plt"
    path.write_text(text)
    with cut_file(path, HPGL, 0.025) as file:
        assert file.strokes >= 11
        for unit in range(1, file.strokes):
            start = int(file.starts[unit])
            done = Follower().obey(text[:start]).strokes
            left = Follower(at=(1.0, 1.0)).obey(file.head(unit).decode() + text[start:])
            assert left.strokes == whole[len(done) :]


def encoded(*numbers):
    """HP-GL/2 Reference Guide, PE: twice the number, odd if it is negative; digits of base 64, the
    lowest first, the last of them from 191 on.
    """
    text = b""
    for number in numbers:
        left = 2 * abs(number) + (number < 0)
        while left > 63:
            text += bytes([63 + left % 64])
            left //= 64
        text += bytes([191 + left])
    return text


@pytest.mark.parametrize(
    ("within", "pen"),
    [(b":" + encoded(2), 2), (b"", 1), (b":" + encoded(2) + b":" + encoded(3), 3)],
)
def test_a_pen_that_is_chosen_within_an_encoded_polyline_is_in_force_after_it(
    tmp_path, within, pen
):
    """HP-GL/2 Reference Guide, PE: the flag `:`; the pen stays chosen."""
    line = b"PE" + within + b"<=" + encoded(100, 100, 40, 0, 0, 40) + b";"
    path = tmp_path / "plot.plt"
    path.write_bytes(b"IN;VS10,1;VS20,2;SP1;PU;" + line + b"PU5,5;PD9,9;PU5,50;PD9,90;PU;SP0;")
    with cut_file(path, HPGL, 0.025) as file:
        head = file.head(file.strokes - 1)
    assert re.findall(rb"SP(\d)", head)[-1:] == [b"%d" % pen]
    assert head.index(b"SP%d" % pen) > head.index(b"VS20,2")


def test_lettering_before_a_stroke_may_be_there_already():
    """HP-GL: a label (LB) ends with ETX; after it the pen is where its letters end."""
    language = plugins.language("hpgl")
    assert (
        language.not_shown(b"PU100,100;LBPU5\x03PU5,5;PD9,9;") == "the machine's own lettering (LB)"
    )
    assert not language.not_shown(b"PU100,100;PD9,9;")


@pytest.mark.parametrize("word", ["AF", "AH", "FR", "PG"])
def test_paper_is_not_advanced_again(word):
    """HP 7550A manual: FR, PG; HP 7586B, AF and AH advance a sheet and half of one (memory)."""
    data = f"IN;VS20;SP1;PU0,0;PD9,9;PU;{word};PU50,50;PD60,60;PU;".encode()
    assert HPGL.state(data, len(data)) == b"IN;VS20;SP1;"
    assert HPGL.not_restored(data, len(data)) == ()
    assert HPGL.must_count(f"PU;{word};".encode())  # what is before it is on another sheet
    assert HPGL.counted(f"PU;{word};".encode(), 7).startswith(f"PU;{word};IP7,0,".encode())


def test_what_is_no_instruction_that_sets_anything_is_named_and_not_repeated():
    data = b"IN;SP1;PU0,0;PD9,9;XX3;OS;NR;PU50,50;PD60,60;XX3;ZZ;PU;"
    assert HPGL.state(data, len(data)) == b"IN;SP1;"
    assert HPGL.not_restored(data, len(data)) == ("XX", "ZZ")


def test_letters_within_an_encoded_line_are_no_advance():
    assert not HPGL.must_count(b"PE<=PGAFAH\xc0\xc1;")


def test_each_of_two_advances_counts():
    """After a break between them only one of them is to be done."""
    data = b"IN;PU1,1;PD2,2;PU;AF;AF;PU3,3;PD4,4;PU;"
    starts = [*HPGL.unit_starts(data), len(data)]
    units = [data[a:b] for a, b in itertools.pairwise(starts)]
    assert units == [b"PU1,1;PD2,2;", b"PU;AF;", b"AF;", b"PU3,3;PD4,4;", b"PU;"]
    assert all(map(HPGL.must_count, units[1:3]))
