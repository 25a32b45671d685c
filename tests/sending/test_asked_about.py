"""Work that only the user can vouch for: it begins at no place, or its cutter does not turn."""

from pathlib import Path

import pytest
from looking import seen

import plotout.machine

_PAIR = "\u0107\u0107"
_SHIPPED = Path(plotout.machine.__file__).parent / "shipped"


@pytest.mark.parametrize(
    ("first", "line"),
    [
        (["G0 Z5", "G1 Z-1 F600", "G1 X50 Y10"], 6),
        (["G0 Z5", "G0 X10", "G1 Z-1 F600", "G1 X50"], 7),
        (["G0 Z-1", "G0 X10 Y10"], 5),
        (["G0 Z5", "G1 X50 Y10 Z-1 F600"], 6),
        (["G0 Z5", "G0 Y10", "G2 X20 Z-1 I5 J5 F600"], 7),
        (["G0 Z5", "G0 X10 Y10", "G1 Z-1 F600", "G1 X50"], 0),
        (["G1 Z5 F900", "G1 X10 Y10", "G1 Z-1", "G1 X50"], 0),
        (["G0 X10", "G0 Y10", "G0 Z5", "G1 Z-1 F600", "G1 X50"], 0),
    ],
)
def test_work_before_the_first_place_is_asked_about(tmp_path, first, line):
    """By definition of the words: a move begins where the tool is, and that is not in the file."""
    lines = ["G21", "G17", "G90", "G94", *first, "G0 Z5", "M5", "M2", ""]
    told = [text for text in seen(tmp_path, lines).doubtful if "works before the file" in text]
    assert [text.partition(" works")[0] for text in told] == ([f"line {line}"] if line else [])


@pytest.mark.parametrize(
    ("plot", "sound"),
    [
        ("IN;SP1;PD1000,0,1000,1000;PU;SP0;", False),
        ("IN;SP1;PD;PA1000,0;PU;SP0;", False),
        ("IN;SP1;LBAB\x03;PU;SP0;", False),
        ("IN;SP1;PD;PU;PU1000,1000;PD2000,1000;PU;SP0;", False),
        ("IN;SP1;PU;PU1000,1000;PD;PU;PU;SP0;", True),
        ("IN;SP1;PE<" + _PAIR + _PAIR + ";PU;SP0;", False),
        ("IN;SP1;PE<=" + _PAIR + _PAIR + ";PU;SP0;", True),
        ("IN;SP1;PE>" + _PAIR[:1] + "<=" + _PAIR + _PAIR + ";PU;SP0;", True),
        ("IN;SP1;PU0,0;PD1000,0,1000,1000;PU;SP0;", True),
        ("IN;SP1;PA500,500;PD;PA1000,0;PU;SP0;", True),
        ("IN;SP1;PU;PA500,500;LBAB\x03;PU;SP0;", True),
    ],
)
def test_a_plot_that_begins_at_no_place_is_asked_about(tmp_path, plot, sound):
    """HP 7550A manual: IN leaves the pen where it is."""
    doubtful = seen(tmp_path, [plot], "x.plt", "craft-cutter").doubtful
    assert any("before it has said where" in text for text in doubtful) != sound


SPUN = ["M3 S800", "G0 X10 Y10", "G1 Z-1 F200", "G1 X50 Y10", "G0 Z5", "M5", "M2", ""]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("M3 S800", "S800"),
        ("M3 S800", "M3 S0"),
        ("M3 S800", "M3 S0.001"),
        ("M3 S800", "%M3 S800"),
        ("M3 S800", "M3"),
        ("M3 S800", "M3 S-5"),
        ("G1 X50 Y10", "M5\nG1 X50 Y10"),
        ("G1 X50 Y10", "S0\nG1 X50 Y10"),
        ("G1 X50 Y10", "G1 X50 Y10 M5"),
        ("G1 X50 Y10", "M5\nM3"),
        ("G1 X50 Y10", "M4\nG1 X50 Y10"),
        ("G0 Z5\nM5", "S0\nG0 Z5\nM5"),
        ("G0 Z5\nM5", "G0 Z5 S0\nM5"),
        ("G0 Z5\nM5", "G1 X60 Z1 M5\nG0 Z5\nM5"),
        ("G0 Z5\nM5", "M5\nG2 X60 Y20 Z1 R10\nG0 Z5\nM5"),
        ("G0 Z5\nM5", "S0\nG1 X60 Z1\nG0 Z5\nM5"),
        ("M3 S800\nG0 X10 Y10\nG1 Z-1 F200", "S800\nG0 X10 Y10\nG1 Z-1 F200\nM3"),
        ("M3 S800\nG0 X10 Y10\nG1 Z-1 F200\nG1 X50 Y10", "G0 X10 Y10\nG1 Z-1 F200"),
    ],
)
def test_a_cutter_that_does_not_turn_is_asked_about(tmp_path, old, new):
    """NIST IR 6556: M3 turns the spindle at S turns a minute, M5 stops it, and % marks the ends of
    a file, with nothing beside it. It may be turned on by hand, so its user may vouch for that; a
    pen in its place, on the stock's face, needs none.
    """
    begin = ["G21", "G17", "G90", "G94", "G0 Z5"]
    program = "\n".join([*begin, *SPUN])
    told = "its cutter is in the stock with the spindle off"
    assert seen(tmp_path, program.split("\n")).doubtful == ()
    turned = program.replace(old, new, 1).split("\n")
    assert any(
        told in text or "M3 or M4 with the tool in the stock" in text or "words after %" in text
        for text in seen(tmp_path, turned).doubtful
    )
    drawn = program.replace("M3 S800\n", "").replace("Z-1", "Z0")
    assert not any(told in text for text in seen(tmp_path, drawn.split("\n")).doubtful)


