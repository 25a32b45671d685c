"""What may be sent: files that can hurt are refused before a port is opened."""

from dataclasses import replace

import numpy as np
import pytest
from looking import seen

from plotout import Reading, Traced, UserError, job, plugins
from plotout.proof.repeats import Repeats
from plotout.sending.inspect import look, must_be_sound

ROUTER = [
    "(sheet 1)", "(machine router)", "G21", "G90", "G17", "G94", "M5", "G0 Z6", "T2 M6", "M0",
    "M3 S10800", "G0 X50 Y50", "G1 Z-1.1 F300", "G1 X150 F1500", "G1 Y150", "G1 X50", "G1 Y50",
    "G0 Z6", "M5", "M2", "",
]  # fmt: skip


def test_a_sound_file_is_sent(tmp_path):
    found = seen(tmp_path, ROUTER)
    assert (found.unsafe, found.doubtful) == ((), ())


@pytest.mark.parametrize("kept", range(13, 19))
def test_a_truncated_file_is_refused(tmp_path, kept):
    """Wherever it was cut off, it leaves the cutter down, or the spindle on, or has no end."""
    assert seen(tmp_path, [*ROUTER[:kept], ""]).unsafe


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("G1 X150 F1500", "G1 X1500 F1500", "off the bed"),
        ("G0 X50 Y50", "G0 X-50 Y50", "off the bed"),
        ("G1 Z-1.1 F300", "G1 Z-9 F300", "depth to 9"),
        ("G1 X150 F1500", "G1 X150 F15000", "feed to 250"),
        ("G1 X150 F1500", "G91\nG1 X100 F1500\nG90", "G91"),
        ("T2 M6", "T9 M6", "tool 9"),
        ("G1 Y150", "G0 Y150", "travels with the tool down"),
        ("G1 Y150", "G0 Y150 Z6\nG1 Z-1 F300", "travels with the tool down"),
        ("G1 Y150", "M0\nG1 Y150", "waits for somebody with the tool down"),
        ("G0 X50 Y50", "G20\nG0 X2 Y2\nG21", "changes from G20 to G21"),
        ("G1 Y150", "G4 P1\nG20\nG1 Y6\nG21", "changes from G20 to G21"),
        ("G1 Z-1.1 F300", "G1 Z-1.1 F1500", "down into the stock at 25 mm/s"),
        ("G1 Z-1.1 F300", "G1 Z3 F300\nF1500\nG1 Z-1.1", "down into the stock at 25 mm/s"),
        ("G1 Z-1.1 F300", "G1 X53 Z-1.1 F1500", "down into the stock at 23"),
        ("G1 Z-1.1 F300", "G0 Z-1.1\nF300", "down into the stock by a rapid move"),
        ("G1 Y150", "G0 G1 Y150", "line 15 has G0 and G1 together"),  # NIST IR 6556, 3.4
        ("G1 Y150", "G90 G91 Y150", "G90 and G91 together"),
        ("G1 Y150", "G4 S2\nG1 Y150", "G4 without P"),  # NIST IR 6556, 3.5.4
        ("G0 X50 Y50", "G0 G53 Z6\nG0 X50 Y50", "G53: a place of the machine's own"),
        ("G0 X50 Y50", "G81 X50 Y50 Z-1 R2 F200", "G81: a drilling cycle"),
    ],
)
def test_what_can_hurt_is_refused(tmp_path, old, new, words):
    lines = [new if line == old and nth > 6 else line for nth, line in enumerate(ROUTER)]
    assert any(words in text for text in seen(tmp_path, lines).unsafe)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("G1 Z-1.1 F300", "G1 X90 Z-1.1 F900"),  # 15 mm/s along, 2.6 down, of 5
        ("G1 Z-1.1 F300", "G1 Z1 F3000\nG1 Z-1.1 F300"),  # fast only in the air
        ("G1 Z-1.1 F300", "G0 Z0.5\nG1 Z-1.1 F300"),
    ],
)
def test_a_tool_that_goes_down_as_slowly_as_it_should_is_sent(tmp_path, old, new):
    """7.1 mm down along 40 mm at 15 mm/s is 15 * 7.1 / hypot(40, 7.1) mm/s."""
    lines = [new if line == old else line for line in ROUTER]
    assert seen(tmp_path, lines).unsafe == ()


