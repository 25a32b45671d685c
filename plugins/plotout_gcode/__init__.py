"""G-code (RS-274/NGC), for gantry knives, routers and lasers."""

from __future__ import annotations

from collections.abc import Sequence

from plotout import Driver, Language, Machine, Program, Sheet, hookimpl


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """G-code."""
    from plotout_gcode.options import Options, as_driven

    return [
        Driver(
            "gcode", ".ngc", _emit, _check, arcs=True, options=Options, language="gcode",
            as_driven=as_driven,
        )
    ]  # fmt: skip


@hookimpl
def plotout_languages() -> Sequence[Language]:
    """Offer the language of small controls that are fed line by line, and of those that obey
    nothing but lines.
    """
    from plotout_gcode.language import Gcode
    from plotout_gcode.lines import GcodeLines

    return [Gcode(), GcodeLines()]


def _emit(program: Program, _sheet: Sheet) -> bytes:
    from plotout_gcode.emit import emit

    return emit(program)


def _check(machine: Machine) -> None:
    from plotout_gcode.options import check

    check(machine)
