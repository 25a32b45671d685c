"""What every printed page says of itself, read back with pypdf and measured; no code of plotout's.

A square and a ruler in mm and inches: 1 in is 25.4 mm (ISO 80000-3; exact since 1959).
"""

from dataclasses import replace

import numpy as np
import pytest
from hand_built import HOSTILE, machine, program, run, scattered, sheet
from pdf_paths import pages
from plotout_pdf import plotout_drivers
from plotout_pdf.paper import Paper

from plotout import Mark, Stroke, Work
from plotout.geometry.lettering import undrawable
from plotout.machine import Bed, Calibration
from plotout.tongue import Tongue

DRIVERS = {driver.name: driver for driver in plotout_drivers()}
TILES = DRIVERS["pdf-tiles"].emit
FURNITURE = "page marks"
BEDS = [(210, 297), (279.4, 215.9), (100, 100), (1800, 900), (60, 50)]


def page(bed=(600, 300), runs=(), name="sheet 1", calibration=None, **options):
    """A full-size page as the command makes it: with room for its words."""
    base = machine(options, bed=Bed(*bed))
    base = DRIVERS["pdf-page"].as_driven(replace(base, calibration=calibration or Calibration()))
    made = replace(program(runs, base, name), width=float(bed[0]), height=float(bed[1]))
    return base, DRIVERS["pdf-page"].emit(made, sheet(width=bed[0], height=bed[1], of=3))


def furniture(lines):
    return [line for layer, line in lines if layer == FURNITURE]


def squares(lines):
    """Side lengths of closed lines of four corners."""
    rings = [line for line in lines if len(line) == 5 and np.allclose(line[0], line[4])]
    return [np.hypot(*np.diff(ring, axis=0).T) for ring in rings]


def steps(lines):
    """Every length of a row of ticks: how far parallel short lines stand from the first one."""
    short = [line for line in lines if len(line) == 2 and 0.5 < np.hypot(*(line[1] - line[0])) < 4]
    feet = np.array([line[0] for line in short])
    return np.hypot(*(feet[:, None] - feet[None]).T).ravel() if len(feet) else np.empty(0)


def has(values, wanted, within=0.01):
    return bool((np.abs(np.asarray(values) - wanted) < within).any())


@pytest.mark.parametrize("bed", BEDS)
def test_a_full_size_page_can_be_measured(bed):
    driven, data = page(bed)
    [(_, size, lines)] = list(pages(data))
    drawn = furniture(lines)
    sides = {round(float(all_[0]), 2) for all_ in squares(drawn) if np.ptp(all_) < 0.001}
    assert sides & {10.0, 20.0, 50.0}
    assert has(steps(drawn), 10.0)
    if min(bed) >= 100:
        assert has(steps(drawn), 25.4)
        assert has(steps(drawn), 50.0)
    every = np.vstack(drawn)
    assert every.min() >= -0.01
    assert (every <= np.array(size) + 0.01).all()
    left, bottom, _, _ = driven.bed.margins  # nothing of it where the cards lie
    assert not ((every[:, 0] > left) & (every[:, 1] > bottom)).any()


@pytest.mark.parametrize(
    "options",
    [{}, {"page": "letter", "style": "lap"}, {"page": "A5"}, {"orientation": "landscape"},
     {"page": "100 mm x 120 mm"}],
)  # fmt: skip
def test_every_tile_and_the_map_can_be_measured(options):
    data = TILES(program(scattered(), machine(options)), sheet(of=2))
    for label, size, lines in pages(data):
        drawn = furniture(lines)
        assert any(np.allclose(each, each[0], atol=0.001) and round(float(each[0])) in (10, 20)
                   for each in squares(drawn)), label  # fmt: skip
        assert has(steps(drawn), 10.0), label
        if min(size) > 120:
            assert has(steps(drawn), 25.4), label
            assert has(steps(drawn), 100.0), label