@pytest.mark.parametrize("letter", "AB")
def test_an_axis_that_the_profile_does_not_have_is_doubtful(tmp_path, letter):
    lines = [f"G0 {letter}90" if line == "M0" else line for line in ROUTER]
    doubtful = seen(tmp_path, lines).doubtful
    assert any(f"the word {letter}, an axis that its profile" in text for text in doubtful)
    turned = seen(tmp_path, ["G0 A90 X5 Y5", *ROUTER[2:]], machine="gantry-knife").doubtful
    assert not any("the word A" in text for text in turned)


def test_made_for_another_machine_or_refused_by_its_proof(tmp_path):
    other = [line.replace("machine router", "machine laser") for line in ROUTER]
    assert "its header says that it is for 'laser'" in seen(tmp_path, other).doubtful[0]
    plot = ["IN;SP1;VS5;PU100,100;PD200,100;PU;SP0;"]
    named = seen(tmp_path, plot, "bk-01-roll-plotter-sheet-01.plt", "craft-cutter")
    assert "its name says that it is for 'roll-plotter'" in named.doubtful[0]
    assert seen(tmp_path, plot, "bk-01-craft-cutter-sheet-01.plt", "craft-cutter").doubtful == ()
    assert "failed its proof" in seen(tmp_path, ROUTER, "sheet.ngc.refused").unsafe[-1]


def test_a_plot_that_sets_its_own_scale_is_refused(tmp_path):
    plot = ["IN;SP1;IP0,0,1000,1000;SC0,10,0,10;VS5;PU1,1;PD2,1;PU;SP0;"]
    found = seen(tmp_path, plot, "x.plt", "craft-cutter")
    assert any("its own scale" in text for text in found.unsafe)


def test_what_is_not_understood_is_sent_only_when_its_user_says_so(tmp_path):
    path = tmp_path / "x.plt"
    path.write_text("IN;SP1;VS5;QQ7;PU100,100;PD200,100;PU;SP0;")
    machine, language = job.load_machine("craft-cutter"), plugins.language("hpgl")
    said = []

    def send(as_it_is, agreed):
        must_be_sound(path, machine, language, as_it_is=as_it_is, said=said.append,
                      agreed=lambda _question: agreed)  # fmt: skip

    with pytest.raises(UserError, match="not understood"):
        send(False, True)
    with pytest.raises(UserError, match="not sent"):
        send(True, False)
    send(True, True)
    assert any("QQ" in text for text in said)


def test_a_stroke_that_begins_in_relative_coordinates_is_refused(tmp_path):
    """Resumed there, it would be drawn from anywhere; within a stroke they do no harm."""
    plot = ["IN;SP1;VS5;PU100,100;PR;PD9,9;PU5,5;PD9,9;PA;PU;SP0;"]
    assert "PR: a stroke begins" in seen(tmp_path, plot, "x.plt", "craft-cutter").unsafe[0]
    plot = ["IN;SP1;VS5;PU100,100;PD;PR;PD9,9;PA;PU50,50;PD9,9;PU;SP0;"]
    assert seen(tmp_path, plot, "x.plt", "craft-cutter").unsafe == ()


@pytest.mark.parametrize("end", ["M2", "M30", "M2\n%\n%"])
def test_work_after_the_end_is_refused(tmp_path, end):
    """RS274/NGC ends a program there, but controls that are fed by line go on (common practice)."""
    ended = [*ROUTER[:-2], *end.split("\n")]
    assert seen(tmp_path, [*ended, "G0 Z6", "G1 X60 Y60 Z-30 F9000", ""]).unsafe == (
        "work follows the program's end (M2 or M30)",
    )
    assert seen(tmp_path, [*ended, "", "%", "(done)", "; at last", ""]).unsafe == ()


