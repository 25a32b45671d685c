"""`plotout calibrate` against a printer that prints wrong, read with pypdf and measured with numpy.

The printer is a matrix: what is on the page comes out longer, and leaning. Nothing of plotout's
measures here.
"""

import json
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from pdf_paths import pages

from plotout import UserError, job, plugins
from plotout.cli import plotout
from plotout.machine import Bed, profile
from plotout.sheet_job import make_sheet
from plotout.tool.square import sides_for, square

WORN = [(1.004, 0.993, 0.4), (0.99, 1.01, -0.5), (1.01, 1.01, 0.2), (1.0, 1.003, 0.0)]


def prints(x, y, skew):
    lean = np.radians(skew)
    return np.array([[x, y * np.sin(lean)], [0.0, y * np.cos(lean)]])


def corners(data, layer, matrix):
    """The corners of the one square of that layer as it is printed: (4, 2), mm, from lower left."""
    found = [line for _, _, lines in pages(data) for title, line in lines
             if title == layer and len(line) >= 4 and np.allclose(line[0], line[-1])]  # fmt: skip
    [ring] = [line for line in found if np.ptp(line, axis=0).min() > 30.0]
    low, high = ring.min(axis=0), ring.max(axis=0)
    places = [low, (high[0], low[1]), high, (low[0], high[1])]
    near = [ring[np.argmin(np.hypot(*(ring - place).T))] for place in places]
    return np.array(near) @ matrix.T


def measured(ring):
    def apart(one, other):
        return float(np.hypot(*(ring[one] - ring[other])))

    return {
        "--across": (apart(0, 1), apart(3, 2)),
        "--up": (apart(0, 3), apart(1, 2)),
        "--diagonals": (apart(0, 2), apart(3, 1)),
    }


def run(*words):
    result = CliRunner().invoke(plotout, ["calibrate", *words], standalone_mode=False)
    if result.exception:
        raise result.exception
    return result.output


def calibrate(name, ring, *more, side):
    words = []
    for key, pair in measured(ring).items():
        words += [key, *(f"{length:.4f}" for length in pair)]
    return json.loads(run(name, *words, "--side", f"{side:g}", *more, "--json"))


@pytest.fixture(autouse=True)
def own(tmp_path, monkeypatch):
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path / "own"))
    return tmp_path / "own"


def square_on(name, side):
    """What a job for this machine makes of a square, through its calibration."""
    machine = job.load_machine(name)
    made = square(machine, side)
    placed = tuple(replace(card, shift=(20.0, 20.0)) for card in made.placed)
    made = replace(made, placed=placed, width=made.width + 40.0, height=made.height + 40.0)
    return make_sheet(made, machine, "job").data


@pytest.mark.parametrize(
    ("name", "worn"), [("home-a4", WORN[0]), *(("copy-shop", worn) for worn in WORN[1:])]
)
def test_a_second_calibration_builds_on_the_first(name, worn, tmp_path):
    printer = prints(*worn)
    made = json.loads(run(name, "--out", str(tmp_path), "--json"))
    side = made["side_mm"]
    first = corners((tmp_path / made["files"][0]).read_bytes(), "outline", printer)
    assert not np.allclose(measured(first)["--across"], side, atol=0.05) or worn[0] == 1.0
    calibrate(name, first, side=side)
    true = measured(corners(square_on(name, 120.0), "outline", printer))
    assert true["--across"] == pytest.approx((120.0, 120.0), abs=0.01)
    assert true["--up"] == pytest.approx((120.0, 120.0), abs=0.01)
    assert true["--diagonals"] == pytest.approx((120.0 * 2**0.5,) * 2, abs=0.01)

    later = prints(0.998, 1.004, -0.3) @ printer  # it wears on
    with pytest.raises(UserError, match="which square was measured"):
        calibrate(name, first, side=side)
    on_job = corners(square_on(name, 120.0), "outline", later)
    assert calibrate(name, on_job, "--corrected", side=120.0)["built_on_earlier"]
    by_job = profile.load(name).calibration
    true = measured(corners(square_on(name, 120.0), "outline", later))
    for pair in ("--across", "--up"):
        assert true[pair] == pytest.approx((120.0, 120.0), abs=0.02)
    assert true["--diagonals"] == pytest.approx((120.0 * 2**0.5,) * 2, abs=0.02)

    run(name, "--out", str(tmp_path), "--json")  # the square is uncorrected still
    raw = corners((tmp_path / made["files"][0]).read_bytes(), "outline", later)
    calibrate(name, raw, "--uncorrected", side=side)
    anew = profile.load(name).calibration
    assert (anew.scale_x, anew.scale_y) == pytest.approx((by_job.scale_x, by_job.scale_y), abs=2e-5)
    assert anew.skew == pytest.approx(by_job.skew, abs=2e-3)


