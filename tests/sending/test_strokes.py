"""What a stroke of a file is: where it begins and ends, and what is sent with it."""

import itertools

import pytest
from plotout_gcode.words import words_of
from plotout_hpgl.decoding import decode

from plotout import plugins
from plotout.conversation import Account
from plotout.errors import UserError
from plotout.language import Stop
from plotout.sending.cutfile import cut_file
from plotout.sending.extent import extent
from plotout.sending.messages import messages
from plotout.sending.recover import Window, partly, possible

HPGL, GCODE = plugins.language("hpgl"), plugins.language("gcode")


RAMPS = (
    b"G21\nG90\nG0 Z5\nG0 X10 Y10\nG1 Z-1 F300\nG1 X20\nG1 X24 Z2\nG1 X28 Z-1\nG1 X32 Z2\n"
    b"G1 X36\nG1 X40 Z-1\nG2 X42 Y12 Z2 I0 J2\n(next)\nG0 Z5\nG0 X50 Y50\nG1 Z-1\nX60\n"
    b"X64 Y54 Z0.5\nG0 Z5\nM5\nM2\n"
)
"""NIST IR 6556, 3.5.2: G1 moves along all of its axes at once, so a feed that rises out of the
stock cuts until it passes Z0.
"""


def test_units_begin_with_the_tool_up():
    data = b"IN;SP1;PU0,0;PD10,0,10,10;PU5,5;PD;PU;SP2;PU9,9;PEabPU~~;PU;SP0;"
    starts = list(HPGL.unit_starts(data))
    units = [data[a:b] for a, b in zip(starts, [*starts[1:], len(data)], strict=True)]
    assert units == [b"PU0,0;PD10,0,10,10;", b"PU5,5;PD;", b"PU;SP2;PU9,9;PEabPU~~;", b"PU;SP0;"]


def test_gcode_units_begin_with_the_lift():
    data = b"G21\nF900\nG0 Z5\nG0 X1 Y1\nG1 Z-1\nG1 X9\nG0 Z5\nG0 X2\nG1 Z-1\nX3\nG0\nZ5\nM5\n"
    starts = list(GCODE.unit_starts(data))
    assert [data[s:].split(b"\n")[0] for s in starts] == [b"G0 Z5", b"G0 Z5", b"Z5"]


@pytest.mark.parametrize(("end", "strokes"), [(b"PU;SP0;", 2), (b"SP0;", 2), (b"", 2)])
def test_a_file_without_an_ending_loses_no_stroke_in_the_count(tmp_path, end, strokes):
    path = tmp_path / "a.plt"
    path.write_bytes(b"IN;SP1;PA;PU0,0;PD10,0;PU20,0;PD30,0;" + end)
    with cut_file(path, HPGL, 0.025) as file:
        assert file.strokes == strokes


@pytest.mark.parametrize(("text", "letters"), [(b"\x1b.I80;;17:", "I"), (b"\x1b.K\x1b.B", "BK")])
def test_what_controls_the_line_is_refused_in_a_file(text, letters):
    """HP 7550A manual: ESC . I sets the handshake, K discards what is held, B asks the room."""
    plot = b"IN;SP1;PA;PU0,0;PD10,0;PU;SP0;"
    said = list(HPGL.unsafe(b"\x1b.(" + text + plot, print))
    assert [words[6] for words in said] == list(letters)
    assert list(HPGL.unsafe(b"\x1b.(" + plot + b"\x1b.Y", print)) == []


def test_encoded_polyline_against_the_reference():
    """HP-GL/2 and HP RTL Reference Guide, PE: a value v is sent as 2v, or 2|v|+1 where negative,
    in base 64 from 63, the last digit from 191; worked by hand.
    """
    # 5 -> 10 -> one digit 191+10; -3 -> 7 -> 191+7; 100 -> 200 = 8 + 3*64 -> 63+8, 191+3
    data = b"<=" + bytes([201, 198]) + bytes([71, 194, 191]) + b";"
    assert list(decode(data, (0.0, 0.0))) == [(5.0, -3.0, False), (105.0, -3.0, True)]


