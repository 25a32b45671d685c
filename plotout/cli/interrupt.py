"""Ctrl-C: who answers it, and those that Python loses.

It loses one that comes while a module is being loaded: its exception ends in a callback of the
import system, and a job would begin all the same. And one that comes between a question's words
and the wait for its answer is heeded only after the next key.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

_pressed = False
process_ends = False
"""The process ends with its command, so nobody needs the signals restored."""


@contextmanager
def answered(press: Callable[[], None]) -> Iterator[None]:
    """Have `press` answer Ctrl-C within this context, unless somebody else does or nobody may."""
    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return

    def answer(_number: int, _frame: FrameType | None) -> None:
        press()

    signal.signal(signal.SIGINT, answer)
    try:
        yield
    finally:
        if signal.getsignal(signal.SIGINT) is answer:
            signal.signal(signal.SIGINT, signal.default_int_handler)


@contextmanager
def remembered() -> Iterator[None]:
    """Remember a Ctrl-C within this context, besides raising KeyboardInterrupt at once. A signal
    that would end the process without a word is taken for one.
    """
    global _pressed  # noqa: PLW0603 (a process has one Ctrl-C)
    _pressed = False

    def press() -> None:
        global _pressed  # noqa: PLW0603
        _pressed = True
        raise KeyboardInterrupt

    def answer(_number: int, _frame: FrameType | None) -> None:
        press()

    ours = [one for one in _deadly() if signal.getsignal(one) is signal.SIG_DFL]
    for number in ours:
        signal.signal(number, answer)
    try:
        with answered(press):
            yield
    finally:
        for number in ours:
            if signal.getsignal(number) is answer:  # else a job has set what holds to the end
                signal.signal(number, signal.SIG_DFL)
        _pressed = False


def _deadly() -> list[signal.Signals]:
    names = (name for name in ("SIGTERM", "SIGHUP", "SIGQUIT") if hasattr(signal, name))
    return [signal.Signals[name] for name in names]


def heed() -> None:
    """Raise KeyboardInterrupt if Ctrl-C was pressed and that led to nothing."""
    if _pressed:
        raise KeyboardInterrupt


def typed(question: str) -> str:
    """Return the line typed after a question. As `input`, but for the Ctrl-C that comes just
    before it waits.
    """
    if os.name != "posix" or not sys.stdin.isatty():
        return input(question)
    print(question, end="", flush=True)
    _await_line(sys.stdin.fileno())
    return input()


def _await_line(terminal: int) -> None:
    """Wait until a terminal has a line to read. A signal counts however early it comes."""
    import select

    woken, wakes = os.pipe()
    os.set_blocking(wakes, False)
    before = signal.set_wakeup_fd(wakes, warn_on_full_buffer=False)
    try:
        heed()
        while woken in select.select([terminal, woken], [], [])[0]:
            os.read(woken, 64)
            heed()
    finally:
        signal.set_wakeup_fd(before)
        os.close(woken)
        os.close(wakes)