def test_a_line_that_most_controls_refuse_is_doubtful(tmp_path):
    """Source: lines of at most about 70 to 80 bytes, by the public interface notes of such
    controls; a comment and spaces are no part of them (common practice, from memory).
    """
    long = "G1 X150.000000000000 Y150.000000000000 Z-1.10000000000000 F1500.0000000000000 (along)"
    lines = [*ROUTER[:-3], long, *ROUTER[-3:]]
    assert any("characters" in text for text in seen(tmp_path, lines).doubtful)
    lines = [*ROUTER[:-3], f"G1 Y140 ({80 * '-'})  {80 * ' '}", *ROUTER[-3:]]
    assert seen(tmp_path, lines).doubtful == ()


def test_marks_of_an_editor_are_no_work(tmp_path):
    """A byte order mark is refused by its name; an old end of text does no harm."""
    assert "byte order mark" in seen(tmp_path, ["\ufeff" + ROUTER[0], *ROUTER[1:]]).unsafe[0]
    assert seen(tmp_path, [*ROUTER, "\x1a"]).unsafe == ()


def test_lines_that_end_by_cr_alone_are_named(tmp_path):
    path = tmp_path / "old.ngc"
    path.write_bytes("\r".join(ROUTER).encode())
    found = look(path, job.load_machine("router"), plugins.language("gcode"), ["router"])
    assert "end by CR alone" in found.unsafe[0]


def test_a_line_that_only_some_machines_leave_out_is_doubtful(tmp_path):
    """RS274/NGC, block delete: a switch of the machine decides."""
    lines = [*ROUTER[:-3], "/G1 X60 Y60 Z-30", *ROUTER[-3:]]
    assert any("leaves out" in text for text in seen(tmp_path, lines).doubtful)


def test_a_job_that_is_there_twice_is_doubtful(tmp_path):
    job_ = ROUTER[4:-2]
    twice = seen(tmp_path, [*ROUTER[:4], *job_, *job_, "M2", ""])
    assert twice.unsafe == ()
    assert twice.doubtful == ("all of its work is there more than once (1 of 2 strokes again)",)
    plot = "PU100,100;PD200,100,200,200;PU300,300;PD300,400;"
    back = "PU200,200;PD200,100,100,100;PU300,400;PD300,300;"  # HP-GL: the same lines backwards
    for again in (plot, back, "PU;IN;SP1;VS5;" + plot):
        found = seen(tmp_path, [f"IN;SP1;VS5;{plot}{again}PU;SP0;"], "x.plt", "craft-cutter")
        assert "2 of 4 strokes again" in found.doubtful[0]
    more = "PU500,100;PD600,100;PU500,200;PD600,200;PU500,300;PD600,300;"
    found = seen(tmp_path, [f"IN;SP1;VS5;{plot}{plot}{more}PU;SP0;"], "x.plt", "craft-cutter")
    assert found.doubtful == ()
    assert found.notes == ("2 of 7 strokes are there more than once, in the same place",)


def test_a_tool_with_passes_does_its_lines_as_often(tmp_path):
    machine = job.load_machine("craft-cutter")
    tools = tuple(replace(tool, passes=2) for tool in machine.tools)
    path = tmp_path / "x.plt"
    for times, doubtful in ((2, 0), (4, 1)):
        path.write_text(f"IN;SP1;VS5;{'PU100,100;PD200,100,200,200;' * times}PU;SP0;")
        found = look(path, replace(machine, tools=tools), plugins.language("hpgl"), [])
        assert len(found.doubtful) == doubtful


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("PU1,1;PD2,1;PU;PG;PU1,9;PD2,9;PU;SP0;", "PG"),
        ("PU1,1;PD2,1;PU;SP0;PG;RP2;", "RP"),
        ("PU1,1;PD2,1;PU;SP0;PG;", ""),
    ],
)
def test_another_sheet_is_no_part_of_a_job(tmp_path, text, words):
    """HP-GL/2: PG ejects the sheet; RP plots it again."""
    doubtful = seen(tmp_path, ["IN;SP1;VS5;" + text], "x.plt", "craft-cutter").doubtful
    assert [words in one for one in doubtful] == [True] * bool(words)


def test_what_was_not_understood_is_named_where_nothing_is_left(tmp_path):
    """A file of lines with numbers and checksums, as some senders keep them (common practice)."""
    lines = [f"N{number} {line}*71" for number, line in enumerate(ROUTER[2:-1])]
    assert any("'*71'" in text for text in seen(tmp_path, lines).unsafe)


