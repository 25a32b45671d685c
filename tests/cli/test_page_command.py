"""The command that writes a proof page: what it tells beside the page."""

import json
from pathlib import Path

from click.testing import CliRunner

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
    assert any(note in text for text in report["warnings"])
    assert report["faults"] == []
