"""Keys and signals while a machine works: p pauses and resumes; q, Ctrl-C, SIGTERM stop.

Ctrl-Z pauses as well: a sender that stands still would leave the tool in the stock.
"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from types import FrameType
from typing import Any

import click

from plotout.cli import interrupt
from plotout.sending.watch import Wish

LISTENS = 0.1  # s for a key


@contextmanager
def watched(wish: Wish, paused: Callable[[bool], None], last: bool = False) -> Iterator[None]:
    """Let keys and signals set `wish` within this context; restore the terminal afterwards.

    paused: called when the user pauses (True) and resumes (False). last: signals have no effect
    any more until the command has ended, or one too many would hide what became of the tool.
    """

    def stop(_number: int, _frame: FrameType | None) -> None:
        wish.stop = True

    def pause(_number: int, _frame: FrameType | None) -> None:
        if not wish.pause:
            wish.pause = True
            paused(True)

    answers = {"SIGINT": stop, "SIGTERM": stop, "SIGHUP": stop, "SIGQUIT": stop, "SIGTSTP": pause}
    names = [name for name in answers if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), answers[name]) for name in names}
    try:
        interrupt.heed()
        with _keys(wish, paused):
            yield
    finally:
        command = click.get_current_context(silent=True) if last else None
        if command is None:
            _answer_by(before)
        else:
            _answer_by(dict.fromkeys(names, _stay))
            if not interrupt.process_ends:
                command.find_root().call_on_close(lambda: _answer_by(before))


def _stay(_number: int, _frame: FrameType | None) -> None:
    """Do nothing at a signal."""


def _answer_by(handlers: Mapping[str, Any]) -> None:
    for name, handler in handlers.items():
        signal.signal(getattr(signal, name), handler)


@contextmanager
def _keys(wish: Wish, paused: Callable[[bool], None]) -> Iterator[None]:
    try:
        import termios
        import tty
    except ImportError:  # Windows: Ctrl-C is enough
        yield
        return
    if sys.stdin is None or sys.stdin.closed or not sys.stdin.isatty():
        yield
        return
    descriptor = sys.stdin.fileno()
    saved = termios.tcgetattr(descriptor)
    going = threading.Event()
    going.set()
    reader = threading.Thread(target=_read, args=(descriptor, wish, going, paused), daemon=True)
    try:
        tty.setcbreak(descriptor, termios.TCSADRAIN)  # what was typed before counts, too
        reader.start()
        yield
    finally:
        going.clear()
        if reader.is_alive():  # it would take the answer to the next question
            reader.join(2.0 * LISTENS)
        with suppress(termios.error):
            termios.tcsetattr(descriptor, termios.TCSADRAIN, saved)


def _read(
    descriptor: int, wish: Wish, going: threading.Event, paused: Callable[[bool], None]
) -> None:
    import os
    import select

    while going.is_set():
        if not select.select([descriptor], [], [], LISTENS)[0]:
            continue
        try:
            key = os.read(descriptor, 1)
        except OSError:  # the terminal was closed
            key = b""
        if key in (b"p", b" "):
            wish.pause = not wish.pause
            wish.pauses += wish.pause
            paused(wish.pause)
        elif key in (b"q", b""):
            wish.stop = True
            return
