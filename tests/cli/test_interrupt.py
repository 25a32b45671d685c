"""Ctrl-C that Python loses (an exception in a callback is only reported): nothing may be sent."""

import os
import pty
import select
import signal
import sys
import time
import weakref

import pytest

from plotout.cli import interrupt
from plotout.cli.keys import watched
from plotout.sending.watch import Wish

pytestmark = pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")


class Thing:
    """Something with a weak reference."""


def _lose_a_press():
    """Press Ctrl-C in a callback, as it happens in one of the import system."""
    thing = Thing()
    kept = weakref.ref(thing, lambda _gone: signal.raise_signal(signal.SIGINT))
    del thing
    return kept


def test_a_press_that_python_lost_is_heeded_before_a_job_begins():
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with interrupt.remembered():
            _lose_a_press()  # raises nothing
            with pytest.raises(KeyboardInterrupt), watched(Wish(), lambda _on: None):
                pass
        interrupt.heed()  # the next command begins anew
        assert signal.signal(signal.SIGINT, before) is signal.default_int_handler
    finally:
        signal.signal(signal.SIGINT, before)


def test_without_a_press_a_job_begins():
    with interrupt.remembered():
        interrupt.heed()
        with watched(Wish(), lambda _on: None):
            pass


def test_a_key_after_a_job_is_left_for_the_next_question(monkeypatch):
    """It would be read, and thrown away, by what listened for keys while the machine worked."""
    ours, theirs = pty.openpty()
    with os.fdopen(theirs) as terminal:
        monkeypatch.setattr(sys, "stdin", terminal)
        with watched(Wish(), lambda _on: None):
            pass
        os.write(ours, b"y\n")
        time.sleep(0.3)
        assert select.select([terminal], [], [], 0.0)[0]
        assert os.read(theirs, 9) == b"y\n"
    os.close(ours)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="terminals of their own are for Unix")
def test_a_key_pressed_before_a_job_listens_counts():
    """Its user sees the machine being greeted, and stops; the terminal kept the key."""
    pid, terminal = pty.fork()
    if not pid:  # the job
        try:
            sys.stdin = open(0, closefd=False)  # noqa: SIM115
            os.read(0, 9)  # its question's answer
            wish, end = Wish(), time.monotonic() + 5.0
            with watched(wish, lambda _on: None):
                while not wish.stop and time.monotonic() < end:
                    time.sleep(0.01)
        finally:
            os._exit(0 if wish.stop else 1)
    os.write(terminal, b"y\nq")
    _, status = os.waitpid(pid, 0)
    os.close(terminal)
    assert os.waitstatus_to_exitcode(status) == 0
