"""Compiles inner loops: with the package, or in the first run on a computer.

A package built where there is a C compiler holds them as machine code (`loops.ahead`), so that
nothing is compiled later and numba is not even imported. Otherwise numba compiles them when they
are first used, and they are kept in the user's cache.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from importlib import import_module
from types import ModuleType
from typing import Any, TypeVar, cast

import numpy as np

from plotout.loops import cache

Function = TypeVar("Function", bound=Callable[..., object])

os.environ.setdefault("NUMBA_OPT", "1")  # compiles faster, and the search is no slower

MODULE = "built"
"""Name of the module of compiled loops that a built package holds in this room."""


def _module() -> ModuleType | None:
    with suppress(ImportError):
        return import_module(f"plotout.loops.{MODULE}")
    return None


BUILT = _module()
"""The loops that were compiled with the package, None if they were not."""


def first_time() -> bool:
    """Return whether nothing is compiled yet, so that the first search takes seconds longer."""
    return BUILT is None and cache.nothing_kept()


def compiled(function: Function) -> Function:
    """Return the function compiled to machine code; it has the same arguments and result.

    It and the functions it calls make no arrays and only work on those they are given, so that it
    compiles faster. Arrays must be contiguous (C order).
    """
    built = getattr(BUILT, function.__name__, None)
    if built is not None:
        return _with_whole_arrays(function, built)
    dispatcher = _compile(function)
    cast("Any", dispatcher)._cache = cache.Kept(function)
    return dispatcher


def compiled_inner(function: Function) -> Function:
    """Return the function compiled into other compiled ones; Python can't call it.

    It becomes a part of them: a call would pass all the numbers of every array that it is given.
    """
    how = {"no_cpython_wrapper": True, "forceinline": True}
    return function if BUILT is not None else _compile(function, **how)


def _compile(function: Function, **how: bool) -> Function:
    import numba

    less: dict[str, Any] = {"error_model": "numpy", "no_cfunc_wrapper": True, "_nrt": False}
    return cast("Function", cast("Any", numba.njit)(**less, **how)(function))


def _with_whole_arrays(function: Function, built: Callable[..., object]) -> Function:
    """Return the compiled function, which takes it on trust that its arrays are contiguous."""

    @wraps(function)
    def called(*given: Any) -> object:
        for argument in given:
            for part in argument if isinstance(argument, tuple) else (argument,):
                if isinstance(part, np.ndarray) and not part.flags.c_contiguous:
                    raise TypeError(f"{function.__name__} needs arrays in C order")
        return built(*given)

    return cast("Function", called)
