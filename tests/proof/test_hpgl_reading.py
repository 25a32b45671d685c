"""The HP-GL interpreter against files written by hand from the standards, and against ezdxf.

HP-GL: Hewlett-Packard, 7550A Interfacing and Programming Manual. HP-GL/2: HP-GL/2 and HP RTL
Reference Guide. One plotter unit is 0.025 mm, unless the profile's step is another.
"""

from __future__ import annotations

import numpy as np
import pytest
from plotout_readback import hpgl

from plotout.machine import Bed

from .conftest import emitted, machine_for

UNIT = 0.025
ORIGIN = {"bed": Bed(300, 200)}


def ways(data: bytes) -> list[list[list[float]]]:
    reading = hpgl.read(data, machine_for("hpgl"))
    assert reading.unknown == ()
    return [np.round(traced.points / UNIT, 6).tolist() for traced in reading.traced]


def test_absolute_and_relative():
    data = b"IN;SP1;PA0,0;PD;PA400,0;PR0,400,-400,0;PU;PA1000,1000;PD1000,1100;PU;SP0;"
    assert ways(data) == [
        [[0, 0], [400, 0], [400, 400], [0, 400]],
        [[1000, 1000], [1000, 1100]],
    ]


def test_relative_holds_for_pen_moves_until_absolute_is_said():
    assert ways(b"IN;PU100,100;PR;PD10,0,0,10;PU;PA;PU0,0;PD5,5;PU;") == [
        [[100, 100], [110, 100], [110, 110]],
        [[0, 0], [5, 5]],
    ]


def test_spaces_lower_case_and_left_out_semicolons():
    assert ways(b"in sp1 pu 10 20 pd 30 40 PU;") == [[[10, 20], [30, 40]]]


def test_a_pen_put_down_in_place_is_a_dot():
    assert ways(b"IN;PU40,40;PD;PU;PU80,80;PD80,80;PU;") == [[[40, 40]], [[80, 80], [80, 80]]]


def test_arcs_keep_to_their_radius():
    (quarter,) = ways(b"IN;PU1000,0;PD;AA0,0,90;PU;")
    points = np.array(quarter)
    assert points[0].tolist() == [1000, 0]
    assert points[-1] == pytest.approx([0, 1000], abs=1e-6)
    assert np.hypot(*points.T) == pytest.approx(np.full(len(points), 1000.0))


def test_an_arc_of_many_turns_is_not_followed_for_ever():
    reading = hpgl.read(b"IN;SP1;PU1000,0;PD;AA0,0,9000000;AR9,9,-9000000;PU;", machine_for("hpgl"))
    assert reading.unknown == (
        "AA: an arc of more than a full turn",
        "AR: an arc of more than a full turn",
    )
    assert len(reading.traced[0].points) < 1000


def test_speed_force_and_tool():
    reading = hpgl.read(b"IN;VS5;FS120;SP2;PU0,0;PD40,0;VS10;PD80,0;PU;SP0;", machine_for("hpgl"))
    first, second = reading.traced
    assert (first.tool, first.feed, first.force) == (2, 50.0, 120.0)  # VS is in cm/s
    assert (second.feed, second.follows, first.follows) == (100.0, True, False)
    assert reading.ends_safe


def test_it_notices_a_file_that_ends_with_the_pen_down():
    assert not hpgl.read(b"IN;SP1;PU0,0;PD40,0;", machine_for("hpgl")).ends_safe


def test_encoded_polyline_by_hand():
    # HP-GL/2 Reference Guide, PE: base 64, sign in the lowest bit, the last digit from 191 up:
    # 10 -> 20 -> 191+20; -10 -> 21 -> 191+21; 100 -> 200 = 3*64+8 -> 63+8, 191+3
    right, back = bytes([191 + 20, 191 + 0]), bytes([191 + 21, 191 + 0])
    far = bytes([63 + 8, 191 + 3, 63 + 8, 191 + 3])
    assert ways(b"IN;SP1;PU0,0;PE" + right + far + b"<" + back + b"=" + right + b";PU;") == [
        [[0, 0], [10, 0], [110, 100]],
        [[100, 100], [10, 0]],
    ]


def test_encoded_polyline_in_seven_bits():
    # base 32: 10 -> 20 -> 95+20; 100 -> 200 = 6*32+8 -> 63+8, 95+6
    body = bytes([95 + 20, 95]) + bytes([63 + 8, 95 + 6, 95])
    assert ways(b"IN;SP1;PU0,0;PE7" + body + b";PU;") == [[[0, 0], [10, 0], [110, 0]]]


def test_encoded_fractions_and_pen():
    # '>' and 2: two binary fractions; ':' and 3: pen 3.  2 -> 4, 3 -> 6
    data = b"IN;PU0,0;PE>" + bytes([191 + 4]) + b":" + bytes([191 + 6, 191 + 6, 191]) + b";PU;SP0;"
    reading = hpgl.read(data, machine_for("hpgl"))
    assert reading.traced[0].tool == 3
    assert reading.traced[0].points / UNIT == pytest.approx(np.array([[0, 0], [0.75, 0]]))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"IN;SP1;PU0,0;LBPD;PU9,9;\x03PU;", "LB"),
        (b"IN;PU0,0;PD1;PU;", "half a pair"),
        (b"IN;ZZ1,2;", "ZZ"),
        (b"IN;PU0,0;PE\x80\x81;PU;", "invalid characters"),
        (b"IN;PU0,0;PE" + bytes([70]) + b";PU;", "ends in the middle of a number"),
        (b"\x00IN;", "byte 0"),
    ],
)
def test_what_it_does_not_know_is_told(data, words):
    assert words in " ".join(hpgl.read(data, machine_for("hpgl")).unknown)


def test_a_label_is_not_obeyed():
    reading = hpgl.read(b"IN;LBPD999,999;\x03PU0,0;PD4,0;PU;", machine_for("hpgl"))
    assert len(reading.traced) == 1


def test_device_control_is_passed_over():
    assert ways(b"\x1b.(\x1b.I81;;17:\x1b.N;19:\x1b%0BIN;SP1;PU0,0;PD4,4;PU;\x1b%0A") == [
        [[0, 0], [4, 4]]
    ]


def test_ezdxf_reads_the_same(sheet):
    from ezdxf.addons.hpgl2.backend import Recorder
    from ezdxf.addons.hpgl2.interpreter import Interpreter
    from ezdxf.addons.hpgl2.plotter import Plotter
    from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands

    _, data = emitted("hpgl2", sheet)
    recorder = Recorder()
    Interpreter(Plotter(recorder)).run(hpgl2_commands(data))
    theirs = [
        np.array([tuple(point) for point in record.vertices()])
        for kind, _, record in recorder.player().recordings()
        if kind.name == "POLYLINE"
    ]
    reading = hpgl.read(data, machine_for("hpgl2", **ORIGIN))
    ours = [traced.points / UNIT for traced in reading.traced if len(traced.points) > 1]
    assert len(ours) > 10
    their_segments = np.vstack([np.hstack([line[:-1], line[1:]]) for line in theirs])
    our_segments = np.vstack([np.hstack([line[:-1], line[1:]]) for line in ours])
    moved = np.hypot(*(their_segments[:, :2] - their_segments[:, 2:]).T) > 0
    assert their_segments[moved] == pytest.approx(our_segments, abs=1e-6)