def test_a_nul_within_a_number_is_not_read_over(tmp_path):
    lines = [line.replace("X150", "X15\x000") for line in ROUTER]
    assert any("not" in text or "block" in text for text in seen(tmp_path, lines).doubtful)
    assert seen(tmp_path, ["\x00\x00" + ROUTER[0], *ROUTER[1:], "\x00\x00"]).doubtful == ()


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("G4 P60", "stays for over 2 s of 10 s about one place"),
        ("G4 P1.9\nG4 P1.9", "stays for over 2 s of 10 s about one place"),
        ("M0", "waits for somebody"),
        ("G4 P0.5\nG4 P0.5", "works before it first lifts"),
    ],
)
def test_a_beam_that_is_on_while_nothing_moves_is_refused(tmp_path, line, words):
    """M3 burns at a standstill; M4 does not (the interface notes: its power follows the speed)."""
    lines = ["G21", "G90", "G17", "M3 S300", line, "G0 X50 Y50", "G1 X60 F900", "M5", "M2", ""]
    unsafe = seen(tmp_path, lines, machine="laser").unsafe
    assert any(words in text for text in unsafe)
    lines[3] = "M4 S300"
    assert seen(tmp_path, lines, machine="laser").unsafe == ()


@pytest.mark.parametrize("on", ["M3", "M4"])
def test_a_beam_that_hardly_moves_is_refused(tmp_path, on):
    """F2 is 2 mm a minute: 30 s a millimetre, at full power once the speed is reached."""
    lines = ["G21", "G90", "G17", "M5", "G0 X50 Y50", f"{on} S300", "G1 X60 F2", "M5", "M2", ""]
    assert "its beam moves at 0.033 mm/s only" in seen(tmp_path, lines, machine="laser").unsafe
    lines[6] = "G1 X60 F60"
    assert seen(tmp_path, lines, machine="laser").unsafe == ()


def test_a_dwell_that_nobody_waits_for_is_doubtful(tmp_path):
    lines = ["G4 P3600" if line == "G94" else line for line in ROUTER]
    assert "not understood: G4: it waits for 3600 s" in seen(tmp_path, lines).doubtful
    lines = ["G4 P30" if line == "G94" else line for line in ROUTER]
    assert seen(tmp_path, lines).doubtful == ()


@pytest.mark.parametrize("end", ["M2", "m30", "N90 M02", "M2\n%"])
def test_the_last_line_needs_no_line_end(tmp_path, end):
    assert ROUTER[-2:] == ["M2", ""]
    assert seen(tmp_path, [*ROUTER[:-2], end]).unsafe == ()
    assert seen(tmp_path, [*ROUTER[:-2], "M3"]).unsafe  # what is left of M30


def test_a_coordinate_system_that_a_reset_ends_is_refused(tmp_path):
    """G54 is in force after a reset (the interface notes)."""
    lines = ["G55" if line == "G94" else line for line in ROUTER]
    assert any("G55: another zero" in words for words in seen(tmp_path, lines).unsafe)
    lines = ["G54" if line == "G94" else line for line in ROUTER]
    assert seen(tmp_path, lines).unsafe == ()


def test_a_circle_without_its_end_is_doubtful(tmp_path):
    """NIST IR 6556, 3.5.3.2, asks for X or Y; some controls work a whole circle without."""
    lines = ["G2 I5 J0" if line == "G1 X150 F1500" else line for line in ROUTER]
    assert lines != ROUTER
    doubtful = seen(tmp_path, lines).doubtful
    assert "not understood: an arc that does not say where it ends" in doubtful


def test_work_before_the_first_lift_is_refused(tmp_path):
    """It belongs to no stroke: it would be cut again with every resume, and never be counted."""
    plot = "IN;SP1;VS5;PU400,400;PD800,400;PU;SP0;"
    for first in ("PD5000,5000;", "PD;", "IN;SP1;VS5;PA700,800;PD;"):
        unsafe = seen(tmp_path, [first + plot], "x.plt", "craft-cutter").unsafe
        assert any("works before it first lifts its tool" in text for text in unsafe), first
    sound = seen(tmp_path, [plot], "x.plt", "craft-cutter")
    assert (sound.unsafe, sound.notes) == ((), ())


