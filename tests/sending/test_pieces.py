"""HP-GL is handed over in pieces that a broken line can't turn into a wrong vector.

Source: HP 7550A Interfacing and Programming Manual: a semicolon or the next letter ends an
instruction, ETX a label. HP-GL/2 Reference Guide: the last character of an encoded number has its
high bit set (191 to 254).
"""

from itertools import accumulate

import pytest
from plotout_hpgl.virtual import HpglMachine

from plotout import plugins
from plotout.kit import Head

PLAIN = b"IN;SP1;PU100,200;PD" + b",".join(b"%d,%d" % (n, 7 * n) for n in range(200)) + b";PU;SP0;"
ENCODED = b"IN;SP1;PU100,200;PE<=" + b"\xbf\xc1\x40\xbf\x50\xc8" * 90 + b";PU;SP0;"
LETTERS = b"IN;SP1;PU100,200;PE<=" + b"\x4b\xc1\x71\xc0\x41\xc3\x63\xbf" * 40 + b";PU;SP0;"
"""Its numbers are letters in part: 63 to 126, and 191 to 254 for the last."""


@pytest.mark.parametrize("most", [32, 64, 256])
@pytest.mark.parametrize("data", [PLAIN, ENCODED, b"PU1,1;LBa;b,1" + b"x" * 300 + b"\x03PU;"])
def test_pieces_are_the_file(data, most):
    pieces = list(plugins.language("hpgl").pieces(data, most))
    assert b"".join(pieces) == data
    assert max(map(len, pieces)) <= most


@pytest.mark.parametrize("most", [32, 64])
@pytest.mark.parametrize("data", [PLAIN, ENCODED])
def test_a_line_that_breaks_between_pieces_draws_nothing_wrong(data, most):
    meant = _drawn(data)
    for cut in accumulate(map(len, plugins.language("hpgl").pieces(data, most))):
        assert _drawn(data[:cut] + b";OA;") == meant[: len(_drawn(data[:cut] + b";OA;"))]


@pytest.mark.parametrize("data", [PLAIN, ENCODED, LETTERS, PLAIN.replace(b"PU1", b"PA;PR;PU1")])
def test_a_question_between_pieces_changes_nothing_that_is_drawn(data):
    """The count that stands before the last move is as it was when the question is asked."""
    language = plugins.language("hpgl")
    first = data.index(b"PU")  # what is before belongs to no stroke
    data = data[:first] + language.counted(data[first : data.rfind(b"PU;")], 7) + b"PU;"
    meant = _drawn(data)
    for cut in accumulate(map(len, language.pieces(data, 32))):
        ending, rest = language.parted(data[:cut], data[cut:], 6)
        counted = b"IP7,0;" in data[:cut]
        assert (ending + rest).count(b"IP6,0;") == counted
        assert (ending + rest).count(b"IP7,0;") == (counted or b"IP7,0;" in data[cut:])
        asked = data[:cut] + ending + language.mark
        assert _drawn(asked + rest) == meant
        more, last = language.parted(asked, rest, 6)
        assert _drawn(asked + more + language.mark + last) == meant  # asked again before it goes on


def test_nothing_is_asked_within_what_cannot_be_divided():
    language = plugins.language("hpgl")
    assert language.parted(b"SP1;LBab", b"cd\x03PU;", 0) is None
    assert language.parted(b"PE7\x5f\x60", b"\x5f\x60;", 0) is None
    assert language.parted(b"", b"PU1,1;", 0) == (b"", b"PU1,1;")


def _drawn(data):
    machine = HpglMachine(10**6, head=Head())
    machine.receive(data)
    while machine.step() is not None:
        pass
    return [point for stroke in machine.head.strokes for point in stroke.points]


def test_a_label_is_not_taken_for_instructions():
    pieces = list(plugins.language("hpgl").pieces(b"LBPU;PD1,2;\x03PU5,5;", 32))
    assert pieces == [b"LBPU;PD1,2;\x03PU5,5;"]
