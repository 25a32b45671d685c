"""A file that somebody else made is replaced only when that is asked for, whatever the command.

What must hold is the project's own promise; the bytes in the folder are looked at as they are.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from plotout import UserError
from plotout.cli import plotout

SET = """
[set]
name = "Apron"
style = "AP-01"
size = "one size"

[[piece]]
name = "Bib"
from = { file = "bib.csv" }
cut = [{ cloth = "self", count = 2 }]
"""
PRICKS = "x,y,run,kind\n" + "\n".join(
    ["0,10,left,straight", "0,90,left,straight", "10,100,top,straight", "90,100,top,straight",
     "100,90,right,straight", "100,10,right,straight", "90,0,foot,straight", "10,0,foot,straight"]
)  # fmt: skip
COMMANDS = {
    "page": (("page", "set.toml", "--machine", "home-a4", "--seconds", "0", "--out",
              "x/p.html"), "p.html"),
    "picture": (("picture", "set.toml", "--stage", "piece", "--out", "x"), "piece-bib.png"),
    "strip": (("strip", "--machine", "craft-cutter", "--out", "x"), "strip-craft-cutter.plt"),
    "square": (("calibrate", "craft-cutter", "--out", "x"),
               "test-square-craft-cutter-sheet-01.plt"),
    "chart": (("chart", "set.toml", "--out", "x"), "apron-ap-01-one-size-chart-sheet-01.pdf"),
    "cloth": (("cloth", "set.toml", "--width", "140 cm", "--seconds", "0", "--out", "x"),
              "self-1400mm.png"),
    "export": (("rack", "export", "AP-01", "--out", "x/a.zip"), "a.zip"),
    "rack show": (("rack", "show", "AP-01", "--picture", "x/a.png"), "a.png"),
}  # fmt: skip


def run(*words: str) -> None:
    result = CliRunner().invoke(plotout, list(words), standalone_mode=False)
    if result.exception:
        raise result.exception


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path / "own"))
    monkeypatch.setenv("PLOTOUT_RACK", str(tmp_path / "rack.db"))
    (tmp_path / "set.toml").write_text(SET)
    (tmp_path / "bib.csv").write_text(PRICKS)
    return tmp_path


@pytest.mark.parametrize("name", COMMANDS)
def test_somebody_elses_file_stays_unless_force(name: str, here: Path) -> None:
    words, file = COMMANDS[name]
    if words[0] == "rack":
        run("rack", "put", "set.toml")
    (here / "x").mkdir()
    (here / "x" / file).write_text("mine")
    with pytest.raises(UserError, match="plotout did not write it"):
        run(*words)
    assert [path.name for path in (here / "x").iterdir()] == [file]
    assert (here / "x" / file).read_text() == "mine"
    run(*words, "--force")
    made = (here / "x" / file).read_bytes()
    assert made != b"mine"
    run(*words)  # its own file it makes again
    assert json.loads((here / "x" / "plotout-files.json").read_text())["jobs"]
    (here / "x" / file).write_bytes(made + b" ")
    with pytest.raises(UserError, match="changed since"):
        run(*words)


def test_a_printer_has_no_strip(here: Path) -> None:
    for name in ("home-a4", "copy-shop", "svg-file"):
        with pytest.raises(UserError, match="no settings of a tool to try") as caught:
            run("strip", "--machine", name, "--out", "x")
        assert f"plotout calibrate {name}" in caught.value.fix
