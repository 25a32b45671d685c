"""Print then cut: through the fit of its marks every cut lands where the sheet really lies.

The expected places are the given transform's, worked out here from the printed sheet; what is cut
is read back from the machine's file.
"""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from smallset import run, small_set

from plotout import UserError, job, plugins
from plotout.cli.marks_command import marks as marks_command
from plotout.geometry.polyline import moved
from plotout.geometry.strokes import Work
from plotout.layout import EarlierLay, load_lay, load_stock
from plotout.layout.registration.fit import fit_marks
from plotout.layout.registration.mark_file import load_marks
from plotout.layout.registration.registered import mirrored

STOCK = '[[sheet]]\nname = "card"\nlength = "600 mm"\nwidth = "450 mm"\n'


def transform(turn: float, scale: float, x: float, y: float, mirror: float = 1.0) -> np.ndarray:
    c, s = np.cos(np.radians(turn)) * scale, np.sin(np.radians(turn)) * scale
    return np.array([[c * mirror, -s, x], [s * mirror, c, y]])


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The set laid for the gantry on a sheet of card; its folder."""
    folder = tmp_path_factory.mktemp("printed")
    path = small_set(folder)
    (folder / "stock.toml").write_text(STOCK)
    out = ("--machine", "gantry-knife", "--stock", folder / "stock.toml", "--out", folder)
    assert run(path, *out).exit_code == 0
    return folder


def fill_in(folder: Path, matrix: np.ndarray, target: Path, off: float = 0.0) -> Path:
    """Write what a user measures; the last mark is wrong by `off` mm."""
    rows = list(csv.reader((folder / "apron-ap-1-m-gantry-knife-sheet-01-marks.csv").open()))
    lines = [", ".join(cell.strip() for cell in rows[0])]
    for nth, row in enumerate(rows[1:]):
        x, y = moved(np.array([[float(row[1]), float(row[2])]]), matrix)[0]
        x += off if nth == 3 else 0.0
        lines.append(f"{row[0]}, {row[1]}, {row[2]}, {x:.4f}, {y:.4f}")
    target.write_text("\n".join(lines))
    return target


def plain(machine: str) -> job.Machine:
    """The machine without overcuts: then what it cuts is the outline and nothing else."""
    loaded = job.load_machine(machine)
    tools = tuple(replace(tool, overcut=0.0, corner_overcut=0.0, kerf=0.0) for tool in loaded.tools)
    return replace(loaded, tools=tools)


def cut_lines(machine: job.Machine, made: job.Made) -> shapely.Geometry:
    """All that the machine's file goes along with the tool down."""
    (each,) = made.results
    assert not each.faults
    interpreter = plugins.interpreter_for(machine.driver)
    assert interpreter is not None
    traced = interpreter.read(each.data, machine).traced
    lines, last = [], None
    for part in traced:
        points = part.points if not part.follows or last is None else np.vstack([last, part.points])
        last = part.points[-1:]
        if len(points) > 1:
            lines.append(shapely.LineString(points))
    return shapely.union_all(lines)