@pytest.mark.parametrize("halt", ["M0", "M1", "T1 M6", "T1 M6\nM0"])
def test_a_stop_for_somebody_with_the_spindle_on_is_refused(tmp_path, halt):
    """Whoever changes a tool reaches for the spindle. Common practice: M5 before it. A machine that
    changes its tools itself stops it (NIST IR 6556, M6).
    """
    at = ROUTER.index("M5", ROUTER.index("M3 S10800"))
    lines = [*ROUTER[:at], halt, *ROUTER[at:]]
    assert any("with the spindle on" in text for text in seen(tmp_path, lines).unsafe)
    lines = [*ROUTER[:at], "M5", halt, *ROUTER[at:]]
    assert seen(tmp_path, lines).unsafe == ()


@pytest.mark.parametrize(
    ("line", "sound"),
    [
        ("M5 M0", True),  # the spindle stops first, and the program last
        ("T1 M6 M3 S800", True),  # the tool is changed first
        ("G0 Z7 M3 S800 M0", False),
        ("M3 S800 M6", True),
    ],
)
def test_the_words_of_a_line_act_in_their_order(tmp_path, line, sound):
    """NIST IR 6556, table 8, whatever their order in the line."""
    at = ROUTER.index("M5", ROUTER.index("M3 S10800"))
    before = ["M5"] if "M3" in line else []
    lines = [*ROUTER[:at], *before, line, *ROUTER[at:]]
    unsafe = seen(tmp_path, lines).unsafe
    assert any("waits for somebody" in text for text in unsafe) != sound, unsafe


def test_a_stop_in_the_line_that_lifts_comes_after_it(tmp_path):
    """The same table: a line's stop is the last of all."""
    lines = ["G21", "G17", "G90", "G94", "G0 Z5", "G0 X9 Y9", "M3 S800", "G1 Z-1 F200"]
    lines += ["G1 X20", "G0 Z5 M5 M0", "M2", ""]
    assert not any("tool down" in text for text in seen(tmp_path, lines).unsafe)
    lines[-3] = "G1 X30 M0"
    assert any(
        "tool down" in text
        for text in seen(tmp_path, [*lines[:-2], "G0 Z5", "M5", "M2", ""]).unsafe
    )


def test_a_dot_before_the_beam_is_first_switched_off_is_refused(tmp_path):
    """A feed with the beam off goes there, so that no rapid move comes before it."""
    lines = ["G21", "G90", "G1 X30 Y40 F3000", "M3 S300", "G4 P.3", "M5", "M2"]
    unsafe = " ".join(seen(tmp_path, lines, machine="laser").unsafe)
    assert "works before it first lifts" in unsafe
    assert seen(tmp_path, [*lines[:2], "G0 X30 Y40", *lines[3:]], machine="laser").unsafe == ()


def test_a_plot_without_a_speed_is_told(tmp_path):
    plot = "IN;SP1;PU400,400;PD800,400;PU;SP0;"
    found = seen(tmp_path, [plot], "x.plt", "craft-cutter")
    assert found.unsafe == ()
    assert "the machine's own speed holds" in found.notes[0]


@pytest.mark.parametrize("byte", [5, 6, 17, 19])
def test_a_plot_with_the_bytes_of_a_handshake_is_refused(tmp_path, byte):
    """In a label or a comment: ENQ, ACK, XON, XOFF (ISO/IEC 646)."""
    plot = f'IN;SP1;VS5;CO "{chr(byte)}";PU100,100;PD200,100;PU;SP0;'
    assert f"byte {byte}: it controls" in seen(tmp_path, [plot], "x.plt", "craft-cutter").unsafe[0]


