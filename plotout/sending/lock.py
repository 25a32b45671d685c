"""One sender for each port: a lock that names its owner and dies with it.

It lies among the user's own files: users of one computer don't share a folder that is safe to lock
in. Between them the system guards a device itself, which is opened for one program only (see
`link.open_link`); a machine in the network guards its own connection.
"""

from __future__ import annotations

import contextlib
import getpass
import os
import time
from collections.abc import Iterator

from filelock import FileLock, Timeout

from plotout import folders
from plotout.errors import MachineError
from plotout.files import slug

FOLDERS = ("/run/lock", "/var/lock", "/tmp")  # the same for everybody, whatever TMPDIR says


@contextlib.contextmanager
def locked(port: str) -> Iterator[None]:
    """Hold the port's lock. Raises MachineError that names the owner when another holds it.

    The system lets go of the lock when its owner dies, so that a lock left behind by a crash is
    taken over.
    """
    folder = folders.locks()
    name = slug(os.path.realpath(port))
    owner = folder / f"{name}.owner"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock = FileLock(folder / f"{name}.lock", timeout=0)
        lock.acquire()
    except Timeout:
        raise MachineError(
            f"port {port} is in use by {_read(owner) or 'another job'}",
            fix="Let that job end, or stop it.",
        ) from None
    except OSError as fault:
        raise MachineError(
            f"can't lock port {port}: {fault}",
            fix="Set PLOTOUT_JOBS to a folder that you may write to.",
        ) from fault
    try:
        started = time.strftime("%Y-%m-%d %H:%M:%S")
        owner.write_text(f"{_user()}, process {os.getpid()}, since {started}", encoding="utf-8")
        yield
    finally:
        with contextlib.suppress(OSError):
            owner.unlink()
        lock.release()


def _read(owner: os.PathLike[str]) -> str:
    try:
        with open(owner, encoding="utf-8") as file:
            return file.read().strip()
    except (OSError, UnicodeDecodeError):
        return ""


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # no entry in the system's list of users, and no LOGNAME
        return f"user {os.getuid()}" if hasattr(os, "getuid") else "somebody"
