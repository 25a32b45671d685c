"""Shows progress on the terminal; silent where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import TaskID


@contextmanager
def progress(shown: bool = True) -> Iterator[Callable[[str, float], None]]:
    """Give a function that takes a stage and its share done (0 to 1); it writes to stderr."""
    if not (shown and sys.stderr.isatty()):
        yield lambda _stage, _share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description:<24}"), BarColumn(), TimeElapsedColumn())
    # drawn on every update, not by a thread: a process with threads forks badly
    console = Console(stderr=True)
    with Progress(*columns, console=console, transient=True, auto_refresh=False) as bar:
        tasks: dict[str, TaskID] = {}
        drawn = 0.0

        def tell(stage: str, share: float) -> None:
            nonlocal drawn
            new = stage not in tasks
            if new:
                tasks[stage] = bar.add_task(stage, total=1.0)
            bar.update(tasks[stage], completed=share)
            if new or monotonic() > drawn + 0.1:
                bar.refresh()
                drawn = monotonic()

        yield tell
