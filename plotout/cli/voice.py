"""Words that hold up nobody: a terminal may be stopped with Ctrl-S, or a pipe be full.

While a machine works, whoever waits for a terminal can neither feed it nor stop it.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from queue import SimpleQueue

import click

ENDING = 1.0  # s for a terminal to take the last words


@dataclass(slots=True)
class Voice:
    """Prints to the terminal; within `apart` without waiting for it."""

    _words: SimpleQueue[tuple[str, bool, bool] | None] = field(default_factory=SimpleQueue)
    _apart: bool = False

    def say(self, text: str, *, err: bool, nl: bool = True) -> None:
        """Print text. A closed terminal is no error: the machine must still be stopped."""
        if self._apart:
            self._words.put((text, err, nl))
        else:
            _print(text, err, nl)

    @contextmanager
    def apart(self) -> Iterator[None]:
        """Print from a thread of its own."""
        thread = threading.Thread(target=self._print_all, daemon=True)
        thread.start()
        self._apart = True
        try:
            yield
        finally:
            self._apart = False
            self._words.put(None)
            thread.join(ENDING)

    def _print_all(self) -> None:
        while (words := self._words.get()) is not None:
            _print(*words)


def _print(text: str, err: bool, nl: bool) -> None:
    with suppress(OSError, ValueError):
        click.echo(text, err=err, nl=nl)