def test_empty_and_foreign_files(tmp_path):
    for content, words in ((b"", "empty"), (b"hello there\n", "contains no work")):
        path = tmp_path / "file"
        path.write_bytes(content)
        with pytest.raises(UserError, match=words), cut_file(path, HPGL, 0.025):
            pass


@pytest.mark.parametrize("word", ["G41 D1", "G42"])
def test_compensation_of_the_path_is_refused(word):
    """NIST IR 6556, 3.5.10: G40 ends it, and is sent as a line without effect."""
    data = f"G21\nG0 X1\nM3\n{word}\nG1 X9 F300\nM5\nM2\n".encode()
    assert any("compensation" in words for words in GCODE.unsafe(data, lambda _at: None))


@pytest.mark.parametrize(
    ("work", "refused"),
    [
        (b"P D10,10;PU;", "'P'"),
        (b"PD10,10;P\nU0,0;PU;", "'P'"),
        (b"PD10,10;PU;S", "'S'"),
        (b"DT!;LBone!PD10,10;PU;", "'e'"),
        (b"pd 10 , 10 pu;\r\n", ""),
        (b"PD+.5,-.5PU;\x1b%0A", ""),
        (b"PD1,1PU;\x1b%-12345X@PJL JOB\n@PJL SET X=1\n\x1b%0BPU2,2PD3,3PU;", ""),
    ],
)
def test_letters_that_stand_apart_are_refused(work, refused):
    """An instruction is two letters (HP 7550A manual, syntax); blanks between them are read by
    some plotters only, and a label's text may look like anything.
    """
    said = list(HPGL.unsafe(b"IN;SP1;PU0,0;" + work, lambda _at: None))
    assert [words.split()[2] for words in said if "stands alone" in words] == [refused] * bool(
        refused
    )


@pytest.mark.parametrize(
    ("line", "sent"),
    [
        (b"N10 G0 X5", b"G0 X5"),
        (b"n 20g1 x9", b"g1 x9"),
        (b"G1X5N50", b"G1X5"),
        (b"G1 X4 (to N8) N9", b"G1 X4 (to N8) N9"),  # not where it belongs: as it is
        (b"M0 ; fit N 9", b"M0 ; fit N 9"),
        (b"N7", b""),
        (b"%", b""),
    ],
)
def test_a_files_own_line_numbers_are_not_sent(line, sent):
    """A control reports the number of the line that it works (`Ln:`, the interface notes): theirs
    would be taken for our count of strokes. N is for nothing else (NIST IR 6556, 3.2.1).
    """
    assert b"".join(GCODE.split(line + b"\n")).strip() == sent


def test_our_count_begins_with_the_first_line_that_is_sent(gcode_file):
    path, _ = gcode_file(5)
    with cut_file(path, GCODE, 0.01) as file:
        for unit in (0, 3):
            first = next(iter(messages(file, unit, marks=True)))
            assert (first.settles, first.data.startswith(b"N%d G17 G21 " % unit)) == (True, True)


@pytest.mark.parametrize("line", [b"G1 X9", b"g1 x9", b"S500 X9", b"I4 J0 X9"])
def test_our_count_is_sent_with_any_line_of_a_file(line):
    assert GCODE.counted(line + b"\n", 7) == b"N7 " + line + b"\n"


@pytest.mark.parametrize("name", ["gcode", "gcode-lines"])
def test_a_place_is_known_by_the_line_that_is_sent(name):
    """What is not sent does not count: empty lines, numbers alone, and `%` to machines in turn."""
    language = plugins.language(name)
    unit = b"\r\nN5\r\nG0 Z6\r\n \r\nG0 X5 Y6\r\n%\n(so)\r\nG1 X7 F300\r\n"
    sent = list(language.split(unit))
    stops = language.stops(unit, Stop((0.0, 0.0), False))
    assert [stop.at for stop in stops] == [(0.0, 0.0), (5.0, 6.0), (7.0, 6.0)]
    for stop, words in zip(stops, (b"Z6", b"X5", b"X7"), strict=True):
        assert words in sent[stop.line]


