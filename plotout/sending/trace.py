"""Once round the work with the tool up, before it is cut."""

from __future__ import annotations

import time

from plotout.conversation import Heard
from plotout.errors import MachineError, PlotoutError, UserError
from plotout.language import Language
from plotout.sending.cutfile import CutFile
from plotout.sending.extent import Box
from plotout.sending.flow_control import Credit
from plotout.sending.safe import how_left, make_safe
from plotout.sending.standing import was_reset
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Wish

NAP = 0.005
PATIENCE = 120.0  # s for going round


def trace(file: CutFile, talk: PortTalk, credit: Credit, box: Box, wish: Wish) -> None:
    """Go round `box` (machine mm) and wait until the machine is back, if it can report that.

    Raises UserError if the user stopped it, and MachineError if the machine answers with an error,
    or does not go round; either says how its tool was left.
    """
    try:
        came_round = _went_round(file, talk, credit, box, wish)
        if wish.stop:
            raise UserError("not sent", fix="Nothing was cut.")
        if not came_round:
            raise MachineError("the machine did not go round the work", fix="Check the machine.")
    except PlotoutError as fault:
        fault.fix = f"{how_left(make_safe(talk, file, answers=True))} {fault.fix}"
        raise


def _went_round(file: CutFile, talk: PortTalk, credit: Credit, box: Box, wish: Wish) -> bool:
    """Go round; return False if the user stopped it, or the time is up."""
    language = file.language
    left, low, right, high = (side / file.unit_mm for side in box)
    corners = [(left, low), (right, low), (right, high), (left, high), (left, low)]
    until = time.monotonic() + PATIENCE
    owed, answered = 0, 0
    opening, *rest = language.travels(file.lift, corners)
    if language.acknowledges:
        rest.insert(0, opening)
    else:
        talk.say(opening)
        language.initialized(talk)  # by us, if it is: that is forgotten by asking
    for line in [*rest, *_mark(language)]:
        data = language.numbered(line, talk.number) if language.in_turn else line
        while credit.room() < len(data) and not wish.stop and time.monotonic() < until:
            question = credit.question(short=True)
            if question:
                talk.say(question)
            answered += _listen(talk, credit)
        if wish.stop or credit.room() < len(data):
            return False
        talk.number += language.in_turn
        talk.say(data)
        credit.sent(len(data))
        owed += language.acknowledges or line == language.mark
    while answered < owed and not wish.stop and time.monotonic() < until:
        answered += _listen(talk, credit)
    if answered == owed and language.initialized(talk):
        raise was_reset()
    return answered == owed


def _mark(language: Language) -> list[bytes]:
    return list(language.split(language.mark)) if language.in_turn else [language.mark]


def _listen(talk: PortTalk, credit: Credit) -> int:
    """Return the number of answers."""
    time.sleep(NAP)
    heard = talk.hearing.take(talk.link.read())
    for answer in heard:
        credit.heard(answer)
        if answer.kind == "error":
            raise MachineError(
                f"the machine answered '{answer.text}' while going round the work: {answer.means}",
                fix="Nothing was cut. Correct the cause, and send again.",
            )
        if answer.kind in ("reset", "strange", "again"):
            raise MachineError(
                f"the machine said '{answer.text}' while going round the work: it may have been "
                "reset, and have lost its position",
                fix="Nothing was cut. Home it, then send again.",
            )
    return sum(one.kind in ("ok", "count") or _with_ok(one) for one in heard)


def _with_ok(heard: Heard) -> bool:
    """Return whether a place is in one line with its `ok`."""
    return heard.kind == "place" and bool(heard.value)
