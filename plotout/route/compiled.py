"""Compiles the search's inner loops, and keeps them where a user's cache belongs."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, TypeVar, cast

from plotout.route.cache import cache_folder

Function = TypeVar("Function", bound=Callable[..., object])


os.environ.setdefault("NUMBA_OPT", "1")  # compiles sooner, and the search is no slower for it


def _keeps() -> bool:
    """Set the cache folder; False where it can't be written and each run must compile anew."""
    folder = cache_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return False
    import numba

    if not getattr(numba.config, "CACHE_DIR", ""):
        setattr(numba.config, "CACHE_DIR", str(folder))  # noqa: B010 not declared by numba
    return os.access(folder, os.W_OK)


def compiled(function: Function) -> Function:
    """Return the function compiled to machine code; it has the same arguments and result.

    It and what it calls make no arrays, only work on those they are given: so it compiles sooner.
    """
    return _compile(function, cache=_KEEPS)


def compiled_inner(function: Function) -> Function:
    """Return the function compiled for others that are compiled; Python can't call it."""
    return _compile(function, no_cpython_wrapper=True)


def _compile(function: Function, **how: bool) -> Function:
    import numba

    less: dict[str, Any] = {"error_model": "numpy", "no_cfunc_wrapper": True, "_nrt": False}
    return cast("Function", cast("Any", numba.njit)(**less, **how)(function))


_KEEPS = _keeps()
