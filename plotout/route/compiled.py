"""Compiles the search's inner loops, and keeps them where a user's cache belongs."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, TypeVar, cast

from plotout.route.cache import Kept

Function = TypeVar("Function", bound=Callable[..., object])

os.environ.setdefault("NUMBA_OPT", "1")  # compiles sooner, and the search is no slower for it


def compiled(function: Function) -> Function:
    """Return the function compiled to machine code; it has the same arguments and result.

    It and what it calls make no arrays, only work on those they are given: so it compiles sooner.
    """
    dispatcher = _compile(function)
    cast("Any", dispatcher)._cache = Kept(function)
    return dispatcher


def compiled_inner(function: Function) -> Function:
    """Return the function compiled for others that are compiled; Python can't call it."""
    return _compile(function, no_cpython_wrapper=True)


def _compile(function: Function, **how: bool) -> Function:
    import numba

    less: dict[str, Any] = {"error_model": "numpy", "no_cfunc_wrapper": True, "_nrt": False}
    return cast("Function", cast("Any", numba.njit)(**less, **how)(function))
