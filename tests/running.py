"""Runs the command line as a user does, in a process of its own.

Where the system can fork, the process is a copy of the test's own, which has numpy and the rest
loaded already: a command starts in some milliseconds. Elsewhere a new Python is started.
"""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import IO, NoReturn

PATIENCE = 300  # s until a command that hangs is ended
COMMAND = [sys.executable, "-c", "from plotout.cli import main; main()"]


def plotout(
    *words: object, cwd: Path | None = None, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Return the exit code of `plotout WORDS` and what it wrote. env: added to the environment."""
    argv = [str(word) for word in words]
    if not hasattr(os, "fork"):
        return subprocess.run(
            [*COMMAND, *argv], cwd=cwd, env={**os.environ, **(env or {})},
            capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=PATIENCE,
        )  # fmt: skip
    import plotout.job  # noqa: F401  (loaded once, for every copy)

    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        process = os.fork()
        if process == 0:
            _become(argv, cwd, env or {}, out, err)
        _, status = os.waitpid(process, 0)
        out.seek(0)
        err.seek(0)
        return subprocess.CompletedProcess(
            argv, os.waitstatus_to_exitcode(status), out.read().decode(), err.read().decode()
        )


def _become(
    argv: list[str], cwd: Path | None, env: Mapping[str, str], out: IO[bytes], err: IO[bytes]
) -> NoReturn:
    """Be that command, in the copy."""
    code = 70  # of a command that did not come to its own end
    try:
        signal.alarm(PATIENCE)
        with open(os.devnull, "rb") as nothing:
            os.dup2(nothing.fileno(), 0)
        os.dup2(out.fileno(), 1)
        os.dup2(err.fileno(), 2)
        sys.stdin = io.TextIOWrapper(io.FileIO(0, closefd=False))
        sys.stdout, sys.stderr = (
            io.TextIOWrapper(io.FileIO(number, "w", closefd=False)) for number in (1, 2)
        )
        os.environ.update(env)
        if cwd:
            os.chdir(cwd)
        sys.argv = ["plotout", *argv]
        from plotout.cli import main

        try:
            main()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(end.code is not None)
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)
