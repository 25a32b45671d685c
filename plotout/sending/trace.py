"""Once round the work with the tool up, before it is cut."""

from __future__ import annotations

import time

from plotout.errors import MachineError
from plotout.language import Language
from plotout.sending.cutfile import CutFile
from plotout.sending.extent import Box
from plotout.sending.flow_control import Credit
from plotout.sending.safe import make_safe
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Wish

NAP = 0.005
PATIENCE = 120.0  # s for going round


def trace(file: CutFile, talk: PortTalk, credit: Credit, box: Box, wish: Wish) -> bool:
    """Go round `box` (machine mm) and wait until the machine is back, if it can report that.

    Return False if the user stopped it: the tool is then up.
    Raises MachineError if the machine answers with an error, or does not go round.
    """
    language = file.language
    left, low, right, high = (side / file.unit_mm for side in box)
    corners = [(left, low), (right, low), (right, high), (left, high), (left, low)]
    until = time.monotonic() + PATIENCE
    owed, answered = 0, 0
    came_round = False
    try:
        round_it = [*language.travels(file.lift, corners), *_mark(language)]
        for line in round_it:
            while credit.room() < len(line) and not wish.stop and time.monotonic() < until:
                question = credit.question(short=True)
                if question:
                    talk.say(question)
                answered += _listen(talk, credit)
            data = language.numbered(line, talk.number) if language.in_turn else line
            talk.number += language.in_turn
            talk.say(data)
            credit.sent(len(data))
            owed += language.acknowledges or line == language.mark
        while answered < owed and not wish.stop and time.monotonic() < until:
            answered += _listen(talk, credit)
        came_round = answered == owed and not wish.stop
    finally:
        if not came_round:
            make_safe(talk, file, answers=True)
    if not came_round and not wish.stop:
        raise MachineError("the machine did not go round the work", fix="Check the machine.")
    return came_round


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
    return sum(one.kind in ("ok", "count") for one in heard)
