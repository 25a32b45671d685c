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


def _drawn(data):
    machine = HpglMachine(10**6, head=Head())
    machine.receive(data)
    while machine.step() is not None:
        pass
    return [point for stroke in machine.head.strokes for point in stroke.points]


def test_a_label_is_not_taken_for_instructions():
    pieces = list(plugins.language("hpgl").pieces(b"LBPU;PD1,2;\x03PU5,5;", 32))
    assert pieces == [b"LBPU;PD1,2;\x03PU5,5;"]
