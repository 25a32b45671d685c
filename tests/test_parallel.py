"""Work beside other work gives what the same work would give here, faults and stops included."""

import math
import os
import signal
import subprocess
import sys
import threading
import time
from multiprocessing import active_children

import numpy as np
import pytest

from plotout import Place, UserError, parallel
from plotout.errors import PlotoutError, UserErrors

forked = pytest.mark.skipif(parallel.processors() == 1, reason="this system has no work beside")


def _slow_first(index):
    time.sleep(0.05 / (1 + index))
    return index, np.full((300, 300), index)  # more than a pipe holds


def test_results_come_in_order_whatever_takes_longer():
    found = list(parallel.results(_slow_first, range(7), weight=float))
    assert [index for index, _ in found] == list(range(7))
    assert all((array == index).all() for index, array in found)


def _slow_pid(_):
    time.sleep(0.02)
    return os.getpid()


@forked
def test_it_is_another_process():
    assert len(set(parallel.results(_slow_pid, range(9))) - {os.getpid()}) > 1


def _refuse(_):
    raise UserError("it is bad", fix="Mend it.", place=Place(piece="Yoke", at=(1.0, 2.0)))


def _refuse_twice(_):
    raise UserErrors([UserError("it is bad"), UserError("so is this")])


def test_several_faults_are_raised_here_whole():
    with pytest.raises(UserErrors) as caught:
        list(parallel.results(_refuse_twice, [1, 2, 3]))
    assert str(caught.value) == "2 things are wrong\nit is bad\nso is this"


def test_a_fault_is_raised_here_whole():
    with pytest.raises(UserError) as caught:
        list(parallel.results(_refuse, [1, 2, 3]))
    assert str(caught.value) == "piece 'Yoke', at x 1.00 mm, y 2.00 mm: it is bad\n  Mend it."


def _fail(_):
    raise type("Odd", (Exception,), {})("so it goes")


@forked
def test_a_fault_that_cannot_be_copied_is_told_in_words():
    with pytest.raises(RuntimeError, match="Odd: so it goes"):
        list(parallel.results(_fail, [1, 2]))


def _kill_itself(_):
    os.kill(os.getpid(), signal.SIGKILL)


@forked
def test_a_process_that_is_killed_is_told():
    with pytest.raises(PlotoutError, match="was killed"):
        list(parallel.results(_kill_itself, [1, 2]))


def _within(_):
    return list(parallel.results(abs, [-1, -2]))


def test_work_within_such_work_is_done_there():
    assert list(parallel.results(_within, [1, 2])) == [[1, 2]] * 2


@forked
def test_processes_that_are_started_anew_give_the_same(monkeypatch):
    """As on macOS and Windows: what they do comes to them as a copy."""
    monkeypatch.setattr(parallel, "_forks", lambda: False)
    assert list(parallel.results(math.sqrt, [4.0, 9.0, 16.0])) == [2.0, 3.0, 4.0]


STOPPED = """
import os, signal, time
from plotout import parallel

signal.signal(signal.SIGINT, signal.default_int_handler)  # which a shell's background job ignores

def work(_):
    os.write(1, b"%d\\n" % os.getpid())  # in one piece
    time.sleep(60)

try:
    list(parallel.results(work, range(5)))
except KeyboardInterrupt:
    print("stopped", flush=True)
"""


@forked
def test_ctrl_c_ends_all_of_it_without_a_word():
    """As a terminal does it: the signal goes to the whole group of processes."""
    with subprocess.Popen(
        [sys.executable, "-c", STOPPED], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    ) as process:  # fmt: skip
        begun = [int(process.stdout.readline()) for _ in range(2)]
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=10)
    assert out.splitlines()[-1] == "stopped"
    assert not err
    for number in begun:
        with pytest.raises(ProcessLookupError):
            os.kill(number, 0)


GIVEN_UP = """
from plotout import parallel

def large(_):
    return bytes(30_000_000)

for _ in range(5):
    found = parallel.results(large, range(6))
    next(found)
    found.close()
print("done")
"""


@forked
def test_a_process_that_is_ended_while_it_sends_a_result_is_not_waited_for():
    command = [sys.executable, "-c", GIVEN_UP]
    assert subprocess.run(command, capture_output=True, timeout=60).stdout == b"done\n"


def _pid(_):
    return os.getpid()


@pytest.mark.parametrize("count", [1, 5])
def test_what_is_done_meanwhile_is_done_here_once(count):
    done = []
    list(parallel.results(_pid, range(count), meanwhile=lambda: done.append(os.getpid())))
    assert done == [os.getpid()]


def _as_a_pair(item):
    return item, [*item]


@pytest.mark.parametrize("forks", [True, False])
def test_what_both_know_comes_back_itself_or_as_a_copy(monkeypatch, forks):
    if not forks:
        monkeypatch.setattr(parallel, "_forks", lambda: False)
    large = [np.arange(5), "x" * 9]
    known = [large, large[1]]
    for same, copy in parallel.results(_as_a_pair, [large, large, large], known=known):
        assert (same is large) == (forks and sys.platform == "linux") or parallel.processors() == 1
        assert same[1] == copy[1] == large[1]
        assert (copy[0] == large[0]).all()


@forked
def test_nothing_of_it_is_left_once_it_is_done():
    """A thread that still was would find its pipe closed at the interpreter's end, and say so."""
    before = set(threading.enumerate())
    list(parallel.results(_slow_first, range(5)))
    assert set(threading.enumerate()) == before
    assert not active_children()
