"""What is set again before a job goes on in the middle of its file."""

import re

import pytest

from plotout import plugins
from plotout.language import Stop
from plotout.sending.cutfile import cut_file

HPGL, GCODE = plugins.language("hpgl"), plugins.language("gcode")


def test_settings_in_force_are_sent_before_going_on():
    data = b"IN;SP1;VS20;PU0,0;PD1,1;PU2,2;SP2;VS5;FS90;PD3,3;PU4,4;PD5,5;"
    starts = list(HPGL.unit_starts(data))
    assert HPGL.state(data, int(starts[2])) == b"IN;SP2;VS5;FS90;"


@pytest.mark.parametrize("tool", ["T3", "T3 M6", "M6 T3", "T3\nM6"])
def test_a_tool_is_changed_again_only_if_the_file_has_changed_it(tool):
    """NIST IR 6556, 3.7.3 and 3.6.3: T selects a tool, M6 changes to it, whatever their order."""
    data = f"G21\nG0 Z5\n{tool}\nG0 X1\nG1 Z-1 F300\nG1 X9\nG0 Z5\n".encode()
    again = GCODE.state(data, len(data)).split(b"\n")
    assert (b"T3 M6" if "M6" in tool else b"T3") in again


@pytest.mark.parametrize(
    ("stroke", "last"),
    [
        (b"G0 X%d S0\nG1 X%d S500\n", [b"G0", b"M4 S0"]),
        (b"G0 X%d\nG1 X%d\n", [b"G0", b"M4 S700"]),
        (b"S0\nG0 X%d\nG1 X%d S500\n", [b"G0", b"M4 S0"]),
    ],
)
def test_a_beam_that_is_on_all_the_time_is_on_again(stroke, last):
    """The interface notes: M4 gives a beam no power at rest, and laser mode none in G0."""
    data = b"G21\nG90\nM5\nG0 X0\nF900\nS700\nM4\n" + stroke % (1, 9)
    end = len(data)
    data += stroke % (20, 29)
    assert GCODE.state(data, end).strip().split(b"\n")[-2:] == last


@pytest.mark.parametrize("kind", ["spindle", "beam"])
def test_no_line_of_a_resume_begins_with_its_power(tmp_path, kind):
    """A machine that only reads lines wants a G or an M first: it does not know `S500` alone."""
    down, up = (b"G1 Z-1", b"G0 Z5") if kind == "spindle" else (b"M3 S500", b"M5")
    stroke = b"G0 X%d Y0\n" + down + b"\nG1 X%d Y9\n" + up + b"\n"
    data = b"G21\nG90\n" + up + b"\nG1 F900\n" + (b"M3 S500\n" if kind == "spindle" else b"")
    data += b"".join(stroke % (n, n) for n in range(10, 60, 10)) + b"M5\nM2\n"
    path = tmp_path / "lines.gcode"
    path.write_bytes(data)
    language = plugins.language("gcode-lines")
    with cut_file(path, language, 0.01) as file:
        assert file.units > 4
        for unit in range(file.units):
            begins = {line[:1] for line in language.split(file.head(unit))}
            assert begins <= {b"G", b"M"}


def test_a_tool_that_is_changed_by_hand_is_named_again():
    """NIST IR 6556, 3.6.1: M0 waits until somebody starts the program again."""
    data = b"G21\nG0 Z6\n(pen)\nT1 M6\nM0\nG0 X1\nG1 Z-1 F300\nG0 Z6\nT2 M6\nM0\nG0 X2\nG1 Z-1\n"
    end = data.index(b"G0 Z6\nT2")
    assert b"T1" not in GCODE.state(data, end)  # it would be changed for nothing
    assert b"(pen)\nT1 M6\nM0\n" in GCODE.state(data[:end], end)
    assert b"(tool 2)\nT2 M6\nM0\n" in GCODE.state(data, len(data))


def test_a_resumed_job_does_not_hide_what_it_can_not_restore():
    """M106 is no word of NIST IR 6556; M48 is, and is restored."""
    data = b"G21\nM106 S9\nM48\nG0 X1\nM3\nG1 X9 F300\nM5\nG0 X2\nM3\nG1 X9\nM107\n"
    assert GCODE.not_restored(data, data.index(b"G0 X2")) == ("M106",)
    assert b"M48" in GCODE.state(data, data.index(b"G0 X2"))


@pytest.mark.parametrize(
    ("settings", "state"),
    [
        (b"IN;SP1;VS5,1;VS9,2;FS30,1;FS70,2;", b"IN;SP1;VS5,1;VS9,2;FS30,1;FS70,2;"),
        (b"IN;VS5,1;SP1;VS8;VS7,3;", b"IN;SP1;VS8;VS7,3;"),
        (b"IN;FS30;VS4;IN;SP1;VS8;", b"IN;SP1;VS8;"),
        (b"SP1;IN;PW.5,1;PW.3,2;", b"IN;PW.5,1;PW.3,2;"),
    ],
)
def test_each_pen_has_its_own_speed_and_force_again(settings, state):
    """HP 7550A manual: VS v, n and FS f, n are of pen n, without n of all; IN forgets all. PW w, n:
    the HP-GL/2 and HP RTL Reference Guide.
    """
    data = settings + b"PU0,0;PD1,1;PU2,2;PD3,3;PU;"
    assert HPGL.state(data, data.index(b"PU2")) == state


def test_a_pen_that_the_file_does_not_take_is_not_put_away():
    """HP 7550A manual: SP0 puts the pen away; a cutter's file often has no SP."""
    assert HPGL.lift_for(b"IN;VS5;", b"PU1,1;PD2,2;PU;") == b"PU;"
    assert HPGL.lift_for(b"IN;sp2;", b"PU1,1;PD2,2;PU;") == b"PU;SP0;"
    assert HPGL.lift_for(b"IN;", b"PU1,1;SP1;PD2,2;PU;") == b"PU;SP0;"


def test_a_machine_goes_back_to_the_height_at_which_it_rested():
    """A ramp that begins at Z1 would enter the stock elsewhere from the height of a travel."""
    stop = Stop((118.0, 64.0), False, 1.0, motion=b"G1")
    told = b"G21\nG90\nG0 Z5\nG0 X118.00000 Y64.00000\nG0 Z1.00000\nG1\n"
    assert GCODE.go_back(b"G21\nG90\nG0 Z5\n", stop) == told
    assert b"Z" not in GCODE.go_back(b"G21\nG90\nM5\n", Stop((1.0, 2.0), False))


@pytest.mark.parametrize("high", ["G0 Z30", "g0 z30.", "G0Z30 X1"])
def test_a_travel_of_a_resume_is_as_high_as_the_file_ever_lifts(tmp_path, high):
    """A clamp may stand between the machine and the stroke, over which the file lifts higher."""
    path = tmp_path / "clamp.ngc"
    stroke = "G0 X{0} Y9\nG1 Z-1 F600\nG1 X{0}5\n{1}\n"
    lifts = ["G0 Z5", "G0 Z5", "G0 Z5", high, "G0 Z5"]
    strokes = "".join(stroke.format(n + 1, lift) for n, lift in enumerate(lifts))
    path.write_text("G21\nG90\nG0 Z5\n" + strokes + "M2\n")
    with cut_file(path, GCODE, 0.025) as file:
        for unit in (1, 2):
            before, _, _ = file.head(unit).partition(b"X")
            assert re.findall(rb"Z([\d.]+)", before) in ([b"30"], [b"30."])
