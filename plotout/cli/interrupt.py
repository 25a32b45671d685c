"""Ctrl-C before a machine works. Python loses one that comes while a module is being loaded: its
exception ends in a callback of the import system, and the job would begin all the same.
"""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

_pressed = False


@contextmanager
def remembered() -> Iterator[None]:
    """Remember a Ctrl-C within this context, besides raising KeyboardInterrupt at once."""
    global _pressed  # noqa: PLW0603 (a process has one Ctrl-C)
    _pressed = False
    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield  # somebody else answers, or nobody is to
        return

    def press(_number: int, _frame: FrameType | None) -> None:
        global _pressed  # noqa: PLW0603
        _pressed = True
        raise KeyboardInterrupt

    signal.signal(signal.SIGINT, press)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        _pressed = False


def heed() -> None:
    """Raise KeyboardInterrupt if Ctrl-C was pressed and that led to nothing."""
    if _pressed:
        raise KeyboardInterrupt