@pytest.mark.parametrize(
    ("machine", "matrix"),
    [
        pytest.param(  # as a shrunk print
            "gantry-knife", transform(0.4, 0.997, 60.0, 40.0), marks=pytest.mark.thorough
        ),
        ("gantry-knife", transform(90.0, 1.002, 700.0, 30.0)),  # laid the other way
        pytest.param(  # its second side
            "gantry-knife",
            transform(-0.3, 1.0, 700.0, 50.0, mirror=-1.0),
            marks=pytest.mark.thorough,
        ),
        ("svg-file", transform(0.4, 0.997, 60.0, 40.0)),  # a second machine, with the same lay
    ],
)
def test_every_cut_lands_where_the_sheet_lies(
    printed: Path, tmp_path: Path, machine: str, matrix: np.ndarray
) -> None:
    lay = load_lay(printed / "apron-ap-1-m-gantry-knife-lay.json")
    over = np.linalg.det(matrix[:, :2]) < 0
    names, meant, found = load_marks(fill_in(printed, matrix, tmp_path / "m.csv"))
    fit = fit_marks(meant * [-1.0 if over else 1.0, 1.0], found, names=names)
    there = mirrored(fit.matrix) if over else fit.matrix
    cutter = plain(machine)
    pattern_set = job.read_set(printed / "set.toml")
    again = EarlierLay(lay, 1, there)
    made = job.plan(job.Request(pattern_set, cutter, seconds=0, works=(Work.CUT,), earlier=again))
    cut = cut_lines(cutter, made)
    assert {placed.card.id for placed in made.sheets[0].placed} >= {"front", "back", "collar"}
    wanted = [
        shapely.LineString(moved(stroke.points, matrix))
        for placed in made.sheets[0].placed
        for stroke in placed.strokes
        if stroke.work is Work.CUT
    ]
    assert len(wanted) >= 5
    for line in wanted:
        assert cut.buffer(0.02).covers(line)
    assert shapely.union_all(wanted).buffer(0.02).covers(cut)


def test_it_is_told_and_nothing_else_is_done(printed: Path, tmp_path: Path) -> None:
    marks = fill_in(printed, transform(0.2, 1.0, 50.0, 40.0), tmp_path / "m.csv")
    lay = printed / "apron-ap-1-m-gantry-knife-lay.json"
    done = run(
        printed / "set.toml", "--machine", "gantry-knife", "--lay", lay, "--found", marks,
        "--work", "cut", "--out", tmp_path / "out",
    )  # fmt: skip
    assert "Shifted by x +50.00 mm, y +40.00 mm; turned by +0.200 degrees" in done.output
    assert "Fitted by shift and turn" in done.output
    assert "Scale" not in done.output
    assert "upper left: off by 0.00 mm; 0.00 mm from where the others place it" in done.output
    assert "If one mark is wrong, it is so by 0.00 mm at the most." in done.output
    names = {path.name for path in (tmp_path / "out").iterdir()}
    stem = "apron-ap-1-m-gantry-knife-cut-found-sheet-01"
    files = {f"{stem}{suffix}" for suffix in (".ngc", ".svg", ".png")}
    assert names == files | {"plotout-files.json"}


def test_too_few_marks_to_check_are_told(printed: Path, tmp_path: Path) -> None:
    """Three marks and a stretched sheet: an affine fit has nothing left to say what is wrong."""
    matrix = np.array([[1.004, 0.0, 50.0], [0.0, 1.0, 40.0]])
    marks = fill_in(printed, matrix, tmp_path / "m.csv")
    marks.write_text("\n".join(marks.read_text().splitlines()[:-1]))
    words = (str(marks), "--json")
    with pytest.raises(UserError, match="Three marks can't distinguish a wrong one"):
        CliRunner().invoke(marks_command, words, catch_exceptions=False)
    done = CliRunner().invoke(marks_command, (*words, "--allow", "shear"), catch_exceptions=False)
    told = json.loads(done.output)
    assert told["fitted_by"] == "shear"
    assert (told["checked"], told["could_hide_mm"]) == (False, None)
    assert set(told["foretold_mm"].values()) == {None}
    assert "nothing checks this fit" in told["notes"][0]
    plain = CliRunner().invoke(marks_command, (words[0], "--allow", "shear"))
    assert "lower left: off by 0.00 mm; the others can't say where it is" in plain.output
    assert "Note: 3 marks fit by shift, turn, two scales and shear exactly" in plain.output