@pytest.mark.parametrize(
    ("plot", "words"),
    [
        ("IN;SP1;VS5;PU100,100;PD200,100;\x1bEIN;SP1;VS5;PU300,100;PD400,100;PU;", "ESC E"),
        ("IN;SP1;VS5;PU400,400;CI200;PU;", "CI: work that is not followed"),
        ("IN;SP1;VS5;PU400,400;PD;AA500,400,90;PU;", "AA: work that is not followed"),
        ("\x1bE\x1b%0BIN;SP1;VS5;PU100,100;PD200,100;PU;\x1b%0A\x1bE", ""),
    ],
)
def test_what_a_plotter_does_by_itself_can_not_be_counted(tmp_path, plot, words):
    """HP-GL/2: ESC E resets; CI, AA draw arcs, and leave the pen where a sender doesn't know."""
    unsafe = seen(tmp_path, [plot], "x.plt", "craft-cutter").unsafe
    assert [words in text for text in unsafe] == [True] * bool(words)


@pytest.mark.parametrize(
    ("plot", "words"),
    [
        ("PU400,400;MC1;PD800,400;PU;", "MC: not followed"),
        ("PU400,400;MC0;PD800,400;PU;", ""),
        ("SM+;PU400,400;PD800,400;PU;", "SM: the machine's own sign"),
        ("SM;PU400,400;PD800,400;PU;", ""),
        ("PU400,400;PE<=\x01\xbf\xbf;PD800,400;PU;", "PE: invalid characters"),
        ("PU400,400;PE<=\r\n\xbf\xbf;PD800,400;PU;", ""),
    ],
)
def test_what_a_plotter_refuses_is_doubtful(tmp_path, plot, words):
    """HP-GL/2: MC mixes inks; between the digits of PE only blanks are passed over."""
    doubtful = seen(tmp_path, ["IN;SP1;VS5;" + plot], "x.plt", "craft-cutter").doubtful
    assert [words in text for text in doubtful] == [True] * bool(words)


@pytest.mark.parametrize(
    ("plot", "refused"),
    [
        ("LT2,4;", True),
        ("LT2;", True),
        ("LT-3,5,0;", True),
        ("LT2,4,1;", False),
        ("LT;", False),
        ("LT0;", False),
        ("LT99;", False),
        ("WU1;PW0.5;", True),
        ("WU0;PW0.5;", False),
        ("SR;", True),
        ("DR0,1;", True),
        ("DR;", False),
    ],
)
def test_what_is_sized_by_the_scaling_points_is_refused(tmp_path, plot, refused):
    """The count of strokes is kept there: dashes came out twelve times too short. HP-GL/2, from
    memory: which of LT, WU, SR and DR are shares of the distance from P1 to P2.
    """
    plot = ["IN;SP1;VS5;", plot, "PU400,400;PD800,400;PU;SP0;"]
    unsafe = seen(tmp_path, plot, "x.plt", "craft-cutter").unsafe
    assert ["scaling points" in text for text in unsafe] == [True] * refused


def test_a_tool_that_rises_above_the_profile_is_doubtful(tmp_path):
    lines = [line.replace("Z6", "Z500") for line in ROUTER]
    assert lines != ROUTER
    assert any("Z rises above 'up'" in text for text in seen(tmp_path, lines).doubtful)


def test_a_plot_in_small_letters_is_counted_like_any(tmp_path):
    """HP-GL: the case of an instruction's letters does not matter; IN sets the points itself."""
    language = plugins.language("hpgl")
    assert language.opened(b"in;pa;", 3) == b"in;IP3,0,704,709;pa;"
    assert language.opened(b"INSP1;", 3) == b"INIP3,0,704,709;SP1;"
    assert language.counted(b"pu1,2;pd3,4,5,6;", 3) == b"pu1,2;PD3,4;IP3,0;PD5,6;"
    assert len(list(language.unit_starts(b"in;pu1,2;pd3,4;pu5,6;pe<=ab;pu;"))) == 3


def test_a_stroke_read_in_parts_is_one(tmp_path):
    """A reading is handed over in parts; the boundary falls within a stroke."""
    machine = job.load_machine("craft-cutter")
    line = np.array([[float(n), 0.0] for n in range(9)])
    first, rest = Traced(line[:5], 1), Traced(line[4:], 1, follows=True)
    whole = Traced(line, 1)
    for parts in ([[first], [rest], [whole]], [[whole], [first], [rest]], [[first, rest, whole]]):
        again = Repeats(machine)
        for part in parts:
            again.add(Reading(tuple(part), ends_safe=False))
        assert "1 of 2 strokes" in again.words()
