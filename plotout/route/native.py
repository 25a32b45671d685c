"""Calls machine code that numba made, without numba: loading that takes longer than most searches.

The code takes its arguments as numba passes them between compiled functions: pointers to the result
and to an exception, then every array as (owner, parent, items, bytes per item, data, shape,
strides), the members of a tuple one after another, and numbers as they are.
"""

from __future__ import annotations

import ctypes
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from llvmlite.binding import ExecutionEngine

_RESULTS: dict[str, Any] = {"float64": ctypes.c_double, "int64": ctypes.c_int64, "none": None}
_CALLED = ("exp", "log", "pow", "sqrt")
"""Functions of C's mathematics that the code may call."""
_LLVM = {"|b1": "i8", "<i8": "i64", "<u8": "i64", "<f8": "double"}

_loaded: list[ExecutionEngine] = []
"""They own the code in memory."""


@dataclass(frozen=True, slots=True)
class Code:
    """Compiled code. name: of the function in it. result: its type in numba."""

    name: str
    result: str
    code: bytes

    def to_bytes(self) -> bytes:
        """Return it as a line of JSON and the code."""
        return json.dumps([self.name, self.result]).encode() + b"\n" + self.code

    @classmethod
    def from_bytes(cls, data: bytes) -> Code:
        """Return what `to_bytes` wrote. Raises ValueError if it is something else."""
        head, _, code = data.partition(b"\n")
        name, result = json.loads(head)
        return cls(name, result, code)


def flat(given: Sequence[Any]) -> Iterator[Any]:
    """Give the members of nested tuples one after another."""
    for value in given:
        if isinstance(value, tuple):
            yield from flat(value)
        else:
            yield value


def kinds(values: Sequence[Any]) -> str:
    """Return of what kinds flat arguments are: code is compiled for these."""
    return " ".join(
        _array(value) if isinstance(value, np.ndarray) else _number(value) for value in values
    )


def passed_as(values: Sequence[Any]) -> list[str]:
    """Return the LLVM types as which flat arguments are passed."""
    types: list[str] = []
    for value in values:
        if isinstance(value, np.ndarray):
            data = f"{_LLVM[value.dtype.str]}*"
            types += ["i8*", "i8*", "i64", "i64", data, *["i64"] * (2 * value.ndim)]
        else:
            types.append("double" if _number(value) == "float" else "i64")
    return types


def callable_of(code: Code, values: Sequence[Any]) -> Callable[[Sequence[Any]], Any]:
    """Return a function that calls the code with flat arguments of the kinds of these values."""
    result = _RESULTS[code.result]
    types = [_C_TYPES[kind] for kind in passed_as(values)]
    address = _address(code)
    native = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_void_p, ctypes.c_void_p, *types)(address)

    def call(given: Sequence[Any]) -> Any:
        back, fault = (result or ctypes.c_int64)(), ctypes.c_void_p()
        passed = [part for value in given for part in _parts(value)]
        if native(ctypes.addressof(back), ctypes.addressof(fault), *passed):
            raise RuntimeError(f"compiled function {code.name[:60]} failed")
        return back.value if result else None

    return call


@cache
def processor() -> str:
    """Return for which processor code is compiled."""
    from llvmlite import binding

    features = binding.get_host_cpu_features().flatten()
    return f"{binding.get_process_triple()} {binding.get_host_cpu_name()} {features}"


_C_TYPES: dict[str, Any] = {"i64": ctypes.c_int64, "double": ctypes.c_double} | {
    f"{pointed}*": ctypes.c_void_p for pointed in ("i8", *_LLVM.values())
}


def _array(value: Any) -> str:
    if value.dtype.str not in _LLVM or not value.flags.c_contiguous:
        raise TypeError("compiled functions take arrays of 64 bits or flags, in C order")
    return f"{value.dtype.str}/{value.ndim}"


def _number(value: Any) -> str:
    if isinstance(value, float):
        return "float"
    if isinstance(value, int | np.integer) and not isinstance(value, bool):
        return "int"
    raise TypeError(f"compiled functions don't take a {type(value).__name__}")


def _parts(value: Any) -> Iterator[Any]:
    if not isinstance(value, np.ndarray):
        yield value if isinstance(value, float) else int(value)
        return
    yield from (None, None, value.size, value.itemsize, value.ctypes.data)
    yield from value.shape
    yield from value.strides


def _address(code: Code) -> int:
    """Load the code and return the address of its function."""
    from llvmlite import binding

    binding.initialize_native_target()
    binding.initialize_native_asmprinter()
    library = ctypes.CDLL("ucrtbase" if sys.platform == "win32" else None)  # None: this process
    for name in _CALLED:
        binding.add_symbol(name, ctypes.cast(library[name], ctypes.c_void_p).value)
    target = binding.Target.from_default_triple().create_target_machine(jit=True)
    engine = binding.create_mcjit_compiler(binding.parse_assembly(""), target)
    engine.add_object_file(binding.ObjectFileRef.from_data(code.code))
    engine.finalize_object()
    _loaded.append(engine)
    address = int(engine.get_function_address(code.name))
    if not address:
        raise ValueError("the function is not in it")
    return address
