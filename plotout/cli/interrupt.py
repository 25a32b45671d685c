"""Ctrl-C: who answers it, and one that Python loses.

It loses one that comes while a module is being loaded: its exception ends in a callback of the
import system, and a job would begin all the same.
"""

from __future__ import annotations

import signal
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
def asking() -> Iterator[None]:
    """Take a signal that would end the process without a word for Ctrl-C, within this context."""
    names = (name for name in ("SIGTERM", "SIGHUP", "SIGQUIT") if hasattr(signal, name))
    numbers = [signal.Signals[name] for name in names]
    ours = [one for one in numbers if signal.getsignal(one) is signal.SIG_DFL]
    for number in ours:
        signal.signal(number, signal.default_int_handler)
    try:
        yield
    finally:
        for number in ours:
            signal.signal(number, signal.SIG_DFL)


@contextmanager
def remembered() -> Iterator[None]:
    """Remember a Ctrl-C within this context, besides raising KeyboardInterrupt at once."""
    global _pressed  # noqa: PLW0603 (a process has one Ctrl-C)
    _pressed = False

    def press() -> None:
        global _pressed  # noqa: PLW0603
        _pressed = True
        raise KeyboardInterrupt

    try:
        with answered(press):
            yield
    finally:
        _pressed = False


def heed() -> None:
    """Raise KeyboardInterrupt if Ctrl-C was pressed and that led to nothing."""
    if _pressed:
        raise KeyboardInterrupt
