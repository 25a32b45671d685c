"""Long work on a roll: file by file, or advanced by the machine, it is the whole drawing.

The files are read by ezdxf's HP-GL/2 interpreter, which knows nothing of frames: each frame's part
is given to it by itself, and put where the roll had been advanced to.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from ezdxf.addons.hpgl2.backend import Backend
from ezdxf.addons.hpgl2.interpreter import Interpreter as EzdxfInterpreter
from ezdxf.addons.hpgl2.plotter import Plotter
from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands
from smallset import made as make_report
from smallset import run, small_set

from plotout import UserError, job, plugins
from plotout.geometry.strokes import Mark
from plotout.hookspecs import Interpreter
from plotout.machine import Calibration, Machine, profile
from plotout.machine.calibration import distortion
from plotout.sheet_job import SheetResult

LONG = {"Band": (160, 2600), "Front": (380, 540), "Pocket": (200, 220)}
WINDOW = 900.0
STEP = 0.025
KNIFE = """
title = "Roll knife"
kind = "knife"
driver = "gcode"
registration = false
[bed]
length = "10 m"
width = "610 mm"
roll = true
margins = "10 mm"
window = "900 mm"
[[tools]]
name = "pen"
number = 1
kind = "pen"
does = ["draw"]
speed = "200 mm/s"
depth = "0 mm"
[[tools]]
name = "blade"
number = 2
kind = "trailing blade"
does = ["cut", "punch", "score"]
speed = "60 mm/s"
depth = "1 mm"
offset = "0.5 mm"
"""


def roll(folder: Path, advance: str, driver: str = "hpgl2", polylines: str = "") -> Machine:
    """A roll plotter with a window of 900 mm."""
    (text,) = (path.read_text() for path in profile.shipped() if path.stem == "roll-plotter")
    text = text.replace('"36 in"', f'"610 mm"\nwindow = "900 mm"\nadvance = "{advance}"', 1)
    text = text.replace('title = "Roll plotter, "610 mm"', 'title = "Roll plotter"')
    text = text.replace('driver = "hpgl2"', f'driver = "{driver}"')
    text = text.replace('"encoded"\n', f'"{polylines or "absolute"}"\n')
    path = folder / "rolled.toml"
    path.write_text(text)
    return job.load_machine(str(path))


class Lines(Backend):
    """What is drawn, in plotter units."""

    def __init__(self) -> None:
        self.drawn: list[np.ndarray] = []

    def draw_polyline(self, properties, points) -> None:  # type: ignore[no-untyped-def]
        self.drawn.append(np.array([(p.x, p.y) for p in points]))

    def draw_paths(self, properties, paths, filled) -> None:  # type: ignore[no-untyped-def]
        raise AssertionError("nothing is filled")


def drawn(data: bytes) -> list[np.ndarray]:
    """What ezdxf says that a file draws, mm."""
    backend = Lines()
    interpreter = EzdxfInterpreter(Plotter(backend))
    head = b"" if data.startswith(b"\x1b") else b"\x1b%1BIN;"
    interpreter.run(hpgl2_commands(head + data))
    assert not interpreter.errors
    return [line * STEP for line in backend.drawn]


def whole(lines: list[np.ndarray]) -> shapely.Geometry:
    return shapely.union_all([shapely.LineString(line) for line in lines if len(line) > 1])


def same(one: shapely.Geometry, other: shapely.Geometry, within: float) -> bool:
    return bool(one.buffer(within).covers(other) and other.buffer(within).covers(one))


def meant(made: job.Made) -> shapely.Geometry:
    """The sheet's strokes as laid, without holes."""
    (each,) = made.results
    return whole([s.points for s in each.sheet.strokes])


def without_holes(lines: list[np.ndarray], made: job.Made) -> list[np.ndarray]:
    holes = shapely.union_all(
        [
            shapely.Point(s.points[0]).buffer(s.size / 2.0 + 0.1)
            for s in made.results[0].sheet.strokes
            if s.size
        ]
    )
    return [line for line in lines if not holes.covers(shapely.LineString(line))]


