"""Shows on the terminal how far long work has come; silent where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress(shown: bool = True) -> Iterator[Callable[[str, float], None]]:
    """Give a function to be told a stage and its share done (0 to 1); writes to standard error."""
    if not (shown and sys.stderr.isatty()):
        yield lambda _stage, _share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description:<24}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        tasks: dict[str, object] = {}

        def tell(stage: str, share: float) -> None:
            if stage not in tasks:
                tasks[stage] = bar.add_task(stage, total=1.0)
            bar.update(tasks[stage], completed=share)  # type: ignore[arg-type]

        yield tell
