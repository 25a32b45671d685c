"""Compiles loops when the package is built, into a module that needs no numba.

It is made by numba's own means (`numba.pycc`) with the system's C compiler, for any processor of
its kind. The loops are the same as those compiled in a first run, and so are their results.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from plotout.loops.compiled import MODULE


def built(folder: Path, loops: Iterable[tuple[Callable[..., object], Any]]) -> Path:
    """Compile loops, each with its type, to a module in the folder; return its file.

    Raises what numba and the C compiler raise, where there is none for instance.
    """
    import numba.pycc

    compiler: Any = numba.pycc
    module = compiler.CC(MODULE)
    module.output_dir = str(folder)
    for loop, signature in loops:
        function: Any = loop
        module.export(function.__name__, signature)(function.py_func)
    module.compile()
    (file,) = folder.glob(f"{MODULE}.*")
    return file