@pytest.mark.parametrize("polylines", ["absolute", "encoded"])
def test_by_hand_each_frame_has_a_file(tmp_path: Path, polylines: str) -> None:
    machine = roll(tmp_path, "by hand", polylines=polylines)
    made = job.plan(job.Request(job.read_set(small_set(tmp_path, LONG)), machine, seconds=0))
    (each,) = made.results
    assert not each.faults
    assert [name.rpartition("-frame-")[2] for name in each.files] == [
        "01.plt", "02.plt", "03.plt"
    ]  # fmt: skip
    assert len(each.program.advances) == 2
    at, lines = 0.0, []
    steps = [advance.by for advance in each.program.advances]
    for data, by in zip(each.files.values(), [*steps, 0.0], strict=True):
        frame = drawn(data)
        points = np.vstack(frame)
        assert points[:, 0].min() >= -STEP
        assert points[:, 0].max() <= WINDOW + STEP
        lines += [line + np.array([at, 0.0]) for line in frame]
        at += by
    assert same(whole(without_holes(lines, made)), meant(made), 0.02)
    files = list(each.files.values())
    assert [data.endswith(b"PG;\n") for data in files] == [False, False, True]
    labels = list(dict.fromkeys(each.program.stroke_labels))  # as each file's own strokes count
    counts = [len(re.findall(rb"PU-?\d+,-?\d+;|<", data)) for data in files]  # there, tool up
    wanted = [f"{k}:{n}" for k, count in enumerate(counts, 1) for n in range(1, count + 1)]
    assert labels == wanted
    assert each.program.strokes == sum(counts)
    (note,) = [text for text in made.warnings if "frames" in text]
    told = [float(step) for step in re.findall(r"by ([\d.]+) mm after", note)]
    if "after every frame but the last" in note:
        told *= 2
    assert told == pytest.approx(steps, abs=0.05)


@pytest.mark.parametrize(
    ("driver", "polylines"),
    [("hpgl2", "encoded"), ("hpgl2", "relative"), ("hpgl", "absolute"), ("hpgl", "relative")],
)
def test_the_machine_advances_by_its_own_frame(tmp_path: Path, driver: str, polylines: str) -> None:
    machine = roll(tmp_path, "automatic", driver, polylines)
    made = job.plan(job.Request(job.read_set(small_set(tmp_path, LONG)), machine, seconds=0))
    (each,) = made.results
    assert not each.faults
    assert [advance.by for advance in each.program.advances] == [WINDOW, WINDOW]
    parts = each.data.split(b"FR;")
    assert len(parts) == 3
    assert b"PS36000,24400;" in parts[0]  # a frame, not the whole roll
    lines = []
    for nth, part in enumerate(parts):
        assert part.rstrip().endswith((b"PU;", b"SP0;", b"PG;"))  # advanced with the pen up
        frame = drawn(part)
        points = np.vstack(frame)
        assert points[:, 0].min() >= -STEP
        assert points[:, 0].max() <= WINDOW + STEP
        lines += [line + np.array([nth * WINDOW, 0.0]) for line in frame]
    assert same(whole(without_holes(lines, made)), meant(made), 0.02)


def read_back(folder: Path) -> tuple[job.Made, SheetResult, Interpreter]:
    """Return a long job whose roll the machine advances, its sheet, and what reads its file."""
    machine = roll(folder, "automatic")
    made = job.plan(job.Request(job.read_set(small_set(folder, LONG)), machine, seconds=0))
    (each,) = made.results
    reader = plugins.interpreter_for(machine.driver)
    assert reader is not None
    return made, each, reader


def test_the_readers_see_the_whole_drawing_too(tmp_path: Path) -> None:
    made, each, reader = read_back(tmp_path)
    reading = reader.read(each.data, made.machine)  # as `plotout proof` reads it
    assert not reading.unknown
    lines = [traced.points for traced in reading.traced]
    assert same(whole(without_holes(lines, made)), meant(made), 0.02)
    assert max(line[:, 0].max() for line in lines) > 2.5 * WINDOW
    other = replace(made.machine, bed=replace(made.machine.bed, window=800.0))
    (fault,) = reader.read(each.data, other).unknown
    assert "a frame that differs" in fault
    other = replace(made.machine, bed=replace(made.machine.bed, window=None))
    (fault,) = reader.read(each.data, other).unknown
    assert "no window" in fault


