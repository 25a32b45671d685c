"""A job is sent by one process only, whichever terminal and port the others use."""

from dataclasses import replace

import pytest
from plotout_hpgl.virtual import HpglMachine
from processes import plotout

from plotout.errors import MachineError, UserError
from plotout.kit import Head
from plotout.machine import SendingSettings
from plotout.sending import journal, run
from plotout.sending.lock import job_is_free
from plotout.sending.order import Calls, Order
from plotout.sending.resume import resume
from plotout.sending.watch import Wish

JOB = {
    "file": "sheet.plt", "digest": "0", "machine": "craft-cutter", "port": "/dev/ttyNONE",
    "settings": {"language": "hpgl", "flow": "enquiry", "baud": 9600, "buffer": 1024},
    "step": 0.025, "bed": [0.0, 0.0, 100.0, 100.0],
}  # fmt: skip


@pytest.mark.parametrize("named", [True, False])
def test_a_job_that_is_being_sent_is_not_resumed(tmp_path, named):
    """Without its name the last job is taken; at another port its port's lock wouldn't show it."""
    path = tmp_path / "20261127-100000-sheet.journal"
    words = ["resume", "--yes", "--port", "/dev/ttyOTHER", *[path] * named]
    with journal.opened(path) as book:
        book.write(job=JOB)
        ended = plotout(*words, jobs=tmp_path)
        assert ended.returncode == 1
        assert f"the job of {path} is being sent by" in " ".join(ended.stderr.split())
        assert "Wait for that job, or stop it" in ended.stderr
    assert "being sent" not in plotout(*words, jobs=tmp_path).stderr
    assert {kept.suffix for kept in tmp_path.iterdir()} == {".journal", ".now"}


def test_a_journal_is_written_by_one_process(tmp_path):
    path = tmp_path / "a.journal"
    with journal.opened(path) as book:
        book.write(job=JOB)
        with pytest.raises(MachineError, match="is being sent by"), journal.opened(path):
            pass
        book.write(done=3)
    job_is_free(path)
    assert journal.read(path).done == 3


def test_a_job_that_another_process_went_on_with_meanwhile_is_not_sent(serve, hpgl_file, tmp_path):
    """While one terminal waited for its user's answer, another has resumed the job and ended."""
    path, _ = hpgl_file(6)
    machine = HpglMachine(head=Head(speed=0.0))
    settings = SendingSettings("hpgl", "enquiry", 115200, 1024, answers=True)
    bed = (-1e6, -1e6, 1e6, 1e6)
    with serve(machine) as line:
        stopped = Calls(wish=Wish(stop=True))
        order = Order(
            path, "virtual", str(line.link), settings, tmp_path / "j", 0.025, bed, stopped
        )
        assert run.run(order).stopped
        told = journal.read(tmp_path / "j")
        strokes = len(machine.head.strokes)

        def meanwhile(_question: str) -> bool:
            with journal.opened(tmp_path / "j") as book:
                book.write(begun=0)
                book.write(done=2)
            return True

        other = replace(order, calls=Calls(agreed=meanwhile, which=lambda _doubt: 0))
        with pytest.raises(UserError, match="another process has gone on with this job"):
            resume(other, told)
    assert len(machine.head.strokes) == strokes
