"""A set put, changed, put again, compared, recut, and brought to another rack."""

import json

import pytest
from click.testing import CliRunner

from plotout import job, plugins
from plotout.cli import plotout
from plotout.cli.rack_command import rack as rack_command
from plotout.machine import Calibration, profile
from plotout.machine.profile import with_calibration

MEASURED = Calibration(scale_x=0.99, date="2026-04-11")


def _run(tmp_path, *words, code=0, rack="rack.sqlite"):
    done = CliRunner().invoke(rack_command, ["--at", str(tmp_path / rack), *map(str, words)])
    assert done.exit_code == code, (done.output, done.exception)
    return done.output


def test_the_life_of_a_set(few, tmp_path):
    _run(tmp_path, "put", few, "--place", "hook 12", "--machine", "craft-cutter")
    text = few.read_text()
    wider = text.replace('width = "45 mm"', 'width = "50 mm"')
    gone = wider.replace(
        'name = "Loop"\n', 'name = "Tab"\n'
    ).replace('allowance = "8 mm"', 'allowance = "9 mm"')  # fmt: skip
    few.write_text(gone)
    told = _run(tmp_path, "put", few, "--place", "hook 12", "--machine", "craft-cutter")
    assert "BK-01:M:2" in told
    assert "Neck facing: line moved by up to 5.00 mm" in told  # 50 mm less 45 mm
    assert "Loop: piece dropped" in told
    assert "Tab: piece added" in told
    assert "Elbow patch: allowance of 'edge': 8 mm is now 9 mm" in told

    changes = json.loads(
        _run(
            tmp_path, "compare", "BK-01:M:1", "BK-01:M:2", "--json", "--picture", tmp_path / "c.png"
        )
    )
    assert {each["what"] for each in changes["changes"]} >= {"added", "dropped", "allowance"}
    assert (tmp_path / "c.png").read_bytes().startswith(b"\x89PNG")

    again = tmp_path / "again"
    _run(tmp_path, "recut", "BK-01:M:1", "--card", "gusset", "--out", again, "--seconds", "0")
    assert len(list(again.glob("*.plt"))) == 1
    shown = json.loads(_run(tmp_path, "show", "BK-01:M:1", "--json"))
    assert shown["cut"][0]["what"] == "files made for gusset"
    assert [seam["faults"] for seam in shown["seams"]] == [[], []]

    _run(tmp_path, "export", "BK-01:M:2", "--out", tmp_path / "smock.zip")
    _run(tmp_path, "bring", tmp_path / "smock.zip", rack="other.sqlite")
    assert json.loads(_run(tmp_path, "check", "--json", rack="other.sqlite"))["good"]


def test_recut_gives_the_same_bytes_as_making_it_did(few, tmp_path):
    """Every file of the folder: here, and on another rack, by the profile that it was put with.

    The version that the set file states is not the number that the rack counts.
    """
    few.write_text(few.read_text().replace("[set]", '[set]\nversion = "7"', 1))
    chosen = [word for card in ("gusset", "loop") for word in ("--card", card)]
    words = ["make", few, "--machine", "craft-cutter", "--seconds", "0", *chosen]
    words += ["--out", tmp_path / "made"]
    done = CliRunner().invoke(plotout, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    made = _folder(tmp_path / "made")
    assert len(made) > 4
    _run(tmp_path, "put", few, "--machine", "craft-cutter")
    _run(tmp_path, "export", "BK-01", "--out", tmp_path / "smock.zip")
    _run(tmp_path, "bring", tmp_path / "smock.zip", rack="other.sqlite")
    for rack in ("rack.sqlite", "other.sqlite"):
        _run(tmp_path, "recut", "BK-01", *chosen, "--out", tmp_path / rack[:5], rack=rack)
        assert _folder(tmp_path / rack[:5]) == made


def _folder(path):
    return {file.name: file.read_bytes() for file in path.iterdir()}


@pytest.mark.thorough
def test_recut_is_by_the_calibration_that_it_was_put_with(few, tmp_path):
    """A hundredth longer along x: so are the cards then, whatever the machine is now."""
    shipped = profile.find("craft-cutter", plugins.machine_files()).read_text()
    mine = tmp_path / "mine.toml"
    mine.write_text(with_calibration(shipped, MEASURED))
    _run(tmp_path, "put", few, "--machine", mine)
    mine.write_text(shipped)
    _run(tmp_path, "recut", "BK-01", "--card", "loop", "--out", tmp_path / "then")
    _run(tmp_path, "recut", "BK-01", "--card", "loop", "--machine", mine, "--out", tmp_path / "now")
    then, now = (next((tmp_path / name).glob("*.plt")).read_bytes() for name in ("then", "now"))
    assert then != now
    assert then == _by_hand(few, with_calibration(shipped, MEASURED), tmp_path)


def _by_hand(few, text, folder):
    path = folder / "by-hand" / "mine.toml"
    path.parent.mkdir()
    path.write_text(text)
    machine = job.load_machine(str(path))
    made = job.plan(job.Request(job.read_set(few), machine, seconds=0, cards=("loop",)))
    return made.results[0].data