def test_a_frame_that_is_lost_or_slips_is_found(tmp_path: Path) -> None:
    from plotout.proof import verify

    _, each, reader = read_back(tmp_path)
    once = each.data.replace(b"PU;FR;\n", b"", 1)
    twice = each.data.replace(b"FR;", b"FR;FR;", 1)
    down = each.data.replace(b"PU;FR;", b"PD;FR;", 1)
    for wrong in (once, twice, down):
        assert verify(each.program, each.sheet, wrong, reader)


@pytest.mark.parametrize("advance", ["by hand", "automatic"])
@pytest.mark.thorough
def test_what_the_machine_makes_is_true_when_it_is_calibrated(tmp_path: Path, advance: str) -> None:
    """Paper that comes out 0.8 % long, and leaning: what is made of the files is what was meant."""
    machine = roll(tmp_path, advance)
    machine = replace(machine, calibration=Calibration(1.008, 0.997, 0.2, "2026-04-11"))
    made = job.plan(job.Request(job.read_set(small_set(tmp_path, LONG)), machine, seconds=0))
    (each,) = made.results
    assert not each.faults
    frames = each.data.split(b"FR;") if advance == "automatic" else list(each.files.values())
    steps = [0.0, *(advance.by for advance in each.program.advances)]
    makes = distortion(machine.calibration)
    lines = []
    for data, at in zip(frames, np.cumsum(steps), strict=True):
        for line in drawn(data):
            assert line[:, 0].max() <= WINDOW + STEP
            lines.append((line + np.array([at, 0.0])) @ makes[:, :2].T)
    assert same(whole(without_holes(lines, made)), meant(made), 0.03)


def test_a_hole_across_a_joint_is_divided(tmp_path: Path) -> None:
    """The card's hole lies 20 mm below its upper end: a band of 906 mm has it at the joint."""
    machine = roll(tmp_path, "automatic")
    pieces = {"Band": (160, 1400)}
    path = small_set(tmp_path, pieces)
    first = job.plan(job.Request(job.read_set(path), machine, seconds=0))
    (hole,) = [s for s in first.results[0].sheet.strokes if s.size and s.card == "band"]
    bed = replace(machine.bed, window=float(hole.points[0, 0]) + 1.5)
    if bed.window < 200.0:
        bed = replace(bed, margins=(500.0, *bed.margins[1:]), window=500.0 + bed.window - 10.0)
    made = job.plan(job.Request(job.read_set(path), replace(machine, bed=bed), seconds=0))
    (each,) = made.results
    assert not each.faults
    at = bed.window
    (there,) = [s for s in each.sheet.strokes if s.size and s.card == "band"]
    assert abs(there.points[0, 0] - at) < there.size / 2.0
    parts = [whole(drawn(part)) for part in each.data.split(b"FR;")]
    ring = shapely.Point(there.points[0]).buffer(there.size / 2.0, quad_segs=64).exterior
    shifted = shapely.affinity.translate(parts[1], at)
    assert shapely.union_all([parts[0], shifted]).buffer(0.06).covers(ring)
    assert parts[0].bounds[2] <= at + STEP


def test_a_blade_keeps_within_the_window(tmp_path: Path) -> None:
    """Its pivot moves beside the line: frames are that much shorter; each is a G-code file."""
    path = tmp_path / "roll-knife.toml"
    path.write_text(KNIFE)
    machine = job.load_machine(str(path))
    made = job.plan(job.Request(job.read_set(small_set(tmp_path, LONG)), machine, seconds=0))
    (each,) = made.results
    assert not each.faults
    assert len(each.files) == 3
    for data in each.files.values():
        x = [float(value) for value in re.findall(r"X(-?[\d.]+)", data.decode())]
        assert min(x) >= -0.02
        assert max(x) <= WINDOW + 0.02
    assert b"frame 2 of 3" in each.more[0]


