"""What makes a program one that can't be sent.

Source: NIST IR 6556 (G10, G28, G30, G41, G42, G53 to G59.3, G81 to G89, G91, G92, M2, M30; 3.4:
two words of one modal group in a line are an error; 3.5.4: so is a dwell without P). The longest
line of the most used open-source three-axis control is 80 characters, by its public notes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from plotout import Buffer
from plotout_gcode.in_force import GROUPS
from plotout_gcode.words import Word, blocks

_WHY = (
    dict.fromkeys(
        (b"G91", b"G92", b"G10", b"G52", b"G68"),
        "relative or shifted coordinates: the job could not be resumed",
    )
    | dict.fromkeys(
        (b"G28", b"G30", b"G53"),
        "a place of the machine's own: what lies on the way there is not in the file",
    )
    | dict.fromkeys(
        (b"G73", *(b"G%d" % number for number in range(81, 90))),
        "a drilling cycle, whose moves are not in the file: write them out",
    )
    | dict.fromkeys((b"M97", b"M98"), "a part of the program as often as it says: can't be counted")
    | dict.fromkeys(
        (b"G55", b"G56", b"G57", b"G58", b"G59", b"G59.1", b"G59.2", b"G59.3"),
        "another zero than G54, which a reset brings back: could not be resumed",
    )
    | dict.fromkeys((b"G41", b"G42"), "compensation of the path, which plotout switches off (G40)")
)


_MARK = b"\xef\xbb\xbf"
_ROOM = 72  # characters of a line beside its number, which is put before some
_LONG = re.compile(rb"[^\n]{%d,}" % (_ROOM + 1))
_NOT_SENT = re.compile(rb"\([^)]*\)|;[^\n]*|[ \t\r\x00\x1a]")


def unsafe(data: Buffer, passed: Callable[[int], None], dwell: frozenset[bytes]) -> Iterator[str]:
    """Give what makes it unsafe, in words. passed: told how far it has been read, bytes. dwell: the
    letters of which one says how long a dwell is.
    """
    if data[: len(_MARK)] == _MARK:
        yield "it begins with a byte order mark, which machines refuse: save it as plain ASCII"
    if data.find(b"\r") >= 0 and data.find(b"\n") < 0:
        yield "its lines end by CR alone, so it is one line: save it with LF or CR LF"
        return
    spindle, ended = False, False
    units: set[bytes] = set()
    odd: dict[bytes, str] = {}
    refused: dict[str, int] = {}
    for at, words in blocks(data, stretches=True):
        passed(at)
        codes = {letter + number for letter, number in words}
        units |= codes & {b"G20", b"G21"}
        odd |= {word: _WHY[word] for word in sorted(codes & _WHY.keys())}
        wrong = _wrong(words, dwell)
        if wrong and wrong not in refused:
            refused[wrong] = at
        if codes & {b"M3", b"M4"}:
            spindle = True
        if codes & {b"M5", b"M2", b"M30"}:
            spindle = False
        ended = ended or bool(codes & {b"M2", b"M30"})
    if len(units) > 1:
        yield "it changes from G20 to G21, or back: where a stroke lies could not be known"
    for word, why in odd.items():
        yield f"{word.decode()}: {why}"
    for wrong, at in refused.items():
        yield f"line {_number(data, at)} has {wrong}: it would be refused"
    if spindle:
        yield "it leaves the spindle or the beam on"
    if not ended:
        yield "it has no end (M2 or M30): it may be cut off"


def too_long(data: Buffer) -> Iterator[str]:
    """Give the first line that is too long for most controls, without what is no part of it."""
    for found in _LONG.finditer(data):
        length = len(_NOT_SENT.sub(b"", found[0]))
        if length > _ROOM:
            yield (
                f"line {_number(data, found.start())} has {length} characters: most small controls "
                "take 80 with the number that plotout puts before it, and refuse more"
            )
            return


def _wrong(words: list[Word], dwell: frozenset[bytes]) -> str:
    """Return what a control refuses in a line, "" if nothing."""
    ones: dict[int, bytes] = {}
    for word in (letter + number for letter, number in words if letter in b"GM"):
        group = GROUPS.get(word)
        if group in ones:
            return f"{ones[group].decode()} and {word.decode()} together"
        if group is not None:
            ones[group] = word
    if (b"G", b"4") in words and not dwell & {letter for letter, _ in words}:
        return f"G4 without {' or '.join(sorted(letter.decode() for letter in dwell))}"
    return ""


def _number(data: Buffer, at: int) -> int:
    return data[:at].count(b"\n") + 1
