"""What is sent, message by message: a file's units, with marks that show when they are done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from plotout.conversation import Point
from plotout.language import Language
from plotout.sending.cutfile import CutFile


@dataclass(frozen=True, slots=True)
class Message:
    """A few bytes of a unit; in a language that acknowledges, what gets one answer.

    line: its number among its unit's messages, or of the one that it follows as a mark; -1 before
    the first unit. done: the unit that is finished when the machine answers this message, or None.
    rests: the tool is up before this message, so pausing is possible. by_hand: the machine stops
    at this message until somebody restarts it. settles: nothing is sent before it is answered.
    number: see `Language.numbered`; -1: it has none. aside: no part of the file, and may be
    refused. turn: see `Language.turn`; shows: see `in_step.Steps`, lasting.
    at: of a mark that follows no line of a unit, where the machine should be, file units; None:
    where that line leads.
    """

    unit: int
    data: bytes
    line: int = -1
    done: int | None = None
    rests: bool = False
    by_hand: bool = False
    settles: bool = False
    number: int = -1
    aside: bool = False
    turn: bool = False
    shows: tuple[int, int] = (0, 0)
    at: Point | None = None


def messages(file: CutFile, first: int, marks: bool) -> Iterator[Message]:
    """Yield what is sent from unit `first` on. marks: have the machine report what is done."""
    language = file.language
    acknowledges = language.acknowledges
    head = file.head(first)
    opening = list(language.split(language.opened(head, first) if marks else head))
    begin = language.opening(first, file.data) if marks else b""
    before = [begin] if begin else list(language.split(language.assumed))
    file.window.passed(len(file.data))
    if marks and language.in_turn:  # before it goes to its corners, with what runs switched off
        yield from (Message(first, data) for data in before)
        yield from marked(language, Message(first, b"", done=first - 1, settles=True))
    else:
        opening[:0] = before
    begins = marks and acknowledges and not language.in_turn
    if begins and not opening:  # else it would never be known to have begun
        opening.append(language.mark)
    for index, data in enumerate(opening):
        settles = begins and index == 0
        yield Message(first, data, by_hand=language.awaits_hand(data), settles=settles)
    if marks and not acknowledges:  # a machine that was reset would draw without its count
        yield Message(first, language.mark, done=first - 1, settles=True)
    owed: int | None = None
    is_up = not acknowledges or (first > 0 and language.ends_up(file.unit(first - 1)))
    for unit in range(first, file.units):
        data = file.unit(unit)
        pieces = list(language.split(data))
        counts = marks and file.counts(unit)
        if counts and pieces:
            pieces[-1] = language.counted(pieces[-1], unit + 1)
        for index, piece in enumerate(pieces):
            rests = index == (0 if is_up else 1)
            yield Message(unit, piece, index, rests=rests, by_hand=language.awaits_hand(piece))
            if owed is not None and index == 0:
                yield from marked(language, Message(unit, b"", index, done=owed))  # it is up now
                owed = None
        is_up = not acknowledges or language.ends_up(data)
        if counts and not is_up and unit + 1 < file.units:
            owed = unit
        elif counts:
            yield from marked(language, Message(unit, b"", len(pieces) - 1, done=unit))


def marked(language: Language, mark: Message) -> Iterator[Message]:
    """Yield the messages of a mark, of which the last one's answer shows what is done."""
    *before, last = language.split(language.mark) if language.in_turn else (language.mark,)
    for data in before:
        yield replace(mark, data=data, done=None, settles=False)
    yield replace(mark, data=last)
