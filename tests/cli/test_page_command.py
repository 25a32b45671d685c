"""The command that writes a proof page: what it tells beside the page."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from plotout import UserError
from plotout.cli import plotout

SET = """
[set]
name = "A"
style = "A"
[[piece]]
name = "L"
cut = [{ cloth = "self", count = 2 }]
points = [[0, 0], [90, 0], [90, 40], [40, 40], [40, 120], [0, 120]]
"""


def test_a_page_tells_what_a_check_of_its_set_tells(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("set.toml").write_text(SET)
    words = ["page", "set.toml", "--machine", "laser", "--seconds", "0", "--out", "p.html"]
    told = CliRunner().invoke(plotout, words).output
    note = "all cut the same way round"
    assert f"Note: L: the 2 of self are {note}" in told
    report = json.loads(CliRunner().invoke(plotout, [*words, "--force", "--json"]).stdout)
    assert any(note in text for text in report["notes"])
    assert report["faults"] == []


def test_a_file_in_the_way_is_told_before_the_work(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("set.toml").write_text(SET)
    Path("p.html").write_text("mine")
    monkeypatch.setattr("plotout.job.plan", lambda *_: pytest.fail("worked before it looked"))
    words = ["page", "set.toml", "--machine", "laser", "--seconds", "0", "--out", "p.html"]
    done = CliRunner().invoke(plotout, words)
    assert isinstance(done.exception, UserError)
    assert "it exists already" in str(done.exception)
    assert Path("p.html").read_text() == "mine"
