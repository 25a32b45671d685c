"""Compiles the search's inner loops, and keeps them in the user's cache."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, TypeVar, cast

from plotout.route.cache import Kept

Function = TypeVar("Function", bound=Callable[..., object])

os.environ.setdefault("NUMBA_OPT", "1")  # compiles faster, and the search is no slower


def compiled(function: Function) -> Function:
    """Return the function compiled to machine code; it has the same arguments and result.

    It and the functions it calls make no arrays and only work on those they are given, so that it
    compiles faster.
    """
    dispatcher = _compile(function)
    cast("Any", dispatcher)._cache = Kept(function)
    return dispatcher


def compiled_inner(function: Function) -> Function:
    """Return the function compiled for calls from other compiled ones; Python can't call it."""
    return _compile(function, no_cpython_wrapper=True)


def _compile(function: Function, **how: bool) -> Function:
    import numba

    less: dict[str, Any] = {"error_model": "numpy", "no_cfunc_wrapper": True, "_nrt": False}
    return cast("Function", cast("Any", numba.njit)(**less, **how)(function))
