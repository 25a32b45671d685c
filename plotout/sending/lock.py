"""One sender a port: a lock that names its owner and dies with it."""

from __future__ import annotations

import contextlib
import getpass
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from plotout.errors import MachineError
from plotout.files import slug


@contextlib.contextmanager
def locked(port: str) -> Iterator[None]:
    """Hold the port's lock. Raises MachineError that names the owner when another holds it.

    The kernel lets go of the lock when its owner dies, so that a lock left behind by a crash is
    seen to be stale and taken over.
    """
    path = Path(tempfile.gettempdir()) / f"plotout-port-{slug(os.path.realpath(port))}.lock"
    with contextlib.suppress(OSError):
        path.touch(mode=0o666)
    with path.open("r+", encoding="utf-8") as file:
        if not _take(file.fileno()):
            owner = file.read().strip() or "somebody"
            raise MachineError(
                f"port {port} is in use by {owner}", fix="Let that job end, or stop it."
            )
        file.truncate(0)
        user, started = getpass.getuser(), time.strftime("%Y-%m-%d %H:%M:%S")
        file.write(f"{user}, process {os.getpid()}, since {started}")
        file.flush()
        yield
        file.truncate(0)


def _take(descriptor: int) -> bool:
    try:
        import fcntl
    except ImportError:  # Windows: the system itself opens a port once only
        return True
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
