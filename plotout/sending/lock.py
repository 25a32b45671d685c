"""One sender for each port: a lock that names its owner and dies with it.

It lies in a folder that is the same for all users and environments, or two jobs would not see each
other. Besides, a device is opened for one program only (see `ports.open_link`).
"""

from __future__ import annotations

import contextlib
import getpass
import hashlib
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from filelock import FileLock, Timeout

from plotout.errors import MachineError
from plotout.files import slug

FOLDERS = ("/run/lock", "/var/lock", "/tmp")


def place(port: str) -> Path:
    """Return the path of a port's lock, without suffix; all names of a device are one port."""
    kind, mark, rest = port.partition(":")
    whole = port if "://" in port else os.path.realpath(rest if mark and kind == "file" else port)
    told = hashlib.sha256(whole.encode("utf-8", "surrogateescape")).hexdigest()[:12]
    usable = (Path(folder) for folder in FOLDERS if os.access(folder, os.W_OK | os.X_OK))
    folder = next(usable, None) or Path(tempfile.gettempdir())
    return folder / f"plotout-{slug(whole)[-60:]}-{told}"


@contextlib.contextmanager
def locked(port: str) -> Iterator[None]:
    """Hold the port's lock. Raises MachineError that names the owner if another holds it.

    The system releases the lock when its owner dies, so a lock left behind by a crash is taken
    over.
    """
    at = place(port)
    owner = at.with_name(f"{at.name}.owner")
    try:
        lock = FileLock(at.with_name(f"{at.name}.lock"), timeout=0, mode=0o666)
        lock.acquire()
    except Timeout:
        raise MachineError(
            f"port {port} is in use by {_read(owner) or 'another job'}",
            fix="Wait for that job, or stop it.",
        ) from None
    except OSError as fault:
        raise MachineError(
            f"can't lock port {port}: {fault}",
            fix=f"Check the permissions of {at.parent}.",
        ) from fault
    try:
        started = time.strftime("%Y-%m-%d %H:%M:%S")
        with contextlib.suppress(OSError):  # another user's lock names that user
            owner.unlink(missing_ok=True)
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
