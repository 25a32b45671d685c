"""Large files: read in parts, measured at once, told of meanwhile, and in bounded memory."""

import errno
import random

import numpy as np
import plotout_readback.gcode
import plotout_readback.hpgl
import pytest

from plotout import MachineError, Stop, UserError, job, plugins
from plotout.sending import cutfile, window
from plotout.sending.cutfile import cut_file
from plotout.sending.extent import extent
from plotout.sending.inspect import must_be_sound

HPGL, GCODE = plugins.language("hpgl"), plugins.language("gcode")
PLOTS = (
    b"IN;SP1;VS5;PU100,100;PD200,100,250,160,300,100;PU;PD400,400;PU20,20;PD;SP2;PU0,0;PD9,9;PU;",
    b"IN;SP1;PU100,100;PR;PD10,0,0,10,-10,0;PA;PU7,7;PD8,8;PU;SP0;",
    b"IN;SP1;PU100,100;PE=]]^`aa;PU3,3;PD4,4;PU;SP0;",
)
PROGRAMS = (
    b"G21\nG90\nM5\nG0 Z5\nG0 X1 Y1\nG1 Z-1 F300\nG1 X9.5 Y2\nG1 X9 Y3\nG0 Z5\nG0 X2 Y2\nG1 Z-1\n"
    b"G1 X3 Y3 F900\nX4 Y4\nX5 Y5\nG2 X6 Y6 I1 J0\nG0 Z5\nX0 Y0\nM2\n",
    b"G21\nG90\nS0\nG1 X1 Y1 F90\nM4 S9\nG1 X2 Y2\nX3\nY7\nM5\nG0 X0 Y0\nM2\n",
)


@pytest.mark.parametrize(
    ("module", "data", "machine"),
    [(plotout_readback.hpgl, data, "craft-cutter") for data in PLOTS]
    + [(plotout_readback.gcode, data, "gantry-knife") for data in PROGRAMS],
)
def test_parts_say_together_what_the_whole_says(monkeypatch, module, data, machine):
    profile = job.load_machine(machine)
    whole = module.read(data, profile)
    monkeypatch.setattr(module, "PART", 4)
    ends, parts = zip(*module.parts(data, profile), strict=True)
    assert len(parts) > 2
    assert list(ends) == sorted(ends)
    assert ends[-1] == len(data)
    ways = [[]]
    for traced in (traced for part in parts for traced in part.traced):
        if not traced.follows:
            ways.append([])
        new = traced.points[1:] if traced.follows else traced.points
        ways[-1].extend(map(tuple, new))
    strokes = [[]]
    for traced in whole.traced:
        if not traced.follows:
            strokes.append([])
        strokes[-1].extend(map(tuple, traced.points[1:] if traced.follows else traced.points))
    assert ways == strokes
    assert np.vstack([part.travels for part in parts]).tolist() == whole.travels.tolist()
    last = parts[-1]
    said = (last.ends_safe, last.unknown, last.notes, last.unsafe)
    assert said == (whole.ends_safe, whole.unknown, whole.notes, whole.unsafe)


@pytest.mark.parametrize(
    ("language", "data"), [(HPGL, d) for d in PLOTS] + [(GCODE, d) for d in PROGRAMS]
)
def test_places_reached_at_once_are_those_reached_stop_by_stop(language, data):
    starts = [*language.unit_starts(data), len(data)]
    units = data[starts[0] :]
    places, working = language.reached(units, Stop((0.0, 0.0), False))
    stops = language.stops(units, Stop((0.0, 0.0), False))
    assert places.tolist() == [list(stop.at) for stop in stops]
    assert working.tolist() == [stop.working for stop in stops]


def test_the_extent_holds_where_a_stroke_begins(tmp_path):
    path = tmp_path / "a.plt"
    path.write_bytes(b"IN;SP1;PU4000,0;PD2000,0;PU;SP0;")
    with cut_file(path, HPGL, 0.025) as file:
        assert extent(file).box == (50.0, 0.0, 100.0, 0.0)
        assert extent(file).length(file.units) == 50.0


def test_a_large_file_is_told_of_while_it_is_read(tmp_path, monkeypatch):
    monkeypatch.setattr(window, "TELL_EVERY", -1.0)
    monkeypatch.setattr(window, "WINDOW", 1 << 16)
    monkeypatch.setattr(plotout_readback.hpgl, "PART", 1 << 12)
    rng = random.Random(16)
    strokes = (f"PU{rng.randrange(9000)},100;PD{rng.randrange(9000)},200;" for _ in range(20_000))
    path, said = tmp_path / "a.plt", []
    path.write_text("IN;SP1;VS5;" + "".join(strokes) + "PU;SP0;")
    machine = job.load_machine("craft-cutter")
    must_be_sound(path, machine, HPGL, as_it_is=False, said=said.append, agreed=lambda _what: False)
    with cut_file(path, HPGL, 0.025, said.append) as file:
        extent(file, said.append)
    for begins in ("Looking through", "Reading", "Dividing", "Measuring"):
        shares = [words for words in said if words.startswith(begins) and words.endswith("% ...")]
        assert len(shares) >= 3, begins


def test_a_stroke_too_long_to_be_resumed_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(cutfile, "LONGEST", 1 << 20)
    path = tmp_path / "a.plt"
    path.write_bytes(b"IN;SP1;PU0,0;PD1,1;PU5,5;PD" + b"1,1," * 300_000 + b"2,2;PU;SP0;")
    with (
        pytest.raises(UserError, match="stroke 2 takes more than 1 MiB"),
        cut_file(path, HPGL, 0.025),
    ):
        pass


def test_a_long_list_of_pairs_is_read_piece_by_piece(monkeypatch):
    """An odd number of coordinates is still seen, wherever the pieces end."""
    monkeypatch.setattr(plotout_readback.hpgl, "_LONG", 64)
    machine = job.load_machine("craft-cutter")
    pairs = b",".join(b"%d,%d" % (100 + n, 200 + n) for n in range(500))
    whole = plotout_readback.hpgl.read(b"IN;SP1;PU0,0;PD" + pairs + b";PU;SP0;", machine)
    assert len(whole.traced[0].points) == 501
    assert whole.unknown == ()
    half = plotout_readback.hpgl.read(b"IN;SP1;PU0,0;PD" + pairs + b",7;PU;SP0;", machine)
    assert half.unknown == ("PD: half a pair of coordinates",)


def test_no_room_for_the_copy_that_is_sent(tmp_path, monkeypatch):
    """ENOSPC, as a full disk answers (write(2))."""
    path = tmp_path / "a.plt"
    path.write_bytes(b"IN;SP1;PU0,0;PD1,1;PU;SP0;")

    def full(*_files):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("shutil.copyfileobj", full)
    with pytest.raises(MachineError, match="no room for the copy"), cut_file(path, HPGL, 0.025):
        pass
