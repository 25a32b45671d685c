"""plotout: from a garment pattern to a production set, cut.

The names here are public: the models, hooks and errors that a plugin needs. Helpers are in
`plotout.kit`. A plugin imports only from these two modules, whose names load when first used.

While `__version__` begins with 0, a name here may change with the second number, as the release
notes say, but never with the third. From 1.0 on, only a new first number allows it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from plotout._lazy import lazy

if TYPE_CHECKING:  # keep in step with _HOME; a test compares the two
    from plotout.conversation import Account, Asking, Differences, Heard, Marking, Point, Safe, Talk
    from plotout.errors import MachineError, Place, PlotoutError, UserError
    from plotout.geometry.strokes import FloatArray, Mark, NotchKind, Stroke, Work
    from plotout.hookspecs import (
        Driver,
        Interpreter,
        PricksFinder,
        PricksFound,
        PricksWanted,
        hookimpl,
    )
    from plotout.language import Buffer, Language, Stop
    from plotout.machine import Drop, Machine, Tool, ToolKind
    from plotout.model import (
        Advance,
        Card,
        Described,
        Meaning,
        Placed,
        Program,
        Reading,
        Run,
        Sheet,
        Traced,
    )
    from plotout.pattern.drawing import Drawing, Pick, Reader, Role, Shape
    from plotout.virtual_machine import VirtualMachine

_HOME = {
    "plotout.conversation": (
        "Account",
        "Asking",
        "Differences",
        "Heard",
        "Marking",
        "Point",
        "Safe",
        "Talk",
    ),
    "plotout.errors": (
        "MachineError",
        "Place",
        "PlotoutError",
        "UserError",
    ),
    "plotout.geometry.strokes": (
        "FloatArray",
        "Mark",
        "NotchKind",
        "Stroke",
        "Work",
    ),
    "plotout.hookspecs": (
        "Driver",
        "Interpreter",
        "PricksFinder",
        "PricksFound",
        "PricksWanted",
        "hookimpl",
    ),
    "plotout.language": (
        "Buffer",
        "Language",
        "Stop",
    ),
    "plotout.machine": (
        "Drop",
        "Machine",
        "Tool",
        "ToolKind",
    ),
    "plotout.model": (
        "Advance",
        "Card",
        "Described",
        "Meaning",
        "Placed",
        "Program",
        "Reading",
        "Run",
        "Sheet",
        "Traced",
    ),
    "plotout.pattern.drawing": (
        "Drawing",
        "Pick",
        "Reader",
        "Role",
        "Shape",
    ),
    "plotout.virtual_machine": ("VirtualMachine",),
}

__all__ = [
    "Account",
    "Advance",
    "Asking",
    "Buffer",
    "Card",
    "Described",
    "Differences",
    "Drawing",
    "Driver",
    "Drop",
    "FloatArray",
    "Heard",
    "Interpreter",
    "Language",
    "Machine",
    "MachineError",
    "Mark",
    "Marking",
    "Meaning",
    "NotchKind",
    "Pick",
    "Place",
    "Placed",
    "PlotoutError",
    "Point",
    "PricksFinder",
    "PricksFound",
    "PricksWanted",
    "Program",
    "Reader",
    "Reading",
    "Role",
    "Run",
    "Safe",
    "Shape",
    "Sheet",
    "Stop",
    "Stroke",
    "Talk",
    "Tool",
    "ToolKind",
    "Traced",
    "UserError",
    "VirtualMachine",
    "Work",
    "hookimpl",
]

__getattr__, __dir__ = lazy(__name__, _HOME)
