"""What can't be done is refused through the commands, saying what to change; nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from smallset import run, small_set

from plotout import UserError
from plotout.cli.calibrate_command import calibrate
from plotout.cli.marks_command import marks
from plotout.errors import UserErrors
from plotout.layout.registration.mark_file import load_marks
from plotout.machine import profile

SHEET = '[[sheet]]\nname = "card"\nlength = {length}\nwidth = {width}\nmargins = {margins}\n'
ROLL = '[[roll]]\nname = "paper"\nwidth = {width}\nlongest = 2000\n'


@pytest.mark.parametrize(
    ("stock", "words"),
    [
        (SHEET.format(length=200, width=50, margins=40), ["stock.toml, line", "its margins"]),
        (SHEET.format(length=200, width=50, margins=-1), ["stock.toml, line 5"]),
        (SHEET.format(length=0, width=50, margins=0), ["stock.toml, line 3"]),
        (ROLL.format(width=0), ["stock.toml, line 3"]),
        (SHEET.format(length=5000, width=300, margins=0), ["card is 3700.0 mm too large"]),
        ("", ["there is no stock in it"]),
    ],
)
def test_stock(tmp_path: Path, stock: str, words: list[str]) -> None:
    path = tmp_path / "stock.toml"
    path.write_text(stock)
    out = ("--machine", "gantry-knife", "--stock", path, "--out", tmp_path / "out")
    with pytest.raises(UserError) as told:
        run(small_set(tmp_path), *out)
    for each in words:
        assert each in str(told.value)
    assert told.value.fix or "must be" in told.value.problem
    assert not (tmp_path / "out").exists()


def test_a_card_larger_than_everything(tmp_path: Path) -> None:
    """It can't be split either, for want of room for the underlap; or alone on an off-cut."""
    stock = tmp_path / "stock.toml"
    out = ("--machine", "gantry-knife", "--stock", stock, "--out", tmp_path / "out")
    stock.write_text(SHEET.format(length=100, width=60, margins=0))
    with pytest.raises(UserError, match=r"holds .* mm") as told:
        run(small_set(tmp_path), *out)
    assert told.value.place.piece == "Front"
    with pytest.raises(UserError, match=r"'Front', .* is too large for card .* by .* mm in"):
        run(small_set(tmp_path), *out, "--card", "front")
    assert not (tmp_path / "out").exists()


def test_a_negative_gap(tmp_path: Path) -> None:
    (text,) = (path.read_text() for path in profile.shipped() if path.stem == "gantry-knife")
    path = tmp_path / "mine.toml"
    path.write_text(text.replace('gap = "5 mm"', 'gap = "-5 mm"'))
    with pytest.raises(UserError, match="gap: '-5 mm' must not be negative") as told:
        run(small_set(tmp_path), "--machine", path, "--out", tmp_path / "out")
    assert "mine.toml" in str(told.value)


HEAD = "name, meant x, meant y, found x, found y\n"


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("a, 0, 0, 0, 0\nb, 300, 0, 300, 0\nc, 600, 1, 600, 9\n", "from where the others put them"),
        ("a, 0, 0, 0, 0\nb, 9, 0, 9, 0\nc, 0, 9, 0, 9\n", "too close together"),
        ("a, 0, 0, 0, 0\n", "1 mark is too few"),
        ("a, 0, 0, 0, 0\na, 300, 0, 300, 0\na, 0, 300, 0, -300\n", "mirror"),
        ("a, 0, 0, inf, 0\n", "line 2"),
    ],
)
def test_marks(tmp_path: Path, rows: str, words: str) -> None:
    path = tmp_path / "marks.csv"
    path.write_text(HEAD + rows)
    with pytest.raises(UserError) as told:
        CliRunner().invoke(marks, [str(path)], catch_exceptions=False)
    assert words in str(told.value)
    assert told.value.fix


def test_all_faults_of_a_file_of_marks_are_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "marks.csv"
    path.write_text("a, 72, abc, 1, 2\nb, 72, 72, 700,\nc, 1, 2, 5, 6, 7\nd, 1, 2, nan, 3\n")
    with pytest.raises(UserErrors) as told:
        load_marks(path)
    for line, words in ((1, "meant y"), (2, "found y is missing"), (3, "6 values"), (4, "found x")):
        assert any(f"line {line}: {words}" in part or f"line {line}: this line has {words}" in part
                   for part in str(told.value).splitlines())  # fmt: skip


def test_a_file_of_marks_as_a_german_spreadsheet_writes_it(tmp_path: Path) -> None:
    path = tmp_path / "marks.csv"
    row = "a;72,5;72,0;73,25;1,5\n"
    for head in ("name;meant x;meant y;found x;found y\n", ""):
        path.write_text(f"{head}{row}b;728;528;;\n")
        names, meant, found = load_marks(path)
        assert names == ("a",)
        assert (*meant[0], *found[0]) == (72.5, 72.0, 73.25, 1.5)


def test_found_places_are_read_as_in_any_table(tmp_path):
    """Points and commas side by side are refused, and so is what may mean thousands."""
    path = tmp_path / "marks.csv"
    path.write_text("a;72,500;72,000;73,25;1.5\n")
    with pytest.raises(UserError, match="with a comma in line 1 and with a point in line 1"):
        load_marks(path)
    path.write_text("a, 72.000, 72.000, 1.290, 12\n")
    with pytest.raises(UserError, match="can mean 1290"):
        load_marks(path)
    path.write_text("a, 72.000, 72.000, 73, 12\n")  # the intended places are plotout's own
    assert load_marks(path)[2].tolist() == [[73.0, 12.0]]


@pytest.mark.parametrize("measure", ["0", "-100", "nothing"])
def test_measures(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, measure: str) -> None:
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path))
    words = ["home-a4", "--across", measure, "100", "--up", "100", "100"]
    with pytest.raises(UserError) as told:
        CliRunner().invoke(calibrate, [*words, "--diagonals", "141", "141"], catch_exceptions=False)
    assert told.value.fix
    assert list(tmp_path.iterdir()) == []
