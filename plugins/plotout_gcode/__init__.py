"""G-code (RS-274/NGC), for gantry knives, routers and lasers.

A profile's `[options]`; lengths in mm:

units: "mm" (the default) or "inch": what the file is written in.
tool: how the tool is let down: "z" (the default), "spindle" (an output, on and off), or "laser".
up: height of Z above the stock's face while travelling (default 5). Z 0 is the stock's face.
plunge: mm/s straight down (default 10).
on: the word that switches the output or the beam on: "M3" (default), or "M4" (default of "laser").
full: the S word that stands for 100 % (default 1000).
rotary: the axis that turns a tangential knife: "A" or "C".
turning: degrees/s of that axis when it turns alone, in the stock (default 180).
change: how tools are changed: "by hand" (the default: M6, then M0), "automatic" (M6), or "none".
"""

from __future__ import annotations

from collections.abc import Sequence

from plotout import Driver, Machine, Program, Sheet, hookimpl

_OPTIONS = ("units", "tool", "up", "plunge", "on", "full", "rotary", "turning", "change")


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """G-code."""
    return [Driver("gcode", ".ngc", _emit, _check, arcs=True, options=_OPTIONS)]


def _emit(program: Program, _sheet: Sheet) -> bytes:
    from plotout_gcode.emit import emit

    return emit(program)


def _check(machine: Machine) -> None:
    from plotout_gcode.options import options

    options(machine)
