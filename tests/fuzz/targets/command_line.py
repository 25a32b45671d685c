"""Runs a command in this process, as a user would, in a folder with nothing of the user's own."""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

KERNELS = Path(tempfile.gettempdir()) / "plotout-fuzz-kernels"


def run(folder: Path, *words: str) -> str:
    """Run a command, and return what it said. Raises plotout's own errors, as the commands do."""
    import click

    from plotout.cli import plotout

    said = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="surrogateescape")
    with _in(folder), contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            plotout(list(words), standalone_mode=False)
        except click.ClickException as wrong:
            wrong.show(said)
        except (click.Abort, click.exceptions.Exit):
            pass
        except SystemExit as end:
            if end.code not in (None, 0, 1, 2):
                raise
    said.flush()
    text = said.buffer.getvalue().decode("utf-8", "replace")
    strange = sorted({c for c in text if ord(c) < 32 and c not in "\n\t\r"})
    if strange:
        raise AssertionError(f"a terminal would obey {strange}")
    return text


@contextlib.contextmanager
def _in(folder: Path) -> Iterator[None]:
    before, known = Path.cwd(), dict(os.environ)
    own = {f"PLOTOUT_{name.upper()}": str(folder / name) for name in ("machines", "rack", "jobs")}
    own |= {"NUMBA_CACHE_DIR": str(KERNELS)}  # else each input would compile them again
    os.environ |= own | {"HOME": str(folder), "XDG_CONFIG_HOME": str(folder)}
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)
        os.environ.clear()
        os.environ.update(known)