def test_a_bad_mark_is_named_and_nothing_written(printed: Path, tmp_path: Path) -> None:
    words = ("--machine", "gantry-knife", "--lay", printed / "apron-ap-1-m-gantry-knife-lay.json")
    words = (*words, "--out", tmp_path / "out", "--found")
    for off, expected in (
        (8.0, "upper left is 8.00 mm from where the others"),
        (np.nan, "not a length|'nan'"),
    ):
        marks = fill_in(printed, transform(0.0, 1.0, 50.0, 40.0), tmp_path / "m.csv", off)
        with pytest.raises(UserError, match=expected):
            run(printed / "set.toml", *words, marks)
    with pytest.raises(UserError, match="the found places of the marks are missing"):
        run(printed / "set.toml", *words, printed / "apron-ap-1-m-gantry-knife-sheet-01-marks.csv")
    marks = fill_in(printed, transform(0.0, 1.0, -40.0, 40.0), tmp_path / "m.csv")
    with pytest.raises(UserError, match="out of reach at the left"):
        run(printed / "set.toml", *words, marks)
    assert not (tmp_path / "out").exists()


def test_what_goes_together_is_asked_for(printed: Path, tmp_path: Path) -> None:
    marks = fill_in(printed, transform(0.0, 1.0, 50.0, 40.0), tmp_path / "m.csv")
    words = ("--machine", "gantry-knife", "--out", tmp_path / "out")
    with pytest.raises(UserError, match="only a sheet of an earlier lay"):
        run(printed / "set.toml", *words, "--found", marks)
    lay = ("--lay", printed / "apron-ap-1-m-gantry-knife-lay.json")
    marks.write_text(marks.read_text().replace("577.5", "584.5"))
    with pytest.raises(UserError, match=r"has no mark at x 584.5"):
        run(printed / "set.toml", *words, *lay, "--found", marks, "--limit", "99")
    with pytest.raises(UserError, match="located by its marks"):
        run(printed / "set.toml", *words, "--turned-over")
    with pytest.raises(UserError, match="nothing to score"):
        run(printed / "set.toml", *words, "--work", "score")


def test_what_was_measured_is_not_overwritten(printed: Path, tmp_path: Path) -> None:
    words = ("--machine", "gantry-knife", "--stock", printed / "stock.toml", "--out", tmp_path)
    run(printed / "set.toml", *words)
    marks = fill_in(
        printed, transform(0, 1, 1, 1), tmp_path / "apron-ap-1-m-gantry-knife-sheet-01-marks.csv"
    )
    before = marks.read_bytes()
    run(printed / "set.toml", *words, "--lay", printed / "apron-ap-1-m-gantry-knife-lay.json")
    assert marks.read_bytes() == before


def test_stock_for_printing_holds_what_was_laid(printed: Path) -> None:
    lay = load_lay(printed / "apron-ap-1-m-gantry-knife-lay.json")
    assert lay.sheets[0].kind.name == load_stock(printed / "stock.toml").sheets[0].name


@pytest.mark.parametrize("off", [4.0, -4.0])
@pytest.mark.thorough
def test_a_sheet_as_large_as_the_bed_may_lie_a_little_off(tmp_path: Path, off: float) -> None:
    """Cards keep clear of its edges, so that 4 mm of shift and 0.02 degrees can be worked."""
    path = small_set(tmp_path, {f"P{n}": (420, 280) for n in range(9)})
    machine = ("--machine", "gantry-knife")
    assert run(path, *machine, "--out", tmp_path).exit_code == 0
    lay = ("--lay", tmp_path / "apron-ap-1-m-gantry-knife-lay.json", "--sheet", 1, "--work", "cut")
    sheet = load_lay(lay[1]).sheets[0]  # type: ignore[arg-type]
    assert (sheet.width, sheet.height) == (1300, 900)
    low = np.array([off, off])
    marks = fill_in(tmp_path, transform(0.02, 1.0, *low), tmp_path / "m.csv")
    assert run(path, *machine, *lay, "--found", marks, "--out", tmp_path / "cut").exit_code == 0
    marks = fill_in(tmp_path, transform(0.0, 1.0, *(25.0 * low)), tmp_path / "m.csv")
    with pytest.raises(UserError, match="widen the margins in the stock file"):
        run(path, *machine, *lay, "--found", marks, "--out", tmp_path / "cut")
