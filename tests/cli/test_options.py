"""What every command promises alike: --help with an example, --json, and errors as JSON.

The promises are the project's own; JSON is read by Python's parser (RFC 8259).
"""

from __future__ import annotations

import json
from importlib import import_module

import click
import pytest
from click.testing import CliRunner

from plotout import cli
from plotout.cli.rack_command import rack


def commands() -> dict[str, click.Command]:
    """Every command by what is typed for it."""
    found = {
        name: getattr(import_module(f"plotout.cli.{name}_command"), name) for name in cli.COMMANDS
    }
    found |= {f"rack {name}": command for name, command in rack.commands.items()}
    return {
        name: command for name, command in found.items() if not isinstance(command, click.Group)
    }


@pytest.mark.parametrize("name", commands())
def test_every_command_has_an_example_and_json(name: str) -> None:
    command = commands()[name]
    assert f"plotout {name} " in (command.help or "").replace("\n", " ") + " "
    said = {option for param in command.params for option in param.opts}
    assert "--json" in said


@pytest.mark.parametrize("option", ["--json", "--stock", "--card", "--allow", "--limit", "--yes"])
def test_a_shared_option_is_one_and_the_same_everywhere(option: str) -> None:
    declared = [
        (param.name, param.type.name, param.multiple, param.default, param.help)
        for command in commands().values()
        for param in command.params
        if isinstance(param, click.Option) and option in param.opts
    ]
    alike = [each for each in declared if each[0] != "stock"]  # of `rack put`, a note in words
    assert alike
    assert len(set(map(str, alike))) == 1


def failed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *words: str
) -> tuple[int, str, str]:
    monkeypatch.setattr("sys.argv", ["plotout", *words])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


@pytest.mark.parametrize(
    ("words", "exit_code", "kind"),
    [
        (("show", "nothing.toml", "--json"), 2, "input"),
        (("page", "nothing.toml", "--json"), 2, "usage"),  # without --machine and --out
        (("sew", "--json"), 2, "usage"),
        (("machines", "no-such-machine", "--json"), 2, "input"),
    ],
)
def test_errors_are_told_as_json_too(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    exit_code: int,
    kind: str,
) -> None:
    code, out, err = failed(monkeypatch, capsys, *words)
    report = json.loads(out)
    assert (code, report["exit_code"]) == (exit_code, exit_code)
    assert report["errors"][0]["kind"] == kind
    assert report["errors"][0]["problem"] in err
    plain = tuple(word for word in words if word != "--json")
    assert failed(monkeypatch, capsys, *plain)[1] == ""


def test_an_error_says_its_place_as_data(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path
) -> None:
    path = tmp_path / "set.toml"
    path.write_text('[set]\nname = "Apron"\nstyle = "AP-1"\nstyle = "AP-2"\n')
    _, out, _ = failed(monkeypatch, capsys, "show", str(path), "--json")
    error = json.loads(out)["errors"][0]
    assert error["file"] == str(path)
    assert error["line"] == 4


def test_a_terminal_obeys_nothing_that_a_usage_error_quotes():
    done = CliRunner().invoke(cli.plotout, ["explain", "notch", "\x0b\x1b[2J"])
    assert done.exit_code == 2
    assert not set(done.output) & {"\x0b", "\x1b"}
    assert "unexpected extra argument" in done.output
