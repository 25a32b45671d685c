"""Shows how far long work has come: how many of how many, and the time left.

A terminal gets a bar; anything else, and a terminal that can't move its cursor (TERM=dumb), gets
plain lines, few of them, and none for work that is soon done. All goes to standard error.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING

import click

from plotout.cli.interrupt import answered
from plotout.errors import StoppedAgain

if TYPE_CHECKING:
    from rich.progress import TaskID

    from plotout.job import Progress

SOON = 3.0  # seconds: shorter work says nothing in plain lines
LEAST_GAINED = 0.02  # of a stage, to judge its pace by
BETWEEN = 5.0  # seconds from one plain line to the next


@contextmanager
def progress(shown: bool = True) -> Iterator[Progress]:
    """Give a function that takes a stage, its share done (0 to 1), and how many things it is of.

    Raises StoppedAgain at the second Ctrl-C; the first ends the work, or a search with its best.
    """
    with _stopping():
        if not shown:
            yield lambda _stage, _share, _of=0: None
        elif can_redraw():
            with _bar() as advance:
                yield advance
        else:
            yield plain_lines()


@contextmanager
def _stopping() -> Iterator[None]:
    """Answer Ctrl-C in words, since a search that keeps its best so far goes on without any."""
    pressed = 0

    def stop() -> None:
        nonlocal pressed
        pressed += 1
        if pressed > 1:
            raise StoppedAgain
        os.write(2, b"\nStopping. A search keeps the best found so far; Ctrl-C again ends all.\n")
        raise KeyboardInterrupt

    with answered(stop):
        yield
    if pressed:
        click.echo("A search was stopped early: the best found until then was used.", err=True)


def can_redraw() -> bool:
    """Return whether standard error is a terminal on which a line can be written over."""
    return sys.stderr.isatty() and os.environ.get("TERM", "") not in ("dumb", "unknown")


def plain_lines(
    say: Callable[[str], None] = lambda line: click.echo(line, err=True),
    clock: Callable[[], float] = monotonic,
) -> Progress:
    """Return what writes a line now and then."""
    from plotout.job import PREPARING

    start = clock()
    paces: dict[str, _Pace] = {}
    last = start + SOON - BETWEEN

    def advance(stage: str, share: float, of: int = 0) -> None:
        nonlocal last
        now = clock()
        new = stage not in paces
        words = paces.setdefault(stage, _Pace()).words(share, of, now)
        if now - last >= BETWEEN or (new and stage == PREPARING):
            last = now
            say(f"{stage}{words}")

    return advance


class _Pace:
    """How fast a stage goes on, from its first result: what comes before that is done only once."""

    def __init__(self) -> None:
        self._first: tuple[float, float] | None = None

    def words(self, share: float, of: int, now: float) -> str:
        """Return how far the stage has come, and the time left where the pace is known."""
        if share <= 0.0:
            return f": 0 of {of}" if of else ""
        done = f": {round(share * of)} of {of}" if of else f": {100.0 * share:.0f} %"
        self._first = self._first or (now, share)
        gained, seconds = share - self._first[1], now - self._first[0]
        if share >= 1.0 or gained < LEAST_GAINED:
            return done
        return f"{done}, {time_words(seconds * (1.0 - share) / gained)} left"


def time_words(seconds: float) -> str:
    """Return a time in words: seconds, or minutes and seconds."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


@contextmanager
def _bar() -> Iterator[Progress]:
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bar

    text = TextColumn("{task.description}{task.fields[far]}")
    # drawn on every update, not by a thread: a process with threads forks badly
    console = Console(stderr=True)
    with Bar(
        BarColumn(bar_width=12), text, console=console, transient=True, auto_refresh=False
    ) as bar:
        tasks: dict[str, tuple[TaskID, _Pace]] = {}
        drawn = 0.0

        def advance(stage: str, share: float, of: int = 0) -> None:
            nonlocal drawn
            new = stage not in tasks
            if new:
                tasks[stage] = bar.add_task(stage, total=1.0, far=""), _Pace()
            task, pace = tasks[stage]
            bar.update(task, completed=share, far=pace.words(share, of, monotonic()))
            if new or monotonic() > drawn + 0.1:
                bar.refresh()
                drawn = monotonic()

        yield advance
