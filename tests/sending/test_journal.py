"""A journal: what it said is asked for, not guessed, where a record is missing from its middle."""

import errno
import itertools
import os

import numpy as np
import pytest

from plotout import plugins
from plotout.cli.resume_command import _last as last_journal
from plotout.errors import MachineError, UserError
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.find import Deciding, find_unit


def _written(path, *records):
    with journal.opened(path) as book:
        for record in records:
            book.write(**record)
    return path.read_bytes().splitlines(keepends=True)


def _read(path, lines):
    path.write_bytes(b"".join(lines))
    return journal.read(path)


RUN = ({"job": {}}, {"sent": 32}, {"done": 5}, {"done": 9}, {"sent": 64}, {"done": 40})


@pytest.mark.parametrize("left", range(1, 5))
def test_a_line_that_is_missing_is_noticed(tmp_path, left):
    path = tmp_path / "j"
    lines = _written(path, *RUN)
    told = _read(path, lines[:left] + lines[left + 1 :])
    assert (told.sound, told.gaps) == (False, True)
    assert f"incomplete: 1 record missing after the first {left}" in told.note
    assert told.doubt[0] <= 40
    assert max(told.doubt) == (40 if left == 4 else 64)


def test_lines_in_another_order_are_noticed(tmp_path):
    path = tmp_path / "j"
    lines = _written(path, *RUN)
    for one, other in itertools.combinations(range(1, len(lines)), 2):
        mixed = list(lines)
        mixed[one], mixed[other] = mixed[other], mixed[one]
        assert _read(path, mixed).gaps
    told = _read(path, [*lines, lines[2]])
    assert "not in their order" in told.note


def test_the_user_is_asked_and_not_the_machine(tmp_path, hpgl_file):
    """The missing record may have said that the machine was reset."""

    path = tmp_path / "j"
    told = _read(path, [line for n, line in enumerate(_written(path, *RUN)) if n != 3])
    asked = []
    with cut_file(hpgl_file(80)[0], plugins.language("hpgl"), 0.025) as file:
        deciding = Deciding(lambda _: None, lambda doubt: asked.append(doubt) or 7, 1.0)
        found = find_unit(file, object(), told, deciding)
    assert found.unit == 7
    assert "incomplete" in asked[0].why
    assert asked[0].least <= 9
    assert asked[0].most >= 80  # nothing shows what else the missing one said


def test_a_record_that_says_all_makes_up_for_one_that_is_missing(tmp_path):
    path = tmp_path / "j"
    lines = _written(path, *RUN, {"settled": 41})
    told = _read(path, lines[:2] + lines[3:])
    assert (told.sound, told.gaps, told.settled, told.done) == (False, False, True, 41)


def test_a_journal_goes_on_with_the_next_number(tmp_path):
    """Also one of an older version, without numbers."""
    path = tmp_path / "j"
    lines = _written(path, *RUN)
    _written(path, {"begun": 40}, {"done": 41})
    assert journal.read(path).sound
    path.write_bytes(b"".join(lines) + b"half a li")
    _written(path, {"begun": 40})
    assert journal.read(path).sound
    with pytest.raises(UserError):
        _read(path, lines[1:])


def test_a_journal_of_a_job_that_sent_nothing_is_told(tmp_path):
    """Killed before it began: nothing is there to resume, or what was begun before is."""
    (tmp_path / "20260411-101500-b.journal").touch()
    with pytest.raises(UserError, match="the only journal is empty") as no:
        last_journal(tmp_path, print)
    assert "b.journal" in str(no.value)
    earlier = tmp_path / "20260411-101400-a.journal"
    _written(earlier, {"job": {}})
    said = []
    assert last_journal(tmp_path, said.append) == earlier
    assert "b.journal is empty" in said[0]
    (tmp_path / "none").mkdir()
    with pytest.raises(UserError, match="no job has been started yet"):
        last_journal(tmp_path / "none", print)


def test_journal_is_believed_as_far_as_it_is_sound(tmp_path):
    path = tmp_path / "j"
    with journal.opened(path) as book:
        book.write(job={"file": "a"})
        for done in range(1, 9):
            book.write(sent=done + 2)
            book.write(done=done)
    whole = path.read_bytes()
    assert journal.read(path).done == 8
    lines = whole.splitlines(keepends=True)
    for cut in range(len(lines[0]), len(whole)):
        path.write_bytes(whole[:cut])
        told = journal.read(path)
        assert told.done <= 8
        assert told.sound == (cut in np.cumsum([len(line) for line in lines]))
    path.write_bytes(b"".join(lines[:5]) + b"00000000 garbage\n" + b"".join(lines[5:]))
    told = journal.read(path)
    assert (told.done, told.sound) == (2, False)
    assert "5 records" in told.note
    path.write_bytes(b"garbage")
    with pytest.raises(UserError, match="not a journal"):
        journal.read(path)


def test_a_full_disk_stops_before_anything_is_sent(tmp_path, monkeypatch):
    def full(_descriptor):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fdatasync", full)
    with (
        pytest.raises(MachineError, match="No space left"),
        journal.opened(tmp_path / "j") as book,
    ):
        book.write(job={})
