"""Ctrl-C that Python loses (an exception in a callback is only reported): nothing may be sent."""

import os
import pty
import select
import signal
import subprocess
import sys
import threading
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


def _press_in_another_thread():
    """Press Ctrl-C without ending what the main thread waits in: so it is, too, if the key comes
    when Python looked for signals last and doesn't wait for a line yet.
    """
    time.sleep(0.2)
    signal.pthread_kill(threading.get_ident(), signal.SIGINT)


def _at_a_terminal(monkeypatch):
    ours, theirs = pty.openpty()
    terminal = os.fdopen(theirs)
    monkeypatch.setattr(sys, "stdin", terminal)
    return ours, terminal


@pytest.mark.skipif(not hasattr(os, "fork"), reason="terminals of their own are for Unix")
def test_a_press_just_before_a_question_waits_ends_it(monkeypatch):
    ours, terminal = _at_a_terminal(monkeypatch)
    timer = threading.Timer(5.0, os.write, (ours, b"y\n"))  # else it would wait for ever
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    timer.start()
    try:
        threading.Thread(target=_press_in_another_thread).start()
        began = time.monotonic()
        with pytest.raises(KeyboardInterrupt):
            interrupt.typed("Is it safe to move? ")
        assert time.monotonic() - began < 4.0
    finally:
        signal.signal(signal.SIGINT, before)
        timer.cancel()
        terminal.close()
        os.close(ours)


ASKED = """
import signal, sys
import click
from plotout import cli
cli.plotout = lambda standalone_mode: print(click.confirm("Safe?", default=False, err=True))
cli.main()
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="terminals of their own are for Unix")
@pytest.mark.parametrize(
    ("keys", "told"), [(b"y\n", "True"), (b"\n", "False"), (b"x\ny\n", "True")]
)
def test_a_question_takes_the_line_that_is_typed(keys, told):
    ours, theirs = pty.openpty()
    asked = subprocess.Popen(
        [sys.executable, "-c", ASKED], stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    os.write(ours, keys)
    out, words = asked.communicate(timeout=20.0)
    os.close(ours)
    os.close(theirs)
    assert out.decode().strip() == told
    assert words.decode().startswith("Safe? [y/N]: ")