@pytest.mark.parametrize("on", [["M3 S800"], []])
def test_a_pen_with_the_spindle_on_is_asked_about(tmp_path, on):
    """NIST IR 6556: M6 stops the spindle; small controls leave it on, so that M5 must be said."""
    lines = ["G21", "G17", "G90", "G94", "G0 Z5", "T1 M6", "M0", *on]
    lines += ["G0 X10 Y10", "G1 Z0 F200", "G1 X50 Y10", "G0 Z5", "M5", "M2", ""]
    doubtful = seen(tmp_path, lines).doubtful
    assert any("works while the spindle does" in text for text in doubtful) == bool(on)


def test_a_beam_that_waits_under_m4_is_asked_about_where_lines_are_only_read(tmp_path):
    """M4's power follows the speed, and ends at a standstill: the interface notes of the most used
    open-source three-axis control, version 1.1. Firmwares of printers need not do so.
    """
    lines = ["G21", "G90", "M5", "G0 X9 Y9", "M4 S300", "G4 P0.2", "M5", "G0 X20", "M3 S300"]
    lines += ["G1 X30 F900", "M5", "M2", ""]
    profile, text = tmp_path / "beam.toml", (_SHIPPED / "laser.toml").read_text()
    for language in ("gcode", "gcode-lines"):
        profile.write_text(text.replace('language = "gcode"', f'language = "{language}"'))
        doubtful = seen(tmp_path, lines, machine=str(profile)).doubtful
        assert any("G4 after M4" in text for text in doubtful) == (language == "gcode-lines")


def test_a_dot_after_a_rapid_move_is_asked_about(tmp_path):
    """In laser mode a beam is off after G0 (the same notes, from memory)."""
    dot = ["M3 S300", "G4 P0.2", "M5"]
    for motion, told in ((["G1 F900"], False), ([], True)):
        lines = ["G21", "G90", "M5", "G0 X9 Y9", *motion, *dot, "M2", ""]
        doubtful = " ".join(seen(tmp_path, lines, machine="laser").doubtful)
        assert ("G4 after G0" in doubtful) == told


def test_a_dot_before_the_first_place_is_asked_about(tmp_path):
    lines = ["G21", "G90", "M5", "M3 S300", "G4 P0.2", "M5", "G0 X9 Y9", "M5", "M2", ""]
    told = seen(tmp_path, lines, machine="laser").doubtful
    assert any("line 5 works before the file has said where" in text for text in told)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("G0 Z5\nM5", "G0 Z0.001\nG0 X70 Y70\nG0 Z5\nM5", "only 0.001 mm above the stock"),
        ("G0 Z5\nM5", "G1 Z.1 F600\nG1 X70 Y70\nG0 Z5\nM5", "only 0.1 mm above the stock"),
        ("G0 Z5\nM5", "G1 Z.3 F600\nG1 X70 Y70\nG0 Z5\nM5", ""),
        ("G0 Z5\nM5", "G0 Z0.001\nM5", "ends only 0.001 mm above the stock"),
        ("G0 Z5\nM5", "G0 Z1\nG0 X70 Y70\nG0 Z5\nM5", ""),
        ("G1 X50 Y10", "P5\nG1 X50 Y10", "P without a code"),
        ("G0 Z5\nM5", "G0 Z5 P5\nM5", "P without a code"),
        ("M3 S800", "M3 S800 P2", "P without a code"),
        ("G1 X50 Y10", "G4 P0.5\nG1 X50 Y10", ""),
        ("G1 X50 Y10", "G64 P0.05\nG1 X50 Y10", ""),
        ("G1 X50 Y10", "G4 P-1\nG1 X50 Y10", "G4 P-1: not a time"),
        ("G1 X50 Y10", "R1\nG1 X50 Y10", "R without an arc"),
        ("G1 X50 Y10", "G1 X50 Y10 I5", "I without an arc"),
        ("G1 X50 Y10", "G2 X50 Y10 I20 J0", ""),
        ("M3 S800", "M3 S-5", "S-5: not a speed"),
    ],
)
def test_what_a_control_refuses_or_a_lift_that_hardly_is_one(tmp_path, old, new, words):
    """NIST IR 6556, 3.3.2.5 (P), 3.5.3 (arcs), 3.7.2 (S). A sheet isn't flat: from memory."""
    lines = "\n".join(["G21", "G17", "G90", "G94", "G0 Z5", *SPUN]).replace(old, new, 1).split("\n")
    doubtful = seen(tmp_path, lines).doubtful
    assert any(words in text for text in doubtful) if words else doubtful == ()