def test_the_roll_only_moves_forward(tmp_path: Path) -> None:
    """No frame's work comes after a later frame's; marks are on both sides of every joint."""
    machine = roll(tmp_path, "automatic")
    made = job.plan(job.Request(job.read_set(small_set(tmp_path, LONG)), machine, seconds=0))
    (each,) = made.results
    joints = np.cumsum([advance.by for advance in each.program.advances])
    frames = [
        int(np.searchsorted(joints + 1e-6, run.points[:, 0].max())) for run in each.program.runs
    ]
    assert frames == sorted(frames)
    assert set(frames) == {0, 1, 2}
    marks = [s for s in each.sheet.marks if s.mark is Mark.REGISTRATION]
    assert len(marks) == 8 * len(joints)
    for x in joints:
        near = [s for s in marks if abs(s.points[:, 0] - x).max() <= 4.0 + 1e-9]
        assert len(near) == 8
        assert sum(s.points[:, 0].max() <= x for s in near) == 4


@pytest.mark.thorough
def test_without_a_window_the_roll_goes_back_by_no_more_than_a_card(tmp_path: Path) -> None:
    """A whole set on a roll of 400 mm: work that is done is not gone back to."""
    machine = job.load_machine("roll-plotter")
    machine = replace(machine, bed=replace(machine.bed, width=400.0))
    pieces = {f"Part {n}": (150 + 10 * n, 230) for n in range(12)}
    made = job.plan(job.Request(job.read_set(small_set(tmp_path, pieces)), machine, seconds=0))
    (each,) = made.results
    assert each.sheet.width > 3 * 400.0
    longest = max(np.ptp(p.outline[:, 0]) for p in each.sheet.placed)
    reached = np.maximum.accumulate([run.points[:, 0].max() for run in each.program.runs])
    back = max(
        float(far - run.points[:, 0].min())
        for far, run in zip(reached, each.program.runs, strict=True)
    )
    assert back <= 400.0 + longest


def test_what_can_not_be_advanced_is_told(tmp_path: Path) -> None:
    path = tmp_path / "roll-knife.toml"
    path.write_text(KNIFE.replace('"900 mm"', '"900 mm"\nadvance = "automatic"'))
    with pytest.raises(UserError, match="can't have a roll advanced"):
        job.load_machine(str(path))
    path.write_text(path.read_text().replace('"gcode"', '"hpgl"'))
    with pytest.raises(UserError, match="out of reach at the ends of a frame"):
        job.load_machine(str(path))
    path.write_text(KNIFE.replace('window = "900 mm"', 'advance = "automatic"'))
    with pytest.raises(UserError, match="an automatic advance needs a window"):
        job.load_machine(str(path))
    path.write_text(KNIFE.replace("roll = true", "roll = false"))
    with pytest.raises(UserError, match="only a roll"):
        job.load_machine(str(path))
    stock = tmp_path / "stock.toml"
    stock.write_text('[[roll]]\nname = "p"\nwidth = "600 mm"\nlongest = "5 m"\nwindow = "500 mm"\n')
    roll(tmp_path, "automatic")
    words = ("--machine", tmp_path / "rolled.toml", "--stock", stock, "--out", tmp_path / "out")
    with pytest.raises(UserError, match="by 900 mm at a time, not by 500"):
        run(small_set(tmp_path, LONG), *words)


def test_every_file_is_written_and_told(tmp_path: Path) -> None:
    roll(tmp_path, "by hand")
    out = tmp_path / "out"
    told = make_report(
        small_set(tmp_path, LONG), "--machine", tmp_path / "rolled.toml", "--out", out
    )
    (sheet,) = told["sheets"]  # type: ignore[misc]
    assert len(sheet["files"]) == 3
    for name in sheet["files"]:
        assert (out / name).stat().st_size > 100
