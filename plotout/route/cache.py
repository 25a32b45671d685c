"""Keeps compiled loops in the user's cache, intact and up to date, or does without.

numba's own cache checks only the file of the function itself, so that a change in functions that it
calls goes unnoticed, and it trusts its files. Here a folder's name is a hash of everything that the
loops are made from, and every file begins with a digest of its contents.
"""

from __future__ import annotations

import hashlib
import logging
import os
import shutil
import sys
import tempfile
from contextlib import suppress
from functools import cache
from importlib import metadata
from pathlib import Path

import platformdirs

_DIGEST = 32
_VERSIONS_KEPT = 3

log = logging.getLogger(__name__)


def cache_folder() -> Path | None:
    """Return the folder for loops of this version, in NUMBA_CACHE_DIR or the user's caches.

    None for a user without a home folder.
    """
    given = os.environ.get("NUMBA_CACHE_DIR")
    try:
        base = (
            Path(given) if given else Path(platformdirs.user_cache_dir("plotout", appauthor=False))
        )
    except RuntimeError:
        return None
    return base / "kernels" / version() if base.is_absolute() else None


@cache
def version(folder: Path = Path(__file__).parent) -> str:
    """Return a hash of all files of this package and of the versions of the compiler."""
    libraries = " ".join(metadata.version(name) for name in ("numba", "llvmlite", "numpy"))
    made_of = hashlib.sha256(f"{libraries} {sys.version}".encode())
    for file in sorted(folder.glob("*.py")):
        made_of.update(file.name.encode() + b"\0" + file.read_bytes())
    return made_of.hexdigest()[:16]


def first_time() -> bool:
    """Return whether nothing is compiled yet, so that the first search takes seconds longer."""
    folder = cache_folder()
    return folder is None or not any(folder.glob("shortened-*"))


def load(name: str, key: str) -> bytes | None:
    """Return what is kept of a function under a key, or None; damaged files are deleted."""
    path = _path(name, key)
    try:
        whole = path.read_bytes() if path else b""
    except OSError:
        return None
    digest, body = whole[:_DIGEST], whole[_DIGEST:]
    if path is None:
        return None
    if hashlib.sha256(body).digest() != digest:
        log.warning("The compiled search in %s is damaged; it is compiled again.", path)
        with suppress(OSError):
            path.unlink()
        return None
    return body


def keep(name: str, key: str, body: bytes) -> None:
    """Keep what was compiled of a function under a key; if that fails, log it and go on."""
    path = _path(name, key)
    if path is None:
        log.warning(
            "The system doesn't know your home folder: the search is compiled in every run."
        )
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_whole(path, hashlib.sha256(body).digest() + body)
        _forget_old(path.parent)
    except OSError as fault:
        log.warning(
            "The compiled search can't be kept in %s (%s): it is compiled in every run.",
            path.parent,
            fault.strerror or fault,
        )


def _path(name: str, key: str) -> Path | None:
    folder = cache_folder()
    digest = hashlib.sha256(key.encode()).hexdigest()[:16]
    return folder / f"{name}-{digest}" if folder else None


def _write_whole(path: Path, data: bytes) -> None:
    """Write beside the target and move it into place, so that nobody reads half of it."""
    handle, name = tempfile.mkstemp(dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.replace(name, path)
    except BaseException:
        with suppress(OSError):
            os.unlink(name)
        raise


def _forget_old(folder: Path) -> None:
    """Delete the loops of all but the latest versions."""
    others = [entry for entry in folder.parent.iterdir() if entry.is_dir() and entry != folder]
    others.sort(key=lambda entry: entry.stat().st_mtime, reverse=True)
    for other in others[_VERSIONS_KEPT - 1 :]:
        shutil.rmtree(other, ignore_errors=True)
