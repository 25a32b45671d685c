"""Compiles the search's inner loops, and keeps them where a user's cache belongs."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, TypeVar, cast

from plotout.route.cache import cache_folder

Function = TypeVar("Function", bound=Callable[..., object])


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
    """Return the function compiled to machine code; it has the same arguments and result."""
    import numba

    return cast("Function", numba.njit(cache=_KEEPS, error_model="numpy")(function))


def compiled_inner(function: Function) -> Function:
    """Return the function compiled for others that are compiled; Python can't call it."""
    import numba

    bare: dict[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    return cast("Function", numba.njit(error_model="numpy", **bare)(function))


_KEEPS = _keeps()
