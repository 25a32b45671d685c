"""Runs plotout as a user does, in a process of its own.

Where the system can fork, the process is a copy of the test's own, which has numpy and the rest
loaded already: a command starts in some milliseconds. Elsewhere a new Python is started.
"""

import contextlib
import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass

PATIENCE = 300.0  # s: only so that a fault doesn't hang
COMMAND = [sys.executable, "-c", "from plotout.cli import main; main()"]


@dataclass
class Ended:
    """How a process ended: its exit code, and what it said."""

    returncode: int
    stdout: str
    stderr: str


class Process:
    """Runs `act` with these arguments. before: called first of all."""

    def __init__(self, act, arguments, environment=None, before=None):
        self.returncode = None
        pipes = [os.pipe(), os.pipe()]  # not files: a test may limit how large those get
        self._said = {out: b"" for out, _ in pipes}
        self.pid = os.fork()
        if self.pid == 0:
            os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
            for descriptor, (_, into) in enumerate(pipes, 1):
                os.dup2(into, descriptor)
            become(act, arguments, environment or {}, before)
        for out, into in pipes:
            os.close(into)
            os.set_blocking(out, False)

    def poll(self):
        if self.returncode is None:
            done, status = os.waitpid(self.pid, os.WNOHANG)
            self.returncode = os.waitstatus_to_exitcode(status) if done else None
        return self.returncode

    def kill(self):
        os.kill(self.pid, signal.SIGKILL)

    def ended(self, seconds=PATIENCE):
        """Wait for its end."""
        end = time.monotonic() + seconds
        while self.poll() is None:
            self._listen()
            if time.monotonic() > end:
                self.kill()
            time.sleep(0.005)
        self._listen()
        for descriptor in self._said:
            os.close(descriptor)
        out, errors = (said.decode("utf-8") for said in self._said.values())
        assert time.monotonic() <= end, errors
        return Ended(self.returncode, out, errors)

    def _listen(self):
        """Take what has been said, before the pipes are full."""
        for descriptor in self._said:
            with contextlib.suppress(BlockingIOError):
                while more := os.read(descriptor, 65536):
                    self._said[descriptor] += more


def plotout(*words, cwd=None, env=None):
    """Run the command line to its end. env: added to the environment."""
    argv = [str(word) for word in words]
    if not hasattr(os, "fork"):
        return subprocess.run(
            [*COMMAND, *argv], cwd=cwd, env={**os.environ, **(env or {})},
            capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=PATIENCE,
        )  # fmt: skip
    import plotout.job  # noqa: F401  (loaded once, for every copy)

    return Process(command, argv, env, (lambda: os.chdir(cwd)) if cwd else None).ended()


def command(arguments):
    """Be the command line."""
    from plotout import cli

    sys.argv = ["plotout", *arguments]
    cli.main()


def become(act, arguments, environment, before):
    """Become a process that does `act`, and end with it."""
    code = 70
    try:
        sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.stdout = open(1, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.stderr = open(2, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.closerange(3, 256)  # a line that is held open here would not hang up
        os.environ.update(environment)
        if before:
            before()
        act([str(each) for each in arguments])
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(bool(end.code))
    except BaseException:
        import traceback

        traceback.print_exc()
        code = 1
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
