"""Helpers for plugins, separate from the public names of `plotout` but equally stable."""

from __future__ import annotations

from typing import TYPE_CHECKING

from plotout._lazy import lazy

if TYPE_CHECKING:  # keep in step with _HOME; a test compares the two
    from plotout.errors import collecting_errors, is_text, nearest, shown
    from plotout.files import open_ordinary, read_whole
    from plotout.geometry.arcs import find_arcs
    from plotout.geometry.cubics import find_cubics
    from plotout.geometry.evidence import Hand
    from plotout.geometry.fitting import (
        FEWEST_PRICKS,
        CurveFit,
        End,
        NoCurveError,
        StraightLine,
        crossings,
        curve_fit,
        fit_line,
        likely_lines,
    )
    from plotout.geometry.flatten import FLATNESS, bezier_points, ellipse_points
    from plotout.geometry.lettering import text_lines, text_width, wrapped
    from plotout.geometry.ordering import in_order
    from plotout.geometry.stray_sets import RARE, USUAL_OFF
    from plotout.geometry.strays import (
        ASKED,
        DOUBT,
        DOUBT_BESIDE,
        Explanation,
        Strays,
        Suspect,
        strays,
    )
    from plotout.geometry.sureness import IfSo, Otherwise, two_sigma
    from plotout.layout.paper.pages import page_size
    from plotout.layout.paper.tiles import (
        MatchMark,
        Tile,
        Tiled,
        TilePlan,
        joining_order,
    )
    from plotout.layout.paper.tiling import page_grids, tile_plan
    from plotout.layout.stock.model import PageGrid
    from plotout.machine.axes import machine_matrix
    from plotout.machine.calibration import correction
    from plotout.machine.profile import options_of
    from plotout.pattern.drawing import picks_of_lines
    from plotout.pattern.recognise import (
        NamedLine,
        grain_shape,
        middle_shapes,
        notch_shape,
        outline_shapes,
    )
    from plotout.plugins import read_drawing
    from plotout.sending.virtual.head import Head
    from plotout.tables import (
        Acceleration,
        Angle,
        Choice,
        Count,
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
    from plotout.tables.looks import looks_like
    from plotout.tables.spreadsheet import decimal_comma, read_spreadsheet
    from plotout.tongue import PLAIN, Tongue
    from plotout.tool.tolerance import arc_tolerance
    from plotout.units import length, plain_number, plain_signs, unit_length

_HOME = {
    "plotout.errors": ("is_text", "nearest", "shown", "collecting_errors"),
    "plotout.files": ("open_ordinary", "read_whole"),
    "plotout.geometry.arcs": ("find_arcs",),
    "plotout.geometry.cubics": ("find_cubics",),
    "plotout.geometry.evidence": ("Hand",),
    "plotout.geometry.fitting": (
        "CurveFit",
        "End",
        "FEWEST_PRICKS",
        "NoCurveError",
        "StraightLine",
        "crossings",
        "curve_fit",
        "fit_line",
        "likely_lines",
    ),
    "plotout.geometry.flatten": (
        "FLATNESS",
        "bezier_points",
        "ellipse_points",
    ),
    "plotout.geometry.lettering": ("text_lines", "text_width", "wrapped"),
    "plotout.geometry.ordering": ("in_order",),
    "plotout.geometry.stray_sets": ("RARE", "USUAL_OFF"),
    "plotout.geometry.strays": (
        "ASKED",
        "DOUBT",
        "DOUBT_BESIDE",
        "Explanation",
        "Strays",
        "Suspect",
        "strays",
    ),
    "plotout.geometry.sureness": ("IfSo", "Otherwise", "two_sigma"),
    "plotout.layout.paper.pages": ("page_size",),
    "plotout.layout.paper.tiles": (
        "MatchMark",
        "Tile",
        "TilePlan",
        "Tiled",
        "joining_order",
    ),
    "plotout.layout.paper.tiling": ("page_grids", "tile_plan"),
    "plotout.layout.stock.model": ("PageGrid",),
    "plotout.machine.axes": ("machine_matrix",),
    "plotout.machine.calibration": ("correction",),
    "plotout.machine.profile": ("options_of",),
    "plotout.pattern.drawing": ("picks_of_lines",),
    "plotout.pattern.recognise": (
        "NamedLine",
        "grain_shape",
        "middle_shapes",
        "notch_shape",
        "outline_shapes",
    ),
    "plotout.plugins": ("read_drawing",),
    "plotout.sending.virtual.head": ("Head",),
    "plotout.tables": (
        "Acceleration",
        "Angle",
        "Choice",
        "Count",
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
    "plotout.tables.looks": ("looks_like",),
    "plotout.tables.spreadsheet": (
        "decimal_comma",
        "read_spreadsheet",
    ),
    "plotout.tool.tolerance": ("arc_tolerance",),
    "plotout.tongue": ("PLAIN", "Tongue"),
    "plotout.units": ("length", "plain_number", "plain_signs", "unit_length"),
}

__all__ = [
    "ASKED",
    "DOUBT",
    "DOUBT_BESIDE",
    "FEWEST_PRICKS",
    "FLATNESS",
    "PLAIN",
    "RARE",
    "USUAL_OFF",
    "Acceleration",
    "Angle",
    "Choice",
    "Count",
    "CurveFit",
    "End",
    "Explanation",
    "Fault",
    "Flag",
    "Force",
    "Given",
    "Hand",
    "Head",
    "IfSo",
    "Kind",
    "Length",
    "ListOf",
    "MatchMark",
    "Name",
    "NamedLine",
    "NoCurveError",
    "Number",
    "Otherwise",
    "PageGrid",
    "Seconds",
    "Share",
    "Speed",
    "StraightLine",
    "Strays",
    "Suspect",
    "Tile",
    "TilePlan",
    "Tiled",
    "Tongue",
    "Words",
    "arc_tolerance",
    "bezier_points",
    "collecting_errors",
    "correction",
    "crossings",
    "curve_fit",
    "decimal_comma",
    "ellipse_points",
    "find_arcs",
    "find_cubics",
    "fit_line",
    "grain_shape",
    "in_order",
    "is_text",
    "joining_order",
    "length",
    "likely_lines",
    "looks_like",
    "machine_matrix",
    "middle_shapes",
    "nearest",
    "notch_shape",
    "open_ordinary",
    "options_of",
    "outline_shapes",
    "page_grids",
    "page_size",
    "picks_of_lines",
    "plain_number",
    "plain_signs",
    "read_drawing",
    "read_spreadsheet",
    "read_whole",
    "shown",
    "strays",
    "table",
    "text_lines",
    "text_width",
    "tile_plan",
    "two_sigma",
    "unit_length",
    "wrapped",
]

__getattr__, __dir__ = lazy(__name__, _HOME)