@pytest.mark.parametrize(
    ("program", "strokes"),
    [
        ("G1 Z5 F600!G1 X1 Y1!G1 Z-1!G1 X9!G1 Z5!G1 X2 Y2!G1 Z-1!G1 X9!G1 Z5!", 2),  # no G0 at all
        ("G0 Z5!X1 Y1!G0 Z1!G1 Z-1 F9!X9!G0 Z5!X2 Y2!G0 Z1!G1 Z-1!X9!G0 Z5!", 2),  # G0 that holds
        ("G0 Z0!M4!G0 X1 S0!G1 X9 S500 F9!G0 X2 S0!G1 X8 S500!G0 X3 S0!G1 X4 S9!M5!", 3),  # a focus
        ("G0 Z5!G0 X1!M3 S9!G1 X9 F9!M5!G0 X2!M3!X8!G1 X9!M5!", 2),
        ("G0 X0!M4!G1 X1 S0 F9!X2 S9!X3 S0!X4 S5!X5 S0!G1 X6 S9!M5!", 3),  # burns of a raster
        ("M5!G1 X1 F9!M3 S9!G1 X9!M5!G1 X2!M3!X8!M5!", 2),
    ],
)
def test_a_stroke_is_what_a_program_works_between_two_lifts(tmp_path, program, strokes):
    """Z above 0 is above the stock; in G0 laser mode gives a beam no power (the interface notes);
    a motion holds until another (NIST IR 6556, 3.5).
    """
    path = tmp_path / "strokes.nc"
    path.write_text(f"G21 G90!{program}M2!".replace("!", "\n"))
    with cut_file(path, GCODE, 0.01) as file:
        assert file.strokes == strokes


@pytest.mark.parametrize(
    ("arc", "centre"),
    [
        (b"G3 X0 Y10 I-10 J0", (0.0, 0.0)),
        (b"G3 X0 Y10 R10", (0.0, 0.0)),
        (b"G3 X0 Y10 R-10", (10.0, 10.0)),  # the longer one
        (b"G2 X0 Y10 R10", (10.0, 10.0)),
        (b"G2 X0 Y10 R-10", (0.0, 0.0)),
        (b"g2 x4 y6 i4 j-2", (4.0, -2.0)),  # after G90.1: from the origin
        (b"G2 X10 Y0 I5 J0", (15.0, 0.0)),
        (b"G2 X99 Y0 R10", None),
    ],
)
def test_a_machine_that_halts_on_an_arc_is_found_on_it(arc, centre):
    """NIST IR 6556, 3.5.3: I and J count from the start; a negative R is of the longer arc. Worked
    by hand: quarters about the origin, from (10, 0).
    """
    (stop,) = GCODE.stops(arc + b"\n", Stop((10.0, 0.0), False))
    assert stop.centre == (centre if centre is None else pytest.approx(centre))
    assert stop.clockwise is (arc[1:2] == b"2")


def test_a_full_circle_alone_is_a_stroke(tmp_path):
    path = tmp_path / "circles.nc"
    circle = "M5\nG0 X{0} Y5\nM3 S9\nG2 I{0} J0 F900\n"
    path.write_text("G21 G90\n" + "".join(map(circle.format, range(1, 6))) + "M5\nM2\n")
    with cut_file(path, GCODE, 0.01) as file:
        assert file.strokes == 5


@pytest.mark.parametrize(
    ("flags", "strokes"), [(b"<=", 2), (b"7<=", 2), (b">\xc1<=", 2), (b":\xc1<=", 2), (b"=<", 2)]
)
def test_a_polyline_may_lift_first_whatever_flags_it_begins_with(flags, strokes):
    """HP-GL/2 and HP RTL Reference Guide, PE: < lifts for the next pair; 7, > and : come before."""
    digits = b"".join(bytes([(95 if b"7" in flags else 191) + 2 * n]) for n in (3, 4, 5, 6))
    data = b"IN;SP1;PU;" + 2 * (b"PE" + flags + digits + b";") + b"PU;SP0;"
    # the PU begins the first; each polyline that lifts first begins the next
    assert len(list(HPGL.unit_starts(data))) == strokes + 1
    assert list(HPGL.doubtful(data, lambda _at: None)) == []


def test_strokes_within_one_polyline_are_doubtful():
    """They would be counted as one, where the sheet shows two."""
    pair = bytes([191 + 6, 191 + 8])
    data = b"IN;SP1;PU;PE<=" + pair + pair + b"<" + pair + pair + b";PU;SP0;"
    (words,) = HPGL.doubtful(data, lambda _at: None)
    assert "counted as one" in words


