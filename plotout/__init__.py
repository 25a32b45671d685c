"""plotout: from a garment pattern to a production set, cut. The names here are public.

A plugin imports from this module only. They load when first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # keep in step with _HOME; a test compares the two
    from plotout.errors import MachineError, Place, PlotoutError, UserError, nearest
    from plotout.geometry.arcs import Moves, find_arcs
    from plotout.geometry.fitting import (
        FEWEST_PRICKS,
        End,
        Line,
        crossing,
        fit_curve,
        fit_line,
    )
    from plotout.geometry.flatten import FLATNESS, bezier_points, ellipse_points
    from plotout.geometry.lettering import text_lines
    from plotout.geometry.ordering import in_order
    from plotout.geometry.strays import Strays, strays
    from plotout.geometry.strokes import FloatArray, Mark, NotchKind, Stroke, Work
    from plotout.hookspecs import (
        Driver,
        Interpreter,
        PricksFinder,
        PricksFound,
        PricksWanted,
        hookimpl,
    )
    from plotout.language import Account, Asking, Heard, Language, Safe, Stop, Talk
    from plotout.layout.paper.pages import page_size
    from plotout.layout.paper.tiles import MatchMark, Tile, TilePlan, tile_plan
    from plotout.machine import Drop, Machine, Tool, ToolKind
    from plotout.machine.axes import machine_matrix
    from plotout.machine.profile import options_of
    from plotout.model import Card, Placed, Program, Reading, Run, Sheet, Traced
    from plotout.pattern.drawing import Drawing, Reader, Role, Shape
    from plotout.pattern.recognise import (
        NamedLine,
        grain_shape,
        middle_shapes,
        notch_shape,
        outline_shapes,
    )
    from plotout.plugins import read_drawing
    from plotout.tables import (
        Acceleration,
        Angle,
        Choice,
        Count,
        Date,
        Fault,
        Flag,
        Force,
        Given,
        Kind,
        Length,
        ListOf,
        Name,
        Number,
        Seconds,
        Share,
        Speed,
        Words,
        table,
    )
    from plotout.tool.tolerance import arc_tolerance
    from plotout.units import length

_HOME = {
    "plotout.errors": ("MachineError", "Place", "PlotoutError", "UserError", "nearest"),
    "plotout.model": ("Card", "Placed", "Program", "Reading", "Run", "Sheet", "Traced"),
    "plotout.geometry.fitting": (
        "FEWEST_PRICKS",
        "End",
        "Line",
        "crossing",
        "fit_curve",
        "fit_line",
    ),
    "plotout.geometry.arcs": ("Moves", "find_arcs"),
    "plotout.geometry.flatten": ("FLATNESS", "bezier_points", "ellipse_points"),
    "plotout.geometry.lettering": ("text_lines",),
    "plotout.geometry.ordering": ("in_order",),
    "plotout.geometry.strays": ("Strays", "strays"),
    "plotout.geometry.strokes": ("FloatArray", "Mark", "NotchKind", "Stroke", "Work"),
    "plotout.hookspecs": (
        "Driver",
        "Interpreter",
        "PricksFinder",
        "PricksFound",
        "PricksWanted",
        "hookimpl",
    ),
    "plotout.language": ("Account", "Asking", "Heard", "Language", "Safe", "Stop", "Talk"),
    "plotout.layout.paper.pages": ("page_size",),
    "plotout.layout.paper.tiles": ("MatchMark", "Tile", "TilePlan", "tile_plan"),
    "plotout.machine": ("Drop", "Machine", "Tool", "ToolKind"),
    "plotout.machine.axes": ("machine_matrix",),
    "plotout.machine.profile": ("options_of",),
    "plotout.pattern.drawing": ("Drawing", "Reader", "Role", "Shape"),
    "plotout.pattern.recognise": (
        "NamedLine",
        "grain_shape",
        "middle_shapes",
        "notch_shape",
        "outline_shapes",
    ),
    "plotout.plugins": ("read_drawing",),
    "plotout.tables": (
        "Acceleration",
        "Angle",
        "Choice",
        "Count",
        "Date",
        "Fault",
        "Flag",
        "Force",
        "Given",
        "Kind",
        "Length",
        "ListOf",
        "Name",
        "Number",
        "Seconds",
        "Share",
        "Speed",
        "Words",
        "table",
    ),
    "plotout.tool.tolerance": ("arc_tolerance",),
    "plotout.units": ("length",),
}
_WHERE = {name: module for module, names in _HOME.items() for name in names}

__all__ = [
    "FEWEST_PRICKS",
    "FLATNESS",
    "Acceleration",
    "Account",
    "Angle",
    "Asking",
    "Card",
    "Choice",
    "Count",
    "Date",
    "Drawing",
    "Driver",
    "Drop",
    "End",
    "Fault",
    "Flag",
    "FloatArray",
    "Force",
    "Given",
    "Heard",
    "Interpreter",
    "Kind",
    "Language",
    "Length",
    "Line",
    "ListOf",
    "Machine",
    "MachineError",
    "Mark",
    "MatchMark",
    "Moves",
    "Name",
    "NamedLine",
    "NotchKind",
    "Number",
    "Place",
    "Placed",
    "PlotoutError",
    "PricksFinder",
    "PricksFound",
    "PricksWanted",
    "Program",
    "Reader",
    "Reading",
    "Role",
    "Run",
    "Safe",
    "Seconds",
    "Shape",
    "Share",
    "Sheet",
    "Speed",
    "Stop",
    "Strays",
    "Stroke",
    "Talk",
    "Tile",
    "TilePlan",
    "Tool",
    "ToolKind",
    "Traced",
    "UserError",
    "Words",
    "Work",
    "arc_tolerance",
    "bezier_points",
    "crossing",
    "ellipse_points",
    "find_arcs",
    "fit_curve",
    "fit_line",
    "grain_shape",
    "hookimpl",
    "in_order",
    "length",
    "machine_matrix",
    "middle_shapes",
    "nearest",
    "notch_shape",
    "options_of",
    "outline_shapes",
    "page_size",
    "read_drawing",
    "strays",
    "table",
    "text_lines",
    "tile_plan",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module 'plotout' has no attribute '{name}'")
    return getattr(import_module(_WHERE[name]), name)


def __dir__() -> list[str]:
    return list(__all__)
