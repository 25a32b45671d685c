"""One sender for each port and for each job: a lock that names its owner and dies with it.

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
    """Hold the port's lock. Raises MachineError that names the owner if another holds it."""
    with _held(place(port), f"port {port}", "in use"):
        yield


@contextlib.contextmanager
def job_locked(journal: Path) -> Iterator[None]:
    """Hold the lock of a journal's job. Raises MachineError that names the owner if another process
    sends it.
    """
    at = place(str(journal))
    with _held(at, f"the job of {journal}", "being sent"):
        try:
            yield
        finally:
            _file_of(at).unlink(missing_ok=True)  # there are many jobs


def job_is_free(journal: Path) -> None:
    """Raise MachineError that names the owner if another process sends a journal's job."""
    with job_locked(journal):
        pass


def _file_of(at: Path) -> Path:
    return at.with_name(f"{at.name}.lock")


def _owner_of(at: Path) -> Path:
    return at.with_name(f"{at.name}.owner")


@contextlib.contextmanager
def _held(at: Path, what: str, doing: str) -> Iterator[None]:
    """Hold a lock at a path, without suffix. what is locked, and what its owner does with it.

    The system releases the lock when its owner dies, so a lock left behind by a crash is taken
    over.
    """
    owner = _owner_of(at)
    try:
        lock = FileLock(_file_of(at), timeout=0, mode=0o666)
        lock.acquire()
    except Timeout:
        raise MachineError(
            f"{what} is {doing} by {_read(owner) or 'another process'}",
            fix="Wait for that job, or stop it.",
        ) from None
    except OSError as fault:
        raise MachineError(
            f"can't lock {what}: {fault}",
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
