"""The commands of this room, run as a user runs them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from plotout import UserError
from plotout.cli.calibrate_command import calibrate
from plotout.cli.marks_command import marks
from plotout.machine import profile

MARKS = """name, meant x, meant y, found x, found y
# lower left first
lower left, 10, 10, 11, 12
lower right, 590, 10, 591, 12
upper right, 590, 390, 591, 392
upper left, 1 cm, 390, 11, 392
"""


def test_marks_are_fitted(tmp_path: Path) -> None:
    path = tmp_path / "marks.csv"
    path.write_text(MARKS)
    done = CliRunner().invoke(marks, [str(path), "--json"], catch_exceptions=False)
    told = json.loads(done.output)
    assert told["shift_mm"] == pytest.approx([1, 2])
    assert told["turn_degrees"] == pytest.approx(0, abs=1e-9)
    assert set(told["residuals_mm"]) == {"lower left", "lower right", "upper right", "upper left"}
    assert "Shifted by x +1.00 mm" in CliRunner().invoke(marks, [str(path)]).output


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("591, 12", "591", "line 4: this line has 4"),
        ("11, 12", "eleven, 12", "line 3: found x: 'eleven'"),
    ],
)
def test_bad_marks_are_told_with_their_line(tmp_path: Path, old: str, new: str, words: str) -> None:
    path = tmp_path / "marks.csv"
    path.write_text(MARKS.replace(old, new))
    with pytest.raises(UserError, match=words):
        CliRunner().invoke(marks, [str(path)], catch_exceptions=False)


SQUARE = [
    "--side",
    "100",
    "--across",
    "100.4",
    "100.4",
    "--up",
    "99.8",
    "99.8",
    "--diagonals",
    "141.6",
    "141.5",
]


def test_a_machine_is_calibrated(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path))
    arguments = ["home-a4", *SQUARE, "--date", "2026-04-11", "--json"]
    done = CliRunner().invoke(calibrate, arguments, catch_exceptions=False)
    assert json.loads(done.output)["scale_x"] == pytest.approx(1.004)
    kept = profile.load("home-a4").calibration
    assert (kept.scale_x, kept.scale_y, kept.date) == (1.004, 0.998, "2026-04-11")


def test_a_slip_leaves_no_profile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path))
    for wrong in (["--side", "96 mm"], ["--date", "yesterday"]):
        with pytest.raises(UserError):
            CliRunner().invoke(calibrate, ["home-a4", *SQUARE, *wrong], catch_exceptions=False)
    assert list(tmp_path.iterdir()) == []
