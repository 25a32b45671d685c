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
    run("strip", "--machine", "craft-cutter", "--out", str(out), "--best", "b4")
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
    run("strip", *words[:2], "--out", str(tmp_path), "--best", "E2")
    blade = next(tool for tool in profile.load("craft-cutter").tools if tool.name == "blade")
    assert blade.overcut == 1.5


def test_a_second_choice_keeps_what_the_strip_bears(tmp_path):
    """The first choice has changed the profile; the strip in the user's hand is still the same."""
    words = ("strip", "--machine", "craft-cutter", "--out", str(tmp_path))
    asked = json.loads(run(*words, "--json"))["fields"]["D3"]
    run(*words, "--best", "A1")
    run(*words, "--best", "D3")
    blade = next(tool for tool in profile.load("craft-cutter").tools if tool.name == "blade")
    assert (f"{blade.force:g} gf", f"{blade.offset:g} mm") == (asked["force"], asked["offset"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--best", "Z9"), "no field"),
        (("--best", "B2", "--down", "force"), "says what it varies"),
        (("--down", "forse"), "Did you mean 'force'"),
        (("--tool", "blad"), "Did you mean 'blade'"),
        (("--down", "offset", "--across", "offset"), "both vary"),
        (("--down", "depth"), "no depth in the profile"),
        (("--best", "B2", "--machine", "laser"), "no strip for 'laser' was made"),
        (("--machine", "home-a4"), "no settings of a tool to try"),
        (("--machine", "svg-file", "--down", "speed"), "no settings of a tool to try"),
        (("--machine", "home-a4", "--down", "overcut"), "no settings of a tool to try"),
    ],
)
def test_what_is_wrong_is_told(tmp_path_factory, strip_there, words, said):
    with pytest.raises(UserError, match=said):
        run("strip", "--machine", "craft-cutter", "--out", str(strip_there), *words)


@pytest.fixture(scope="module")
def strip_there(tmp_path_factory):
    out = tmp_path_factory.mktemp("strip")
    CliRunner().invoke(plotout, ["strip", "--machine", "craft-cutter", "--out", str(out)])
    return out


def test_a_list_that_was_spoilt_is_told(tmp_path):
    words = ("strip", "--machine", "craft-cutter", "--out", str(tmp_path), "--best", "B2")
    for text in ("", "[]", '{"tool": "blade", "fields": {"B2": {}}}', '{"tool": "blade"}',
                 '{"tool": "blade", "fields": {"B2": 3}}'):  # fmt: skip
        (tmp_path / "strip-craft-cutter.json").write_text(text)
        with pytest.raises(UserError, match="not a list of a strip"):
            run(*words)


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
