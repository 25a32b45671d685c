"""Compiles loops when the package is built.

They become a module that needs no numba, for any processor of its kind, by numba's own means
(`numba.pycc`) and the system's C compiler. Where there is none, they are kept as in a first run,
for this processor. The loops are the same in each way, and so are their results.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from plotout.loops import cache
from plotout.loops.compiled import MODULE

Loops = Iterable[tuple[Callable[..., object], Any]]


def built(folder: Path, loops: Loops) -> Path:
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


def kept(folder: Path, loops: Loops) -> list[Path]:
    """Compile loops, each with its type, as they are kept in `cache.SHIPPED`; return the files in
    the folder, whose paths in it are those in that one.
    """
    with cache.kept_in(folder):
        for loop, signature in loops:
            function: Any = loop
            function.compile(signature.args)
    return sorted(folder.glob("*/*"))
