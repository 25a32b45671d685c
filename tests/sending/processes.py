"""plotout in a process of its own that is forked from this one, so that nothing is loaded anew."""

import os
import pty
import select
import signal
import sys
import time
from dataclasses import dataclass

import sender_process

from plotout import cli
from plotout.cli import resume_command, send_command  # noqa: F401 loaded before forking
from plotout.proof import summary  # noqa: F401
from plotout.sending import greet, inspect, marking  # noqa: F401

PATIENCE = 60.0  # s: only so that a fault doesn't hang


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
        ways = [os.pipe(), os.pipe()]
        self._said = [out for out, _ in ways]
        self.pid = os.fork()
        if self.pid == 0:
            os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
            for descriptor, (_, into) in enumerate(ways, 1):
                os.dup2(into, descriptor)
            _be(act, arguments, environment or {}, before)
        for _, into in ways:
            os.close(into)

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
            if time.monotonic() > end:
                self.kill()
            time.sleep(0.005)
        out, errors = (_whole(each) for each in self._said)
        assert time.monotonic() <= end, errors
        return Ended(self.returncode, out, errors)


def _whole(descriptor):
    """Return all that came through a pipe; so little is said that it holds that."""
    with open(descriptor, encoding="utf-8") as file:
        return file.read()


def plotout(*arguments, jobs, before=None):
    """Run the command line to its end."""
    return Process(_plotout, arguments, {"PLOTOUT_JOBS": str(jobs)}, before).ended()


def started(*arguments, jobs):
    """Start the command line."""
    return Process(_plotout, arguments, {"PLOTOUT_JOBS": str(jobs)})


def sender(*arguments):
    """Start a sender that knows no profile; see sender_process."""
    return Process(_sender, arguments)


class Terminal:
    """plotout in a terminal of its own."""

    def __init__(self, jobs, *arguments):
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            _be(_plotout, arguments, {"PLOTOUT_JOBS": str(jobs)}, None)
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


def _plotout(arguments):
    sys.argv = ["plotout", *arguments]
    cli.main()


def _sender(arguments):
    sys.argv = ["sender_process", *arguments]
    sys.exit(sender_process.main())


def _be(act, arguments, environment, before):
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
