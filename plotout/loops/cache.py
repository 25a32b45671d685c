"""Keeps compiled loops in the user's cache, intact and up to date, or does without.

A package built where there is no C compiler holds them in the same form, for the kind of processor
that it was built on: where that is the user's, nothing is compiled in the first run.

numba's own cache checks only the file of the function itself, so that a change in functions that it
calls goes unnoticed, and it trusts its files. Here a folder's name is a hash of everything that the
loops are made from, and every file begins with a digest of its contents.
"""

from __future__ import annotations

import hashlib
import logging
import os
import pickle
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from functools import cache
from pathlib import Path
from typing import Any

_DIGEST = 32
_VERSIONS_KEPT = 3

SHIPPED = Path(__file__).parent / "kept"
"""Where a package holds loops as they are kept, if it was built without a C compiler."""

log = logging.getLogger(__name__)


_elsewhere: ContextVar[Path | None] = ContextVar("_elsewhere", default=None)


@contextmanager
def kept_in(folder: Path) -> Iterator[None]:
    """Keep the loops that are compiled meanwhile in a folder, as they lie in SHIPPED."""
    before = _elsewhere.set(folder)
    try:
        yield
    finally:
        _elsewhere.reset(before)


def cache_folder() -> Path | None:
    """Return the folder for loops of this version, in NUMBA_CACHE_DIR or the user's caches.

    None for a user without a home folder.
    """
    import platformdirs

    if elsewhere := _elsewhere.get():
        return elsewhere / version()
    given = os.environ.get("NUMBA_CACHE_DIR")
    try:
        base = (
            Path(given) if given else Path(platformdirs.user_cache_dir("plotout", appauthor=False))
        )
    except RuntimeError:
        return None
    return base / "kernels" / version() if base.is_absolute() else None


MADE_FROM = (
    "loops/*.py",
    "route/*.py",
    "geometry/free_cells.py",
    "geometry/nearest.py",
    "geometry/sliding.py",
    "geometry/trial_lays.py",
)
"""The files in which loops are, and what compiles them."""


@cache
def version(package: Path = Path(__file__).parents[1]) -> str:
    """Return a hash of all that loops are made from, the versions of the compiler, and the
    processor that they are compiled for.
    """
    import llvmlite.binding
    import numba
    import numpy

    compiler: Any = llvmlite.binding
    processor = f"{compiler.get_host_cpu_name()} {compiler.get_host_cpu_features().flatten()}"
    versions = f"{numba.__version__} {numpy.__version__} {sys.version} {processor}"
    made_of = hashlib.sha256(versions.encode())
    for file in sorted(file for some in MADE_FROM for file in package.glob(some)):
        made_of.update(file.name.encode() + b"\0" + file.read_bytes())
    return made_of.hexdigest()[:16]


def nothing_kept() -> bool:
    """Return whether no compiled loop of this version is kept."""
    return not any(any(folder.glob("shortened-*")) for folder in _folders())


def _folders() -> list[Path]:
    """Return the folders in which loops of this version may be: the user's, then the package's."""
    folder = cache_folder()
    return [*([folder] if folder else []), SHIPPED / version()]


class Kept:
    """The cache of one function, as numba's dispatcher expects it; one file per signature."""

    def __init__(self, function: Callable[..., object]) -> None:
        self._name = function.__name__

    @property
    def cache_path(self) -> str:
        """The folder, as text; empty if nothing can be kept."""
        return str(cache_folder() or "")

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return what is kept for a signature, or None; damaged files are deleted."""
        target_context.refresh()
        name = self._file_name(sig, target_context.codegen())
        found = (self._read(folder / name, target_context) for folder in _folders())
        return next((result for result in found if result is not None), None)

    def _read(self, path: Path, target_context: Any) -> Any:
        from numba.core.compiler import CompileResult

        try:
            whole = path.read_bytes()
        except OSError:
            return None
        digest, body = whole[:_DIGEST], whole[_DIGEST:]
        try:
            if hashlib.sha256(body).digest() != digest:
                raise ValueError("damaged")
            rebuilt: Any = CompileResult
            return rebuilt._rebuild(target_context, *pickle.loads(body))
        except Exception:
            _warn_of_damage(path.parent)
            with suppress(OSError):
                path.unlink()
            return None

    def save_overload(self, sig: Any, result: Any) -> None:
        """Keep what was compiled for a signature; if that fails, log it and go on."""
        from numba.core import serialize

        folder = cache_folder()
        if folder is None:
            log.warning(
                "The system doesn't know your home folder: the search is compiled in every run."
            )
            return
        try:
            folder.mkdir(parents=True, exist_ok=True)
            pickled: Any = serialize
            body = pickled.dumps(result._reduce())
            path = folder / self._file_name(sig, result.codegen)
            _write_whole(path, hashlib.sha256(body).digest() + body)
            _forget_old(folder)
        except OSError as fault:
            log.warning(
                "The compiled search can't be kept in %s (%s): it is compiled in every run.",
                folder,
                fault.strerror or fault,
            )

    def enable(self) -> None:
        """Do nothing: it always keeps what it can."""

    def disable(self) -> None:
        """Do nothing: it always keeps what it can."""

    def flush(self) -> None:
        """Do nothing: files of this version stay valid."""

    def _file_name(self, sig: Any, codegen: Any) -> str:
        """Return a name by the signature, and by the processor and its features."""
        digest = hashlib.sha256(f"{sig} {codegen.magic_tuple()}".encode()).hexdigest()[:16]
        return f"{self._name}-{digest}"


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


@cache
def _warn_of_damage(folder: Path) -> None:
    """Report damaged files, once for all in a folder."""
    log.warning("The compiled search in %s is damaged; it is compiled again.", folder)
