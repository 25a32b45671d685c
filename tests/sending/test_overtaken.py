"""A job that was left for another one: the machine's report is of the other."""

import os

import pytest
from plotout_hpgl.virtual import HpglMachine

from plotout import plugins
from plotout.errors import UserError
from plotout.kit import Head
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.find import Deciding, find_unit


def book(path, port, at):
    with journal.opened(path) as kept:
        kept.write(job={"port": port})
        kept.write(sent=6)
        kept.write(done=2)
    os.utime(path, (at, at))
    return path


@pytest.mark.parametrize(
    ("port", "at", "asked"), [("one", 200, True), ("one", 50, False), ("two", 200, False)]
)
def test_a_job_that_another_has_overtaken_is_left_to_its_user(tmp_path, port, at, asked):
    first = book(tmp_path / "a.journal", "one", 100)
    book(tmp_path / "b.journal", port, at)
    assert journal.read(first).overtaken is asked


def test_then_the_machine_is_not_asked(tmp_path, hpgl_file):
    path, _ = hpgl_file(8)
    first = book(tmp_path / "a.journal", "one", 100)
    book(tmp_path / "b.journal", "one", 200)
    ask = Deciding(lambda _text: None, lambda _doubt: None, 1.0)
    machine = HpglMachine(head=Head(speed=0.0))
    with (
        cut_file(path, plugins.language("hpgl"), 0.025) as file,
        pytest.raises(UserError, match="Another job has used this machine's port since: between 2"),
    ):
        find_unit(file, machine, journal.read(first), ask)
