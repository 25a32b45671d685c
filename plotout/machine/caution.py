"""The usual cautions for every kind of machine. The maker's manual, local rules and licensed
practice take precedence over anything said here. Common practice throughout.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plotout.machine.model import Machine


_FIRST = (
    "The machine's manual, your local rules and licensed practice come first; this does not "
    "replace them."
)

KINDS: dict[str, tuple[str, ...]] = {
    "knife": (
        _FIRST,
        "Blades cut hands as well as card: keep hands off the bed while anything moves, and take "
        "the blade out or cap it before you reach in.",
        "Try force, depth and offset on a scrap of the same card first.",
    ),
    "laser": (
        _FIRST,
        "Wear the eye protection that the manual names for this wavelength; never run it with its "
        "cover open or its interlock bridged.",
        "Card and paper catch fire: stay beside it, with the extraction on and an extinguisher in "
        "reach. Never cut PVC or other stock that gives off chlorine.",
    ),
    "router": (
        _FIRST,
        "Wear eye and ear protection; tie back hair and sleeves; clamp the stock down.",
        "Keep hands and loose objects away until the spindle has stopped.",
    ),
    "pen": (_FIRST, "Keep fingers, hair and sleeves off the carriage while it moves."),
    "printer": ("Print at actual size; measure the test square before you cut anything.",),
    "file": (),
}


def caution(machine: Machine) -> tuple[str, ...]:
    """Return the cautions to show before a file for this machine is used."""
    return KINDS[machine.kind] + machine.cautions
