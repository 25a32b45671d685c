"""HP-GL and HP-GL/2, for pen plotters, roll plotters and card cutters.

If a profile's bed has `advance = "automatic"`, its roll is advanced by `FR`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from plotout import Driver, Language, Machine, Program, Sheet, hookimpl

_ALIKE: Mapping[str, Any] = {"advances": True, "language": "hpgl"}


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Offer the drivers for HP-GL and HP-GL/2."""
    from plotout_hpgl.driven import as_driven
    from plotout_hpgl.options import Hpgl2Options, HpglOptions

    both: dict[str, Any] = {**_ALIKE, "as_driven": as_driven}
    return [
        Driver("hpgl", ".plt", _hpgl, _check_hpgl, options=HpglOptions, **both),
        Driver("hpgl2", ".plt", _hpgl2, _check_hpgl2, options=Hpgl2Options, **both),
    ]


@hookimpl
def plotout_languages() -> Sequence[Language]:
    """Offer HP-GL with its device control."""
    from plotout_hpgl.language import Hpgl

    return [Hpgl()]


def _hpgl(program: Program, _sheet: Sheet) -> bytes:
    from plotout_hpgl.emit import HPGL, emit

    return emit(program, HPGL)


def _hpgl2(program: Program, _sheet: Sheet) -> bytes:
    from plotout_hpgl.emit import HPGL2, emit

    return emit(program, HPGL2)


def _check_hpgl(machine: Machine) -> None:
    from plotout_hpgl.emit import HPGL, check

    check(machine, HPGL)


def _check_hpgl2(machine: Machine) -> None:
    from plotout_hpgl.emit import HPGL2, check

    check(machine, HPGL2)
