"""What in a plot file may not be sent: it would hurt, or could not be counted and resumed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from plotout import Buffer
from plotout_hpgl.pieces import INSTRUCTION, NUMBERS

_CONTROL = re.compile(rb"\x1b\.([@-XZ)])")  # not ESC . ( and Y, which switch the plotter on
_HANDSHAKE = re.compile(rb"[\x05\x06\x11\x13]")  # ENQ, ACK, XON, XOFF: in a label, say
_AT_ONCE = 1 << 20  # bytes
_NO_LETTERS = re.compile(rb"[^A-Za-z]+")
_ESC_E = b"\x1bE"
UNFOLLOWED = frozenset(b"AA AR AT RT CI EA ER EW RA RR WG EP FP BZ BR TL XT YT".split())
_MM = 1.0  # LT's third number: its pattern's length is in mm, not a share of P1 to P2


def unsafe(data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
    """Yield what is unsafe, in words; see `Language.unsafe`.

    The count of strokes is kept in the scaling points, so a file may not set a scale; IN alone
    restores both to what holds anyway. The handshake and the answers are the sender's.
    """
    yield from _controlled(data, passed)
    own: set[bytes] = set()
    scaled: set[bytes] = set()
    worked = again = False
    last, relative, shifted = b"", False, False
    end, lonely = 0, b""
    for match in INSTRUCTION.finditer(data):
        lonely = lonely or _NO_LETTERS.sub(b"", data[end : match.start()])
        end = match.end()
        word = match[0][:2].upper()
        relative = word == b"PR" or (relative and word not in (b"PA", b"IN", b"DF"))
        shifted = shifted or (relative and word == b"PU")
        if word in (b"SC", b"IP", b"RO") and any(map(float, NUMBERS.findall(match[0]))):
            yield f"{word.decode()}: it sets its own scale, so its position is unknown"
        scaled |= {word} if is_scaled(match[0]) else set()
        own |= {word} & UNFOLLOWED
        if word in (b"PD", b"PE"):
            worked, own = True, own | ({_ESC_E} if again else set())
        again = again or (worked and word == _ESC_E)
        last = match[0]
        passed(match.start())
    lonely = lonely or _NO_LETTERS.sub(b"", data[end:])
    if lonely:
        letter = lonely[:1].decode()
        yield f"a letter '{letter}' stands alone: its instruction could not be counted or resumed"
    if _ESC_E in own:
        yield "ESC E: it resets the machine in the middle, which forgets what is done"
    for word in sorted(own - {_ESC_E}):
        yield f"{word.decode()}: work that is not followed: it could not be counted or resumed"
    for word in sorted(scaled):
        yield f"{word.decode()}: sized by the scaling points, in which plotout keeps its count"
    if shifted:
        yield "PR: a stroke begins in relative coordinates: the job could not be resumed"
    moves = last[:2].upper() in (b"PU", b"PD", b"PA", b"PR", b"PE")
    if moves and len(last) > 2 and not last.endswith(b";"):
        yield "it is cut off in the middle of an instruction"


def is_scaled(instruction: bytes) -> bool:
    """Return whether a size or direction that it sets is a share of the distance from P1 to P2:
    dashes (LT, but for those in mm), widths (WU1), letters (SR, DR). Source: HP-GL/2, from memory.
    """
    word = instruction[:2].upper()
    values = [float(number) for number in NUMBERS.findall(instruction[2:])]
    if word == b"LT":
        return bool(values) and values[0] not in (0.0, 99.0) and values[2:3] != [_MM]
    return word == b"SR" or (word in (b"WU", b"DR") and any(values))


def _controlled(data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
    """Give in words what in a file controls the line."""
    letters: set[bytes] = set()
    signs: set[bytes] = set()
    for at in range(0, len(data), _AT_ONCE):
        some = data[max(0, at - 2) : at + _AT_ONCE]  # with what may begin before it
        letters.update(_CONTROL.findall(some))
        signs.update(_HANDSHAKE.findall(some))
        passed(at)
    for letter in sorted(letters):
        yield f"ESC . {letter.decode()}: it controls the line itself, as only plotout may"
    for sign in sorted(signs):
        yield f"byte {sign[0]}: it controls the line itself, as only plotout may"
