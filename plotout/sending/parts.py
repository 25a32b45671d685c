"""What is sent, piece by piece: a file's units with the marks that tell when they are done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from plotout.sending.cutfile import CutFile
from plotout.sending.language import Language


@dataclass(frozen=True, slots=True)
class Part:
    """A few bytes of a unit; with lines that are answered, one line.

    done: the unit that is finished when the machine answers this part, or None. rests: the tool
    is up before this part, so that one may pause here. by_hand: the machine stops at this part
    until somebody sends it on. settles: nothing more is sent before this part is answered.
    """

    unit: int
    data: bytes
    done: int | None = None
    rests: bool = False
    by_hand: bool = False
    settles: bool = False


def parts(file: CutFile, first: int, marks: bool) -> Iterator[Part]:
    """Give what is to be sent from unit `first` on. marks: have the machine say what is done."""
    language = file.language
    head = file.head(first)
    for nth, data in enumerate(_split(language, language.opened(head, first) if marks else head)):
        settles = marks and language.by_line and nth == 0
        yield Part(first, data, by_hand=language.awaits_hand(data), settles=settles)
    if marks and not language.by_line:  # a machine reset by now would draw without its count
        yield Part(first, language.mark, done=first - 1, settles=True)
    owed: int | None = None
    for unit in range(first, file.units):
        pieces = list(_split(language, file.unit(unit)))
        if marks and pieces:
            pieces[-1] = language.counted(pieces[-1], unit + 1)
        for nth, data in enumerate(pieces):
            rests = nth == (1 if language.by_line else 0)
            yield Part(unit, data, rests=rests, by_hand=language.awaits_hand(data))
            if owed is not None and nth == 0:
                yield Part(unit, language.mark, done=owed)  # the tool is up by now
                owed = None
        if marks and language.by_line and unit + 1 < file.units:
            owed = unit
        elif marks:
            yield Part(unit, language.mark, done=unit)


def _split(language: Language, data: bytes) -> Iterator[bytes]:
    if not language.by_line:
        yield data
        return
    for line in data.splitlines():
        if line.strip():
            yield line.strip() + b"\n"
