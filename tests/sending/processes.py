"""The sender and the command line in processes of their own, which a test can stop and kill."""

import os
import pty
import select
import sys
import time

import sender_process
from running import Process, become, command

from plotout.cli import resume_command, send_command  # noqa: F401 loaded before forking
from plotout.proof import summary  # noqa: F401
from plotout.sending import greet, inspect, marking  # noqa: F401

PATIENCE = 60.0  # s: only so that a fault doesn't hang


def plotout(*arguments, jobs, before=None):
    """Run the command line to its end."""
    return Process(command, arguments, {"PLOTOUT_JOBS": str(jobs)}, before).ended(PATIENCE)


def started(*arguments, jobs):
    """Start the command line."""
    return Process(command, arguments, {"PLOTOUT_JOBS": str(jobs)})


def sender(*arguments):
    """Start a sender that knows no profile; see sender_process."""
    return Process(_sender, arguments)


class Terminal:
    """plotout in a terminal of its own."""

    def __init__(self, jobs, *arguments):
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            become(command, arguments, {"PLOTOUT_JOBS": str(jobs)}, None)
        self.said = b""

    def listen(self, seconds=0.02):
        if select.select([self.terminal], [], [], seconds)[0]:
            try:
                self.said += os.read(self.terminal, 4096)
            except OSError:
                return False
        return True

    def until(self, wanted):
        end = time.monotonic() + PATIENCE
        while not wanted():
            assert time.monotonic() < end, self.said.decode()
            self.listen()

    def key(self, key):
        os.write(self.terminal, key)

    def end(self):
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            there = self.listen()
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                while there and select.select([self.terminal], [], [], 0)[0]:
                    there = self.listen(0.0)
                os.close(self.terminal)
                return os.waitstatus_to_exitcode(status)
        raise AssertionError(self.said.decode())


def _sender(arguments):
    sys.argv = ["sender_process", *arguments]
    sys.exit(sender_process.main())


def sent_at_terminal(folder, path, profile, line, *words):
    """Send a file, and answer the question; return the command."""
    given = (path, "--machine", profile, "--port", line.link, *words)
    run = Terminal(folder / "jobs", "send", *given)
    if "--yes" not in words:
        run.until(lambda: b"safe to move" in run.said)
        run.key(b"y\n")
    return run
