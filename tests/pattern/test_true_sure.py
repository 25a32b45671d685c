"""Truings of edges that are known to some mm: good, wrong, or not sure. Figures by hand."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner

from plotout.cli import plotout
from plotout.geometry.polyline import length
from plotout.geometry.sureness import Known
from plotout.pattern.accuracy import Accuracy, measured_to
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.findings import Trued

from .conftest import Build

NAMES = ("hem", "side", "top", "cf")


def quarters(long: float, known: float, likely: bool = False) -> Drawing:
    """Return a piece 200 x 300 whose cf is longer, known to some mm, or likely as much longer."""
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0 + long]])
    spread = np.zeros((101, 4, 2))
    spread[:, 3, 1] = np.linspace(-known, known, 101)
    draws = corners + spread
    shapes = []
    for k, name in enumerate(NAMES):
        ends = [k, (k + 1) % 4]
        lines = draws[:, ends] if likely else None
        shapes.append(
            Shape(corners[ends], Role.OUTLINE, name, known_to=known * (k > 1), likely=lines)
        )
    return Drawing(tuple(shapes))


TEXT = (
    "[defaults]\ntolerance = 0.5\n"
    '[[piece]]\nname = "Front"\nfrom = { file = "front" }\n'
    '[[piece.true]]\nequal = ["cf", "side"]\n'
)


@pytest.mark.parametrize("likely", [False, True])
@pytest.mark.parametrize(
    ("long", "known", "sure", "wrong"),
    [
        (0.2, 0.2, True, False),
        (0.2, 1.0, False, False),
        (0.9, 1.0, False, False),  # a fault before: most likely off, and maybe true
        (2.0, 1.0, True, True),
        (0.9, 0.0, True, True),
    ],
)
def test_what_may_be_true_is_not_sure(
    build: Build, likely: bool, long: float, known: float, sure: bool, wrong: bool
) -> None:
    (piece,) = build(TEXT, front=quarters(long, known, likely)).pieces
    (result,) = piece.trued
    assert (not result.unsure(), result.wrong) == (sure, wrong)
    if likely and known <= long:  # evenly spread: 95.4 % within 0.954 of it, and 15 % more
        assert result.known_to == pytest.approx(1.15 * 0.954 * known, abs=0.03 * known)
    if not sure:
        assert "can't show to 0.5 mm whether it is true" in result.unsure()


@pytest.mark.parametrize(("long", "refused", "doubt"), [(0.4, 0, 0), (2.4, 0, 1), (5.0, 1, 0)])
def test_a_put_right_of_less_than_the_pricks_show_is_not_refused(
    build: Build, long: float, refused: bool, doubt: bool
) -> None:
    """cf known to 2 mm: 0.4 is put right; 2.4 may need no more than allowed; 5.0 does."""
    text = TEXT + "put-right = true\n"
    (piece,) = build(text, front=quarters(long, 2.0, likely=False)).pieces
    (result,) = piece.trued
    assert (bool(result.refused), bool(result.doubt)) == (refused, doubt)
    assert len(piece.faults) == refused
    assert bool(result.moved) is not (refused or doubt)
    assert bool(result.unsure()) is bool(doubt)


def test_a_divided_edge_keeps_its_likely_lines() -> None:
    """Both parts of a line of 100, divided at 30 %: 30 and 70 mm, meeting at one point."""
    lines = np.array([[[0.0, 0.0], [100.0, 0.0]], [[0.0, 0.0], [0.0, 100.0]]])
    first, second = Accuracy(Known(1.0), lines).divided(0.3)
    assert first.likely is not None
    assert second.likely is not None
    assert [length(line) for line in first.likely] == pytest.approx([30.0, 30.0])
    assert [length(line) for line in second.likely] == pytest.approx([70.0, 70.0])
    assert (first.likely[:, -1] == second.likely[:, 0]).all()


def test_without_likely_lines_a_measure_is_known_as_its_edges_are() -> None:
    lines = [np.zeros((2, 2))] * 3
    accuracies = [Accuracy(Known(to)) for to in (3.0, 4.0, 9.0)]
    assert measured_to(lambda _: 0.0, lines, accuracies, [0, 1]).to == pytest.approx(5.0)


def test_a_growth_that_is_off_a_truing_put_right_is_off_by_growth_alone() -> None:
    """What was put right is known exactly: 0.9 mm too long for 0.5 is wrong."""
    assert Trued("equal", ("a", "b"), 0.9, 0.9, 0.5).wrong
    assert not Trued("equal", ("a", "b"), 0.9, 0.9, 0.5, known_to=1.0).wrong


def test_check_shows_it_as_it_shows_seams(tmp_path) -> None:
    """Five pricks along each edge, 0.6 mm off square lines: NOT SURE in the row, no fault."""
    rng = np.random.default_rng(4)
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0]])
    rows = ["x,y,run,kind"]
    for k, name in enumerate(NAMES):
        for share in np.linspace(0.05, 0.95, 5):
            x, y = corners[k] + (corners[(k + 1) % 4] - corners[k]) * share
            x, y = np.array([x, y]) + rng.normal(0.0, 0.6, 2)
            rows.append(f"{x:.2f},{y:.2f},{name},straight")
    (tmp_path / "front.csv").write_text("\n".join(rows) + "\n")
    path = tmp_path / "set.toml"
    path.write_text(
        '[set]\nname = "Trial"\nstyle = "T-1"\n'
        + TEXT.replace('"front"', '"front.csv"')
        + '[[piece.true]]\nsquare = ["hem", "side"]\n'
    )
    done = CliRunner().invoke(plotout, ["check", str(path)])
    assert done.exit_code == 0, done.output
    assert done.output.count("NOT SURE") == 2
    assert "too inaccurate to judge: Front (equal: cf and side)" in done.output
    report = json.loads(CliRunner().invoke(plotout, ["check", str(path), "--json"]).output)
    assert [one["sure"] for one in report["truing"]] == [False, False]
    assert not report["good"]
    assert not report["faults"]


@pytest.mark.parametrize(
    ("bowed", "known", "fault", "noted"),
    [(1.5, 0.0, True, False), (1.5, 1.5, False, True), (4.0, 1.5, True, False)],
)
def test_a_fold_that_its_pricks_may_show_straight_is_no_fault(
    build: Build, bowed: float, known: float, fault: bool, noted: bool
) -> None:
    """It bows so far in its middle, and by up to so much more or less in likely outlines."""
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0]])
    shapes = []
    for k, name in enumerate(NAMES):
        line = np.linspace(corners[k], corners[(k + 1) % 4], 3)
        likely = np.tile(line, (41, 1, 1))
        if name == "cf":
            line[1, 0] -= bowed
            likely[:, 1, 0] -= np.linspace(bowed - known, bowed + known, 41)
        lines = likely if known else None
        shapes.append(Shape(line, Role.OUTLINE, name, known_to=known, likely=lines))
    text = '[[piece]]\nname = "Front"\nfold = "cf"\nfrom = { file = "front" }\n'
    (piece,) = build("[defaults]\ntolerance = 0.5\n" + text, front=Drawing(tuple(shapes))).pieces
    assert bool([one for one in piece.faults if "is not straight" in str(one)]) is fault
    assert bool([note for note in piece.notes if "it was made straight" in note]) is noted
