"""Compiles the search's inner loops, and keeps them in the user's cache."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from functools import cached_property
from typing import Any, TypeVar, cast

from plotout.route import cache, native

Function = TypeVar("Function", bound=Callable[..., object])

os.environ.setdefault("NUMBA_OPT", "1")  # compiles faster, and the search is no slower


def compiled(function: Function) -> Function:
    """Return the function compiled to machine code; it has the same arguments and result.

    They are arrays in C order, integers and floats, and named tuples of them. It and the functions
    it calls make no arrays and only work on those they are given, so that it compiles faster.
    """
    return cast("Function", _Loop(function))


def compiled_inner(function: Function) -> Function:
    """Return the function compiled for calls from other compiled ones; Python can't call it."""
    return cast("Function", _Inner(function))


class _Inner:
    """A function that numba compiles when a loop that calls it is compiled."""

    def __init__(self, function: Callable[..., object]) -> None:
        self.function = function

    @cached_property
    def dispatcher(self) -> Any:
        """What numba makes of the function."""
        import numba

        less: dict[str, Any] = {"error_model": "numpy", "_nrt": False}
        less |= {"no_cfunc_wrapper": True, "no_cpython_wrapper": True}
        return cast("Any", numba.njit)(**less)(self.function)

    @cached_property
    def _numba_type_(self) -> Any:
        """Its type where numba finds it in another function."""
        from numba import types

        return types.Dispatcher(self.dispatcher)


class _Loop(_Inner):
    """A compiled function to call from Python: from the cache, else compiled and kept there."""

    def __init__(self, function: Callable[..., object]) -> None:
        super().__init__(function)
        self._ready: dict[str, Callable[[Sequence[Any]], Any]] = {}

    def __call__(self, *given: Any) -> Any:
        values = tuple(native.flat(given))
        kinds = native.kinds(values)
        call = self._ready.get(kinds)
        if call is None:
            call = self._ready[kinds] = self._made_ready(kinds, values, given)
        return call(values)

    def _made_ready(
        self, kinds: str, values: Sequence[Any], given: Sequence[Any]
    ) -> Callable[[Sequence[Any]], Any]:
        name, key = self.function.__name__, f"{kinds} {native.processor()}"
        kept = cache.load(name, key)
        if kept is not None:
            return native.callable_of(native.Code.from_bytes(kept), values)
        code = self._compiled(values, given)
        cache.keep(name, key, code.to_bytes())
        return native.callable_of(code, values)

    def _compiled(self, values: Sequence[Any], given: Sequence[Any]) -> native.Code:
        import numba
        from numba.core.registry import cpu_target

        signature = tuple(cast("Any", numba).typeof(value) for value in given)
        self.dispatcher.compile(signature)
        made = self.dispatcher.overloads[signature]
        packer = cpu_target.target_context.get_arg_packer(made.fndesc.argtypes)
        if [str(kind) for kind in packer.argument_types] != native.passed_as(values):
            raise RuntimeError("this version of numba passes arguments in an unknown way")
        _, _, (code, _) = made.library.serialize_using_object_code()
        return native.Code(made.fndesc.llvm_func_name, str(made.signature.return_type), code)
