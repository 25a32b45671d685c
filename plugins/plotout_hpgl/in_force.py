"""What a plot has put in force up to a place, so that a job can be resumed there.

Source: HP 7550A Interfacing and Programming Manual; HP-GL/2, AF, AH and EC from memory.
"""

from __future__ import annotations

import re

from plotout import Buffer
from plotout_hpgl.decoding import pen_after
from plotout_hpgl.pieces import INSTRUCTION, NUMBERS
from plotout_hpgl.unsafe import UNFOLLOWED

FEEDS = (b"FR", b"PG", b"AF", b"AH")
"""They advance the paper, by a frame, a sheet or half of one."""
_SETS = frozenset(
    b"AC AD AP AS BL BP CA CO CR CS CT DF DI DR DS DT DV EC ES FS FT IM IN IP IV IW LA LM LO LT "
    b"MC MT NP PA PC PR PS PT PW QL RF RO SA SB SC SD SI SL SM SP SR SS ST SV TD TR UL "
    b"VN VS WU".split()
)
_PASSES = UNFOLLOWED.union(
    FEEDS,
    b"PU PD PE CP LB PB PM UC DC DP NR OA OC OD OE OF OG OH OI OK OL OO OP OS OT OW".split(),
)  # they draw, feed, ask or wait: what they did is done
_KNOWN = _SETS | _PASSES
_BY_PEN = (b"VS", b"FS", b"AS", b"PW")  # with a pen's number after theirs
_MAY_CHOOSE = re.compile(rb"SP|PE.*?:", re.IGNORECASE | re.DOTALL)
_FEEDS = re.compile(b"|".join(FEEDS), re.IGNORECASE)


def state(data: Buffer, end: int) -> bytes:
    """Return what has been set by byte `end`, by its last use: IN, and the last of each other
    instruction, of those that may be for one pen, the last for each.
    """
    last: dict[tuple[bytes, bytes], bytes] = {}
    entered = b""
    for match in INSTRUCTION.finditer(data, 0, end):
        text = bytes(match[0])
        word = text[:2].upper()
        entered = text if word == b"\x1b%" else entered
        chosen = _pen(text)
        if chosen:
            word, text = b"SP", chosen
        if word not in _SETS or (word in (b"PA", b"PR") and NUMBERS.search(text)):
            continue
        pen = (NUMBERS.findall(text)[1:] or [b""])[0] if word in _BY_PEN else b""
        same = [key for key in last if key[0] == word and pen in (b"", key[1])]
        for key in list(last) if word == b"IN" else same:
            del last[key]
        last[word, pen] = text if text.endswith(b";") else text + b";"
    return entered + b"".join(last.values())


def pen(data: bytes) -> bytes:
    """Return the SP by which a pen was chosen last, also by one within PE; empty if none was."""
    if not (_MAY_CHOOSE.search(data)):
        return b""
    chosen = (_pen(bytes(match[0])) for match in INSTRUCTION.finditer(data))
    return next(filter(None, reversed(list(chosen))), b"")


def _pen(instruction: bytes) -> bytes:
    word = instruction[:2].upper()
    if word == b"SP":
        return instruction if instruction.endswith(b";") else instruction + b";"
    within = pen_after(instruction[2:]) if word == b"PE" else None
    return b"" if within is None else b"SP%d;" % within


def not_restored(data: Buffer, end: int) -> tuple[str, ...]:
    """Return the instructions before byte `end` that `state` doesn't know, each once."""
    words = (bytes(match[0][:2]).upper() for match in INSTRUCTION.finditer(data, 0, end))
    unknown = (word for word in words if word.isalpha() and word not in _KNOWN)
    return tuple(word.decode() for word in dict.fromkeys(unknown))


def feeds(data: bytes) -> bool:
    """Return whether an instruction advances the paper. The letters alone may be within PE."""
    found = INSTRUCTION.finditer(data) if _FEEDS.search(data) else ()
    return any(match[0][:2].upper() in FEEDS for match in found)
