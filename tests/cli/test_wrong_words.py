"""Wrong values of options: a clear word and exit code 2, before anything is done."""

import pytest
from click.testing import CliRunner

from plotout.cli import plotout
from plotout.errors import UserError

SET = '[set]\nname = "A"\nstyle = "A"\n[[piece]]\nname = "A"\nrectangle = ["90 mm", "60 mm"]\n'


@pytest.fixture
def run(tmp_path, monkeypatch):
    (tmp_path / "set.toml").write_text(SET)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PLOTOUT_RACK", str(tmp_path / "rack"))

    def _run(*words):
        made = CliRunner().invoke(plotout, words)
        assert made.exit_code == 2 or isinstance(made.exception, UserError), made.output
        return str(made.exception) if isinstance(made.exception, UserError) else made.output

    return _run


@pytest.mark.parametrize("seconds", ["nan", "inf", "-1", "1e9", "ten"])
def test_seconds_are_a_number_that_can_be(run, seconds):
    words = ("make", "set.toml", "--machine", "laser", "--out", "out", f"--seconds={seconds}")
    assert "--seconds" in run(*words)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("cloth", "set.toml", "--width", "140 cm", "--lean", "nan"), "--lean"),
        (("cloth", "set.toml", "--width", "wide"), "'wide' is not a length"),
        (("picture", "set.toml", "--out", "o", "--width", "0"), "--width"),
        (("proof", "none.plt", "--machine", "laser"), "can't read the machine file"),
        (("chart", "set.toml", "--out", "set.toml"), "it is a file, not a folder"),
        (("rack", "--at", "set.toml", "list"), "this file is not a rack"),
        (("show", "set.tmol"), "Did you mean 'set.toml'?"),
        (("show", "set.toml", "--size", "M"), "The set has no sizes"),
    ],
)
def test_what_cannot_be_is_refused(run, words, told):
    assert told in run(*words)


def test_a_rack_is_not_backed_up_to_itself(run, tmp_path):
    CliRunner().invoke(plotout, ["rack", "put", "set.toml"])
    assert (tmp_path / "rack").is_file()
    assert "the rack itself" in run("rack", "backup", "rack")
