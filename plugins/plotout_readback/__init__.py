"""Interpreters: what a machine obeying a file would do. They share nothing with the drivers."""

from __future__ import annotations

from plotout import Interpreter, hookimpl


@hookimpl
def plotout_interpreters() -> list[Interpreter]:
    """Offer one interpreter per family of formats."""
    from plotout_readback import dxf, gcode, hpgl, pdf, svg

    return [
        Interpreter("HP-GL and HP-GL/2", ("hpgl", "hpgl2"), hpgl.read, hpgl.parts),
        Interpreter("RS-274/NGC", ("gcode",), gcode.read, gcode.parts),
        Interpreter("PDF pages", ("pdf-tiles", "pdf-page"), pdf.read),
        Interpreter("SVG", ("svg",), svg.read),
        Interpreter("DXF", ("dxf",), dxf.read),
    ]
