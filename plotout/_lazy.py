"""Loads the names of `plotout` and `plotout.kit` when they are first used."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def lazy(
    module: str, home: Mapping[str, tuple[str, ...]]
) -> tuple[Callable[[str], Any], Callable[[], list[str]]]:
    """Return a module's `__getattr__` and `__dir__` (PEP 562). home: names by their modules."""
    where = {name: place for place, names in home.items() for name in names}

    def find(name: str) -> Any:
        if name == "__version__":
            from importlib.metadata import version

            return version("plotout")
        if name in where:
            return getattr(import_module(where[name]), name)
        other = "plotout.kit" if module == "plotout" else "plotout"
        if not name.startswith("_") and name in import_module(other).__all__:
            raise AttributeError(f"'{name}' is not in {module}, it is in {other}")
        raise AttributeError(f"module '{module}' has no attribute '{name}'")

    def listed() -> list[str]:
        return sorted([*where, *(["__version__"] if module == "plotout" else [])])

    return find, listed
