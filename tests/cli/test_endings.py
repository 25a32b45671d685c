"""How a command ends: stopped by its user, without an answer, or by a fault of ours."""

import io
import json
import os
import signal
import time

import click
import pytest

from plotout import cli
from plotout.cli import interrupt
from plotout.cli.sending import calls
from plotout.sending.find import Doubt


@pytest.fixture
def ended(monkeypatch, capsys):
    def _ended(what, *words):
        """Return the exit code and what was printed of a command that does `what`."""

        @click.command()
        @click.option("--json", "as_json", is_flag=True)
        def ask(as_json):
            what()

        monkeypatch.setattr(cli, "plotout", ask)
        monkeypatch.setattr("sys.argv", ["plotout", *words])
        monkeypatch.setattr("sys.stdin", io.StringIO())
        monkeypatch.setattr("click.termui.visible_prompt_func", input)  # which `main` sets
        with pytest.raises(SystemExit) as end:
            cli.main()
        return end.value.code, *capsys.readouterr()

    return _ended


def _damaged():
    raise EOFError("marshal data too short")


def _interrupted():
    raise KeyboardInterrupt


def test_end_of_input_at_a_question_is_no_stop(ended):
    code, _, told = ended(lambda: click.confirm("Go on?", err=True))
    assert code == 2
    assert "the question was not answered" in told


def test_an_end_of_file_inside_plotout_is_no_stop(ended):
    """As a compiled module cut off by a full disk raises it; click takes it for the user's."""
    code, _, told = ended(_damaged)
    assert code == 1
    assert "internal error: EOFError: marshal data too short" in told
    assert "Stopped" not in told


def test_an_interrupt_is_one(ended):
    code, _, told = ended(_interrupted)
    assert code == 130
    assert "Stopped." in told


@pytest.mark.parametrize("typed", [EOFError, KeyboardInterrupt])
@pytest.mark.parametrize("ask", ["agreed", "which"])
def test_ctrl_c_at_a_question_of_sending_is_a_stop(ended, monkeypatch, ask, typed):
    """The end of input is none: the first question then says so, the second has its own words."""
    questions = calls(yes=False, as_json=False)
    answers = []

    def asked():
        doubt = Doubt("In doubt", 3, 5, 9)
        answers.append(questions.agreed("Safe?") if ask == "agreed" else questions.which(doubt))

    def typing(_prompt):
        raise typed

    monkeypatch.setattr("plotout.cli.interrupt.typed", typing)
    code, _, told = ended(asked)
    if typed is KeyboardInterrupt:
        assert (code, "Stopped." in told, answers) == (130, True, [])
    elif ask == "agreed":
        assert (code, "not answered" in told, "--yes" in told) == (2, True, True)
    else:
        assert (code, answers) == (None, [None])


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "SIGQUIT"])
@pytest.mark.parametrize("ask", ["agreed", "which", "just after"])
def test_a_signal_before_anything_is_sent_ends_in_words(ended, monkeypatch, ask, name):
    questions = calls(yes=False, as_json=False)
    number = getattr(signal, name)
    before = signal.signal(number, signal.SIG_DFL)  # it is ignored under nohup, say

    def typing(_prompt):
        os.kill(os.getpid(), number)
        time.sleep(1.0)
        raise AssertionError("the question went on")

    def asked():
        with interrupt.remembered():
            if ask == "just after":
                typing("")
            doubt = Doubt("In doubt", 3, 5, 9)
            return questions.agreed("Safe?") if ask == "agreed" else questions.which(doubt)

    monkeypatch.setattr("plotout.cli.interrupt.typed", typing)
    try:
        code, _, told = ended(asked)
        assert signal.getsignal(number) is signal.SIG_DFL
    finally:
        signal.signal(number, before)
    assert (code, "Stopped." in told) == (130, True)


@pytest.mark.parametrize(
    ("typed", "taken"), [("4", 4), ("7 n 4", 4), ("7 y", 7), ("0 y", 0), ("12 5", 5)]
)
def test_who_looks_at_the_sheet_may_know_better_than_the_machine(monkeypatch, typed, taken):
    """After a power cut its count may be anything; no stroke beyond the file's is taken."""
    questions = calls(yes=False, as_json=False)
    words = iter(typed.split())
    monkeypatch.setattr("click.termui.visible_prompt_func", lambda _prompt: next(words))
    assert questions.which(Doubt("In doubt", 3, 5, 9)) == taken
    assert not list(words)


def _asking():
    click.prompt("Which?", err=True)


@pytest.mark.parametrize(
    ("what", "kind"), [(_damaged, "fault"), (_interrupted, "stopped"), (_asking, "input")]
)
def test_the_report_says_the_same(ended, what, kind):
    _, report, _ = ended(what, "--json")
    (error,) = json.loads(report)["errors"]
    assert error["kind"] == kind
