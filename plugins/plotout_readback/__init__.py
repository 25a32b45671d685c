"""Interpreters: what a machine obeying a file would do. They share nothing with the drivers."""

from __future__ import annotations

from plotout import Interpreter, hookimpl
from plotout_readback import drawings, gcode, hpgl, pdf


@hookimpl
def plotout_interpreters() -> list[Interpreter]:
    """Offer one interpreter per family of formats."""
    return [
        Interpreter("HP-GL and HP-GL/2", ("hpgl", "hpgl2"), hpgl.read),
        Interpreter("RS-274/NGC", ("gcode",), gcode.read),
        Interpreter("PDF pages", ("pdf-tiles", "pdf-page"), pdf.read),
        Interpreter("SVG", ("svg",), drawings.read_svg),
        Interpreter("DXF", ("dxf",), drawings.read_dxf),
    ]