def test_inches_keep_their_digits_on_the_way_to_a_stroke():
    """An arc's two radii may differ by 0.0002 in (NIST IR 6556, 3.5.3.1)."""
    *_, there = GCODE.travels(b"G20\nG0 Z0.2\n", [(1.2, 0.7874)])
    assert dict(words_of(there)) == {b"G": b"0", b"X": b"1.20000", b"Y": b"0.78740"}


def test_a_count_that_the_file_ends_is_given_anew_at_once():
    """HP 7550A Interfacing and Programming Manual: IN and DF set P1 and P2 to their defaults. Given
    only at the stroke's end, the count would hide that a reset had come between.
    """
    unit = b"PU;IN;SP1;VS20;PU5,5;PD9,9;"
    assert HPGL.counted(unit, 9) == b"PU;IN;IP8,0,709,709;SP1;VS20;PU5,5;IP9,0;PD9,9;"
    encoded = b"PU;PE<=INDFPSIN;"  # letters of base 64, and no instructions
    assert b"IP8" not in HPGL.counted(encoded, 9)
    begun = b"PU;IN;IP8,0,709,709;SP1;VS20;PU5,5;"
    assert HPGL.parted(begun, b"PD9,9;", 6) == (b"IP6,0;", b"IP8,0;PD9,9;")


def test_a_ramp_out_of_the_stock_ends_its_own_stroke():
    starts = [*GCODE.unit_starts(RAMPS), len(RAMPS)]
    units = [RAMPS[a:b] for a, b in itertools.pairwise(starts)]
    firsts = [unit.split(b"\n")[0] for unit in units]
    assert firsts == [b"G0 Z5", b"G1 X28 Z-1", b"G1 X36", b"(next)", b"G0 Z5"]
    last, ends = Stop((0.0, 0.0), False), []
    for unit in units:
        stops = GCODE.stops(unit, last)
        last = stops[-1]
        ends.append((last.at, last.working, last.height))
    assert [(*at, z) for at, _, z in ends[:4]] == [
        (24, 10, 2), (32, 10, 2), (42, 12, 2), (64, 54, 0.5)
    ]  # fmt: skip
    assert [works for _, works, _ in ends] == [True, True, True, True, False]
    places, working = GCODE.reached(RAMPS, Stop((0.0, 0.0), False))
    assert places[working, 0].tolist() == [10, 20, 24, 28, 32, 40, 42, 50, 60, 64]


def test_a_stroke_that_ramps_down_is_resumed_at_the_height_where_it_begins(tmp_path):
    """From the height of travels it would enter the stock elsewhere."""
    path = tmp_path / "ramps.ngc"
    path.write_bytes(RAMPS)
    with cut_file(path, GCODE, 1.0) as file:
        for unit, place in ((1, b"X24.00000 Y10.00000"), (2, b"X32.00000 Y10.00000")):
            there = b"G21\nG90\nG0 Z5\nG0 " + place + b"\nG0 Z2.00000\n"
            assert there in file.head(unit)
    assert GCODE.begins_anywhere(b"M5\nG0 X1 Y2\nM3 S5\nG1 X2\n")


@pytest.mark.parametrize(
    ("x", "z", "done", "part"), [(21, -0.25, 0, True), (23, 1.25, 1, False), (26, 0.5, 1, False)]
)
def test_a_ramp_is_done_where_it_has_left_the_stock(tmp_path, x, z, done, part):
    """It passes Z0 at a third of its way from Z-1 to Z2."""
    path = tmp_path / "ramps.ngc"
    path.write_bytes(RAMPS)
    halted = Account(False, stands=True, at=(x, 10.0), height=z)
    with cut_file(path, GCODE, 1.0) as file:
        assert possible(file, halted, Window(0, 2)) == (done,)
        assert partly(file, halted, Window(0, 2), done) is part


