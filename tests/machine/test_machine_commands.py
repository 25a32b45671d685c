"""The commands `machines` and `strip`, run as a user runs them."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from plotout.cli import plotout
from plotout.errors import UserError
from plotout.machine import profile


@pytest.fixture(autouse=True)
def own(tmp_path, monkeypatch):
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path / "own"))
    return tmp_path / "own"


def run(*words):
    result = CliRunner().invoke(plotout, list(words), standalone_mode=False)
    if result.exception:
        raise result.exception
    return result.output


def test_machines_are_listed_and_told():
    report = json.loads(run("machines", "--json"))
    assert {each["name"] for each in report["machines"]} >= {"craft-cutter", "laser"}
    told = run("machines", "laser")
    assert "0.15" in told
    assert "licensed practice" in told


def test_the_strips_best_field_goes_to_the_users_own_profile(tmp_path, own):
    out = tmp_path / "out"
    report = json.loads(run("strip", "--machine", "craft-cutter", "--out", str(out), "--json"))
    assert (out / "strip-craft-cutter.plt").stat().st_size > 1000
    assert (out / "strip-craft-cutter.png").exists()
    assert len(report["fields"]) == 25
    asked = report["fields"]["B4"]
    run("strip", "--machine", "craft-cutter", "--best", "b4")
    before = profile.parse(
        (profile.shipped()[0].parent / "craft-cutter.toml").read_text(), own / "x.toml"
    )
    after = profile.load("craft-cutter")
    blade = next(tool for tool in after.tools if tool.name == "blade")
    assert f"{blade.force:g} gf" == asked["force"]
    assert f"{blade.offset:g} mm" == asked["offset"]
    assert len({tool.offset for tool in after.tools if tool.number == blade.number}) == 1
    assert [tool.speed for tool in after.tools] == [tool.speed for tool in before.tools]
    text, shipped_text = (own / "craft-cutter.toml").read_text(), profile.shipped()[1].read_text()
    assert text.count("#") == shipped_text.count("#")  # the user's notes stay


def test_a_second_strip_for_the_overcut(tmp_path):
    words = ("--machine", "craft-cutter", "--down", "overcut", "--across", "force")
    report = json.loads(run("strip", *words, "--out", str(tmp_path), "--json"))
    assert report["fields"]["C1"]["overcut"] == "0.5 mm"
    run("strip", *words, "--best", "E2")
    blade = next(tool for tool in profile.load("craft-cutter").tools if tool.name == "blade")
    assert blade.overcut == 1.5


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--best", "Z9"), "no field"),
        (("--best", "B2", "--down", "forse"), "Did you mean 'force'"),
        (("--best", "B2", "--tool", "blad"), "Did you mean 'blade'"),
        (("--best", "B2", "--down", "offset"), "both vary"),
        ((), "one of --out and --best"),
    ],
)
def test_what_is_wrong_is_told(words, said):
    with pytest.raises(UserError, match=said):
        run("strip", "--machine", "craft-cutter", *words)


@pytest.mark.parametrize("name", ["laser", "gantry-knife"])
def test_strips_for_other_machines_prove_well(tmp_path, name):
    assert json.loads(run("strip", "--machine", name, "--out", str(tmp_path), "--json"))["seconds"]


def test_one_broken_profile_does_not_hide_the_others(tmp_path, monkeypatch):
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path))
    (tmp_path / "mine.toml").write_text('title = "Mine"\nkind = "knive"\n')
    done = CliRunner().invoke(plotout, ["machines"])
    assert done.exit_code == 0
    assert "gantry-knife" in done.output
    assert "Not read:" in done.output
    assert "Did you mean 'knife'" in done.output


def test_a_misspelt_command_is_told_the_right_one():
    done = CliRunner().invoke(plotout, ["machine"])
    assert done.exit_code == 2
    assert "Did you mean 'machines'?" in done.output