@pytest.mark.parametrize("name", sorted(profile.known(plugins.machine_files())))
def test_every_machine_has_a_square_that_its_bed_holds(name):
    machine = job.load_machine(name)
    side = next(sides_for(machine))
    made = make_sheet(square(machine, side), machine, "square")
    assert made.faults == ()
    assert side >= 150.0
    assert made.sheet.width <= machine.bed.length
    assert made.sheet.height <= machine.bed.width


@pytest.mark.parametrize("bed", [(210, 297), (100, 100), (1800, 900), (60, 2000)])
def test_the_square_suits_odd_beds(bed):
    machine = replace(job.load_machine("laser"), bed=Bed(*bed))
    side = next(sides_for(machine))
    assert 0.55 * min(bed) <= side <= min(bed) or side == 400.0
    assert make_sheet(square(machine, side), machine, "square").faults == ()


def test_a_bed_too_small_for_any_square_is_told():
    machine = replace(job.load_machine("laser"), bed=Bed(22, 500))
    with pytest.raises(UserError, match="too little for a test square"):
        next(sides_for(machine))


def test_measures_that_contradict_each_other_are_asked_about(own):
    good = ["home-a4", "--side", "100", "--up", "100.1", "100", "--diagonals", "141.3", "141.3"]
    with pytest.raises(UserError, match=r"lower and the upper side: 99\.6 and 100\.2 mm"):
        run(*good, "--across", "99.6", "100.2")
    with pytest.raises(UserError, match="diagonals"):
        run(*good[:-2], "141.9", "142.1", "--across", "99.8", "99.8")
    assert not (own / "home-a4.toml").exists()
    run(*good, "--across", "99.6", "100.2", "--sure")
    assert profile.load("home-a4").calibration.scale_x == pytest.approx(0.999)


def test_something_is_made_or_measured_and_not_half_of_it(tmp_path):
    for words in ((), ("--across", "100", "100"), ("--out", str(tmp_path), "--up", "99", "99")):
        with pytest.raises(UserError, match="give --out"):
            run("home-a4", *words)
    with pytest.raises(UserError, match="lean"):
        run("home-a4", "--across", "100", "100", "--up", "100", "100", "--diagonals", "146", "137",
            "--side", "100")  # fmt: skip


PROFILES = {
    "table": "[calibration]   # of my own\nscale-x = 1.0 # was right\nskew = 0.0\n",
    "inline": "calibration = { scale-x = 1.0, skew = 0.0 } # of my own\n",
    "dotted": "calibration.scale-x = 1.0 # was right\ncalibration.skew = 0.0\n",
    "none": "",
}


@pytest.mark.parametrize("form", PROFILES)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_the_profile_keeps_its_comments_and_its_form(form, end, tmp_path):
    """tomllib reads what tomlkit wrote; every line that is no part of it stays as it was."""
    pen = 'tools = [{ name = "pen", number = 1, kind = "pen", does = "draw", speed = 9 }] # mine\n'
    head = '# my plotter\ntitle = "Mine"  # a title\nkind = "pen"\ndriver = "hpgl"\n' + pen
    bed = 'bed = { length = "300 mm", width = "200 mm" }  # measured\n'
    top = "" if form == "table" else PROFILES[form]
    text = head + bed + top + (PROFILES[form] if form == "table" else "")
    file = tmp_path / "mine.toml"
    file.write_bytes(text.replace("\n", end).encode())
    run(str(file), "--across", "100.4", "100.4", "--up", "99.8", "99.8", "--diagonals", "141.56",
        "141.56", "--side", "100", *(() if form == "none" else ("--uncorrected",)))  # fmt: skip
    made = file.read_bytes().decode()
    told = tomllib.loads(made)
    assert told["calibration"]["scale-x"] == 1.004
    assert told["calibration"]["scale-y"] == 0.998
    before = tomllib.loads(text)
    assert {k: v for k, v in told.items() if k != "calibration"} == {
        k: v for k, v in before.items() if k != "calibration"
    }
    assert made.startswith((head + bed).replace("\n", end))
    for comment in ("# my plotter", "# a title", "# mine", "# measured", *(
            ["# of my own"] if form in ("table", "inline") else []), *(
            ["# was right"] if form in ("table", "dotted") else [])):  # fmt: skip
        assert comment in made
    if end == "\r\n":
        assert made.count("\n") == made.count("\r\n")
    assert profile.load(file).calibration.scale_x == 1.004