@pytest.mark.parametrize("drift", [(1.01, 0.99, 0.5), (0.99, 1.003, -0.5), (1.003, 1.0, 0.0)])
@pytest.mark.parametrize("emit", ["page", "tiles"])
def test_a_calibrated_printers_squares_measure_right(drift, emit):
    """What comes out of a printer that draws x and y too long, and leaning: the squares are."""
    x, y, skew = drift
    lean = np.radians(skew)
    prints = np.array([[x, y * np.sin(lean)], [0.0, y * np.cos(lean)]])
    calibration = Calibration(x, y, skew)
    if emit == "page":
        _, data = page(calibration=calibration)
    else:
        trued = replace(machine({}), calibration=calibration)
        data = TILES(program(scattered(4), trued), sheet())
    for label, _, lines in pages(data):
        printed = [line @ prints.T for line in furniture(lines)]
        rings = [line for line in printed if len(line) == 5 and np.allclose(line[0], line[4])]
        good = []
        for ring in rings:
            sides = np.hypot(*np.diff(ring, axis=0).T)
            across = [np.hypot(*(ring[2] - ring[0])), np.hypot(*(ring[3] - ring[1]))]
            square = np.ptp(sides) < 0.01 and np.ptp(across) < 0.01
            if square and abs(across[0] - sides[0] * np.sqrt(2.0)) < 0.01:
                good.append(round(float(sides[0]), 2))
        assert {10.0, 20.0, 50.0} & set(good), label
        if label == "map":
            assert {100.0, 101.6} <= set(good)
        assert has(steps(printed), 100.0, 0.01), label


@pytest.mark.parametrize(
    ("language", "unit"), [("de", "Zoll"), ("fr", "po"), ("es", "pulg"), ("en", "in")]
)
def test_squares_and_rulers_have_the_languages_unit(language, unit, monkeypatch):
    """The units' names: the languages' own, from memory."""
    texts, text = set(), Paper.text

    def noted(paper, said, *where, **how):
        texts.add(said)
        text(paper, said, *where, **how)

    monkeypatch.setattr(Paper, "text", noted)
    made = replace(sheet(), say=Tongue(language, inches=True))
    TILES(program(scattered(), machine({})), made)
    assert {f"4 {unit}", "100 mm"} <= texts  # the map's squares, and the ruler's end
    assert unit == "in" or not [said for said in texts if said.endswith(" in")]


def test_words_in_any_script_are_drawn_within_the_page():
    seen = {}
    names = [
        "裁断の本",
        "外套の型",
        "\u0641\u0633\u062a\u0627\u0646",
        "Łódź",
        "Ω" * 300,
        "",
        *HOSTILE,
    ]
    for name in names:
        [(_, size, lines)] = list(pages(page(name=name)[1]))
        every = np.vstack(furniture(lines))
        assert every.min() >= 0.0
        assert (every <= size).all()
        seen[name] = [line.tolist() for line in furniture(lines)]
    if not undrawable("裁断の本外套の型"):  # without a font for them, both are four question marks
        assert seen["裁断の本"] != seen["外套の型"]


def test_a_page_says_how_it_is_joined_and_groups_run_in_the_order_of_joining():
    runs = (run([[10, 10], [300, 20]]), run([[570, 270], [590, 290]]))
    [tiled] = DRIVERS["pdf-tiles"].tiles(program(runs), sheet())
    names = [[[tile.name for tile in row] for row in group] for group in tiled.plan.groups]
    assert sum(len(row) for group in names for row in group) == len(tiled.plan.printed)
    labels = [label for label, *_ in pages(TILES(program(runs), sheet()))]
    assert labels[1:] == [name for group in names for row in group for name in row]
    alone = [group for group in names if len(group) == len(group[0]) == 1]
    assert len(names) == 2
    assert len(alone) == 1


@pytest.mark.parametrize("paper", ["A4", "letter", "A5", "A3"])
def test_the_map_explains_every_line(paper):
    """A sample of 27.25 mm (two dashes and a dot of a fold, ISO 128-2) for each kind of line."""
    kinds = [("draw", "grain line"), ("score", "internal line"), ("cut", "outline")]
    line = np.array([[20.0, 20.0], [150.0, 60.0]])
    runs = [run(line, stroke=Stroke(line, Work(work), Mark(mark), "front")) for work, mark in kinds]
    (_, _, lines), *_ = pages(TILES(program(runs, machine({"page": paper})), sheet()))
    samples = [line for line in furniture(lines)
               if len(line) == 2 and has(np.hypot(*(line[1] - line[0])), 27.25)]  # fmt: skip
    assert len(samples) == len(kinds)