def test_a_job_pauses_above_the_stock_and_not_after_a_ramp_down(tmp_path):
    """A stroke that begins with a ramp down has no lift: it is paused and counted before it."""
    path = tmp_path / "ramps.ngc"
    path.write_bytes(RAMPS)
    with cut_file(path, GCODE, 1.0) as file:
        sent = [one for one in messages(file, 0, marks=True) if one.line >= 0]
    height, rests, counts = 5.0, [], []
    for one in sent:
        rests += [height] if one.rests else []
        counts += [height] if one.done is not None else []
        height = float(dict(words_of(one.data)).get(b"Z", height))
    assert rests == [5, 2, 2, 2, 0.5]
    assert counts == [2, 2, 2, 0.5, 5]


def test_a_ramp_in_two_lines_is_not_resumed_from_where_the_tool_stands(tmp_path):
    """The second, which lies above the stock, may begin with the tool in it, and elsewhere."""
    path = tmp_path / "ramps.ngc"
    arc = b"G3 X20 Y16 Z0.5 I-2 J0\nG3 X10 Y24 Z2 I0 J8\n"
    for out in (b"G1 X20 Y16 Z0.5\nX10 Y24 Z2\n", arc):
        one = b"G0 X22 Y12\nG1 Z-1 F600\nX30\n" + out + b"G0 Z5\n"
        path.write_bytes(b"G21\nG90\nG0 Z5\n" + one + one.replace(b"Y12", b"Y13") + b"M5\nM2\n")
        with cut_file(path, GCODE, 1.0) as file:
            assert file.unit(1).startswith(out.splitlines()[1])
            there = b"G0 Z5\nG0 X20.00000 Y16.00000\nG0 Z0.50000\n"
            assert there in file.head(1)


def test_a_dot_of_a_beam_is_a_stroke(tmp_path):
    """M3 burns at a standstill, M4 does not: common practice of small controllers."""
    path = tmp_path / "dots.gcode"
    dot = "G0 X{} Y3\n{} S300\nG4 P0.05\nM5\n"
    line = "G0 X10 Y9\nM3 S300\nG1 X20 F900\nM5\n"
    head, end = "G21\nG90\nM5\n", "M2\n"
    for text, strokes in (
        (dot.format(1, "M3") + line + dot.format(2, "M3") + dot.format(3, "M3"), 4),
        (line + dot.format(1, "M4"), 1),
        (line.replace("G1", "G4 P0.2\nG1"), 1),  # it pierces first
    ):
        path.write_text(head + text + end)
        with cut_file(path, plugins.language("gcode"), 0.01) as file:
            assert file.strokes == strokes, text


def test_the_work_reaches_to_its_dots(tmp_path):
    path = tmp_path / "dots.gcode"
    dots = "".join(f"G0 X{x} Y{y}\nM3 S300\nG4 P0.05\nM5\n" for x, y in ((7, 80), (90, 5)))
    line = "G0 X10 Y9\nM3 S300\nG1 X20 F900\nM5\n"
    wide = (7, 5, 90, 80)
    for text, box in ((dots, wide), (dots + line, wide), (line, (10, 9, 20, 9))):
        path.write_text(f"G21\nG90\nM5\n{text}M2\n")
        with cut_file(path, plugins.language("gcode"), 0.01) as file:
            assert extent(file).box == box


def test_a_beam_over_its_dot_has_not_burnt_it_yet(tmp_path):
    """By definition of the words: G0 goes there, and what burns is the dwell. A dwell at the end of
    a line burns where that has burnt.
    """
    lines = ["G21", "G90", "M5", "G0 X5 Y5", "M3 S300", "G1 X9 F600", "G4 P0.3", "M5"]
    lines += ["G0 X40 Y30", "M3 S300", "G4 P0.3", "M5", "G0 X20 Y20", "M3 S300", "G4 P0.3", "M5"]
    path = tmp_path / "dots.nc"
    path.write_text("\n".join([*lines, "M2", ""]))
    with cut_file(path, plugins.language("gcode"), 0.01) as file:
        there = Account(True, fresh=False, at=(40.0, 30.0))
        assert possible(file, there, Window(1, 2, last=1)) == (1,)
        assert possible(file, there, Window(1, 2)) == (1, 2)
        after_line = Account(True, fresh=False, at=(9.0, 5.0))
        assert possible(file, after_line, Window(0, 1)) == (1,)
