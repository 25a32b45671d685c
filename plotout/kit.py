"""Helpers for plugins, apart from the public face of `plotout`. They load when first used."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # keep in step with _HOME
    from plotout.language import Buffer, Marking, Point, VirtualMachine
    from plotout.sending.virtual.head import Head
    from plotout.sending.window import Window

_HOME = {
    "plotout.language": ("Buffer", "Marking", "Point", "VirtualMachine"),
    "plotout.sending.virtual.head": ("Head",),
    "plotout.sending.window": ("Window",),
}
_WHERE = {name: module for module, names in _HOME.items() for name in names}

__all__ = ["Buffer", "Head", "Marking", "Point", "VirtualMachine", "Window"]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module 'plotout.kit' has no attribute '{name}'")
    return getattr(import_module(_WHERE[name]), name)


def __dir__() -> list[str]:
    return list(__all__)
