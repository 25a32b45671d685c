"""What a shell is offered: by click's own classes, as a shell asks."""

from __future__ import annotations

import pytest
from click.shell_completion import ShellComplete
from click.testing import CliRunner

from plotout.cli import plotout


def offered(words, incomplete):
    shell = ShellComplete(plotout, {}, "plotout", "_PLOTOUT_COMPLETE")
    return [item.value for item in shell.get_completions([*words], incomplete)]


@pytest.fixture
def set_file(tmp_path):
    path = tmp_path / "set.toml"
    path.write_text('[[piece]]\nname = "Neck band"\n[[piece]]\nname = "前身頃"\n[[piece]]\nx = 1\n')
    return str(path)


def test_machines():
    assert "craft-cutter" in offered(["make", "--machine"], "cr")
    assert offered(["make", "--machine"], "no-such-thing") == ["no-such-thing"]  # a path's start


def test_pieces_and_cards(set_file):
    assert offered(["show", set_file, "--piece"], "") == ["Neck band", "前身頃"]
    assert offered(["show", set_file, "--piece"], "ne") == ["Neck band"]
    assert offered(["make", set_file, "--card"], "") == ["neck-band", "前身頃"]


def test_what_cannot_be_read_offers_nothing(tmp_path, monkeypatch):
    monkeypatch.setenv("PLOTOUT_RACK", str(tmp_path / "no-rack.db"))
    (tmp_path / "odd.toml").write_bytes(b"[[\xff")
    assert offered(["show", str(tmp_path / "odd.toml"), "--piece"], "") == []
    assert offered(["show", str(tmp_path / "none.toml"), "--piece"], "") == []
    assert offered(["rack", "--at", str(tmp_path / "none.db"), "show"], "") == []


def test_sets_on_the_rack(tmp_path, monkeypatch):
    monkeypatch.setenv("PLOTOUT_RACK", str(tmp_path / "rack.db"))
    path = tmp_path / "set.toml"
    path.write_text(
        '[set]\nname = "Tab"\nstyle = "TB-1"\n[[piece]]\nname = "Tab"\n'
        'rectangle = ["120 mm", "90 mm"]\ncut = [{ cloth = "self" }]\n'
    )
    done = CliRunner().invoke(plotout, ["rack", "put", str(path)], catch_exceptions=False)
    assert done.exit_code == 0
    assert any(item.startswith("TB-1") for item in offered(["rack", "show"], "tb"))
    assert offered(["rack", "--at", str(tmp_path / "none.db"), "show"], "tb") == []
    monkeypatch.setenv("PLOTOUT_RACK", str(tmp_path / "none.db"))
    assert offered(["rack", "show"], "tb") == []
    named = offered(["rack", "--at", str(tmp_path / "rack.db"), "show"], "tb")
    assert any(item.startswith("TB-1") for item in named)


def test_a_cloths_width_without_a_unit_is_asked_about(tmp_path):
    from plotout import UserError

    words = ["cloth", str(tmp_path / "set.toml"), "--width", "140"]
    done = CliRunner().invoke(plotout, words)
    assert isinstance(done.exception, UserError)
    assert "140 cm" in str(done.exception)


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_every_shell_that_help_names_is_answered(shell, monkeypatch):
    from plotout.cli import plotout as command

    assert f"{shell}_source" in (command.help or "")
    where = {"COMP_WORDS": "plotout make --machine cr", "COMP_CWORD": "3"}
    if shell == "fish":
        where = {"COMP_WORDS": "plotout make --machine ", "COMP_CWORD": "cr"}
    for name, value in where.items():
        monkeypatch.setenv(name, value)
    done = CliRunner().invoke(
        plotout, [], prog_name="plotout", env={"_PLOTOUT_COMPLETE": f"{shell}_complete"}
    )
    assert "craft-cutter" in done.output
