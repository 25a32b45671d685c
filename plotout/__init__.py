"""plotout: from a garment pattern to a production set, cut. The names here are public.

A plugin imports from this module only. They load when first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from plotout.errors import (
        MachineError as MachineError,
    )
    from plotout.errors import (
        Place as Place,
    )
    from plotout.errors import (
        PlotoutError as PlotoutError,
    )
    from plotout.errors import (
        UserError as UserError,
    )
    from plotout.errors import (
        nearest as nearest,
    )
    from plotout.flow import (
        Card as Card,
    )
    from plotout.flow import (
        Placed as Placed,
    )
    from plotout.flow import (
        Program as Program,
    )
    from plotout.flow import (
        Reading as Reading,
    )
    from plotout.flow import (
        Run as Run,
    )
    from plotout.flow import (
        Sheet as Sheet,
    )
    from plotout.flow import (
        Traced as Traced,
    )
    from plotout.geometry.strokes import (
        FloatArray as FloatArray,
    )
    from plotout.geometry.strokes import (
        Mark as Mark,
    )
    from plotout.geometry.strokes import (
        Stroke as Stroke,
    )
    from plotout.geometry.strokes import (
        Work as Work,
    )
    from plotout.hookspecs import (
        Driver as Driver,
    )
    from plotout.hookspecs import (
        Interpreter as Interpreter,
    )
    from plotout.hookspecs import (
        hookimpl as hookimpl,
    )
    from plotout.machine import (
        Machine as Machine,
    )
    from plotout.machine.axes import (
        machine_matrix as machine_matrix,
    )
    from plotout.machine import (
        Tool as Tool,
    )
    from plotout.machine import (
        ToolKind as ToolKind,
    )
    from plotout.pattern.drawing import (
        Drawing as Drawing,
    )
    from plotout.pattern.drawing import (
        Reader as Reader,
    )
    from plotout.pattern.drawing import (
        Role as Role,
    )
    from plotout.pattern.drawing import (
        Shape as Shape,
    )
    from plotout.units import (
        length as length,
    )

_HOME = {
    "plotout.errors": ("MachineError", "Place", "PlotoutError", "UserError", "nearest"),
    "plotout.flow": ("Card", "Placed", "Program", "Reading", "Run", "Sheet", "Traced"),
    "plotout.geometry.strokes": ("FloatArray", "Mark", "Stroke", "Work"),
    "plotout.hookspecs": ("Driver", "Interpreter", "hookimpl"),
    "plotout.machine": ("Machine", "Tool", "ToolKind"),
    "plotout.machine.axes": ("machine_matrix",),
    "plotout.pattern.drawing": ("Drawing", "Reader", "Role", "Shape"),
    "plotout.units": ("length",),
}
_WHERE = {name: module for module, names in _HOME.items() for name in names}

__all__ = sorted(_WHERE)  # noqa: PLE0605


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module 'plotout' has no attribute '{name}'")
    return getattr(import_module(_WHERE[name]), name)


def __dir__() -> list[str]:
    return list(__all__)
