"""Compares the settings that a small control reports by `$$` with its profile.

Numbers: the public interface notes of the most used open-source three-axis control, version 1.1:
13 reports in inches, 30 greatest S, 32 laser mode, 110 to 112 greatest speeds (mm/min), 120 to 122
accelerations (mm/s2), 130 to 132 travel (mm). `$#` tells an offset (G92) and a tool's length (TLO);
a reset ends both, and brings back G54. The free bytes of its receive buffer are the second number
of Bf in a report, all of them the third of [OPT:] in its answer to `$I`.
"""

from __future__ import annotations

import re

from plotout import Differences, Machine, Talk
from plotout_gcode.options import options
from plotout_gcode.status import ask, modes

_SIZE = re.compile(r"^\[OPT:[^,\]]*,\d{1,6},(\d{1,6})[,\]]")
_SETTING = re.compile(r"^\$(\d{1,5})=(-?\d{1,9}(?:\.\d*)?)(?![\d.])")
_OFFSET = re.compile(r"^\[(G92|TLO):([-\d.,]+)\]")
_OTHER_ZERO = re.compile(r"G5[5-9](?:\.\d)?")
_HELD_BY = {"TLO": "a tool's length (G43.1)"}
_ENDED_BY = {"TLO": "end the length by G49", "G92": "end the other by G92.1"}
LESS = 0.99  # of a profile's figure: smaller ones are reported


def differences(talk: Talk, machine: Machine, buffer: int) -> Differences:
    """Return the differences that can do harm, and the others. buffer: bytes, of the language."""
    said = talk.command(b"$$\n", ("setting",), 2.0)
    matches = (_SETTING.match(answer.text) for answer in said if answer.kind == "setting")
    settings = {int(match[1]): float(match[2]) for match in matches if match}
    unsafe = (*_unsafe(settings, machine), *_overflow(talk, machine, buffer), *_passing(talk))
    return Differences(unsafe, tuple(_notes(settings, machine)))


def receive_buffer(talk: Talk) -> int:
    """Return the bytes of a resting control's receive buffer, 0 if it does not report them. Two
    reports are read, since one may arrive damaged.
    """
    said = talk.command(b"$I\n")
    sizes = [int(match[1]) for answer in said if (match := _SIZE.match(answer.text))]
    reports = (ask(talk), ask(talk))
    rooms = [one.room for one in reports if one and one.room and one.state == "Idle"]
    return min((*sizes, max(rooms)) if rooms else sizes, default=0)


def _passing(talk: Talk) -> list[str]:
    """Return what holds the zero of its work until a reset, by which a job may be stopped."""
    said = talk.command(b"$#\n")
    offsets = [match for answer in said if (match := _OFFSET.match(answer.text))]
    found = [match[1] for match in offsets if any(map(float, re.findall(r"[\d.]+", match[2])))]
    found += [word for word in modes(talk).split() if _OTHER_ZERO.fullmatch(word)]
    return [
        f"its zero holds by {_HELD_BY.get(word, word)} only until a reset, by which a job may be "
        "stopped, and it would go on in another place: set the zero of G54 (G10 L20 P1), and "
        f"{_ENDED_BY.get(word, 'choose G54')}"
        for word in found
    ]


def _overflow(talk: Talk, machine: Machine, usual: int) -> list[str]:
    """Return what is wrong where a machine has less room than it would be sent: it loses lines."""
    if machine.sending.flow not in ("", "ok"):
        return []
    counted_on, has = machine.sending.buffer or usual, receive_buffer(talk)
    if not 0 < has < counted_on - 1:  # a byte always stays free
        return []
    return [
        f"its receive buffer holds {has} bytes, not {counted_on}: lines would be lost: write "
        f"buffer = {has} under [sending]"
    ]


def _unsafe(settings: dict[int, float], machine: Machine) -> list[str]:
    full, beam = _power(machine)
    words = []
    if settings.get(13) == 1.0:
        words.append("it reports in inches ($13=1), so its place would be misread: set $13=0")
    if beam and settings.get(32) == 0.0:
        words.append("its laser mode is off ($32=0): the beam would burn along travels: set $32=1")
    if beam and full and settings.get(30, full) < LESS * full:
        words.append(
            f"its greatest S is {settings[30]:g} ($30), not {full:g} as in the profile: the beam "
            "would be stronger than intended"
        )
    return words


def _notes(settings: dict[int, float], machine: Machine) -> list[str]:
    full, beam = _power(machine)
    words = []
    fastest = machine.motion.travel_speed
    for number, axis in ((110, "x"), (111, "y")):
        most = settings.get(number, 60.0 * fastest) / 60.0
        if most < LESS * fastest:
            words.append(
                f"its greatest speed along {axis} is {most:g} mm/s, not {fastest:g}: slower"
            )
    for number, axis, size in ((130, "x", machine.bed.length), (131, "y", machine.bed.width)):
        if settings.get(number, size) < LESS * size:
            words.append(
                f"along {axis} it travels {settings[number]:g} mm, not {size:g}: work beyond that "
                "raises an alarm"
            )
    rise = _rise(machine)
    if rise and settings.get(132, rise) < LESS * rise:
        words.append(
            f"along z it travels {settings[132]:g} mm, but the tool moves through {rise:g} mm: "
            "that raises an alarm"
        )
    if full and settings.get(30, full) * LESS > full:
        words.append(
            f"its greatest S is {settings[30]:g}, not {full:g}: power is less than intended"
        )
    if not beam and settings.get(32) == 1.0:
        words.append("its laser mode is on ($32=1), but the profile has no beam")
    return words


def _rise(machine: Machine) -> float:
    """Return the mm between the lowest and the highest place of a tool that Z lowers, or 0."""
    if machine.driver != "gcode" or options(machine).tool != "z":
        return 0.0
    return options(machine).up + max((tool.depth or 0.0 for tool in machine.tools), default=0.0)


def _power(machine: Machine) -> tuple[float, bool]:
    """Return the S word of full power, and whether the tool is a beam."""
    if machine.driver != "gcode":
        return 0.0, machine.kind == "laser"
    asked = options(machine)
    return asked.full, asked.tool == "laser"
