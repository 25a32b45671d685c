"""What makes a program one that can't be sent.

Source: NIST IR 6556 (G10, G28, G30, G41, G42, G53 to G59.3, G91, G92, M2, M30).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from plotout import Buffer
from plotout_gcode.words import blocks

_WHY = (
    dict.fromkeys(
        (b"G91", b"G92", b"G10", b"G28", b"G30", b"G52", b"G53", b"G68", b"M98"),
        "relative or shifted coordinates: the job could not be resumed",
    )
    | dict.fromkeys(
        (b"G55", b"G56", b"G57", b"G58", b"G59", b"G59.1", b"G59.2", b"G59.3"),
        "another zero than G54, which a reset brings back: could not be resumed",
    )
    | dict.fromkeys((b"G41", b"G42"), "compensation of the path, which plotout switches off (G40)")
)


def unsafe(data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
    """Give what makes it unsafe, in words. passed: told how far it has been read, bytes."""
    spindle, ended = False, False
    units: set[bytes] = set()
    odd: dict[bytes, str] = {}
    for at, words in blocks(data, stretches=True):
        passed(at)
        codes = {letter + number for letter, number in words}
        units |= codes & {b"G20", b"G21"}
        odd |= {word: _WHY[word] for word in sorted(codes & _WHY.keys())}
        if codes & {b"M3", b"M4"}:
            spindle = True
        if codes & {b"M5", b"M2", b"M30"}:
            spindle = False
        ended = ended or bool(codes & {b"M2", b"M30"})
    if len(units) > 1:
        yield "it changes from G20 to G21, or back: where a stroke lies could not be known"
    for word, why in odd.items():
        yield f"{word.decode()}: {why}"
    if spindle:
        yield "it leaves the spindle or the beam on"
    if not ended:
        yield "it has no end (M2 or M30): it may be cut off"
