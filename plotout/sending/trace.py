"""Once round the work with the tool up, before it is cut."""

from __future__ import annotations

import time
from dataclasses import dataclass

from plotout.conversation import Account, Heard
from plotout.errors import MachineError, PlotoutError
from plotout.language import Language
from plotout.sending.cutfile import CutFile
from plotout.sending.extent import Box
from plotout.sending.flow_control import Credit
from plotout.sending.safe import how_left, make_safe
from plotout.sending.standing import was_reset
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Wish

NAP = 0.005
LOOK_EVERY = 3.0  # s without an answer, between looks at the machine
LONGEST = 60.0  # s for a machine that answers only when it is round


def trace(
    file: CutFile, talk: PortTalk, credit: Credit, box: Box, wish: Wish, patience: float
) -> None:
    """Go round `box` (machine mm) and wait until the machine is back, if it can report that.

    patience: s without an answer. Raises MachineError if the machine answers with an error, or does
    not go round, and PlotoutError if the user stopped it; either says how its tool was left.
    """
    lift = file.highest_lift
    try:
        if not _Round(file, lift, talk, credit, wish, patience).goes(box):
            raise PlotoutError("not sent", fix="Nothing was cut.")
    except PlotoutError as fault:
        reset = isinstance(fault, MachineError)
        safe = make_safe(talk, file, answers=True, reset=reset, lift=lift)
        fault.fix = f"{how_left(safe)} {fault.fix}"
        raise


@dataclass(slots=True)
class _Round:
    """A round that is under way. lift: with which it begins; owed: answers to come; heard_at: when
    one last did; stood: where the machine was last seen to stand with answers to come.
    """

    file: CutFile
    lift: bytes
    talk: PortTalk
    credit: Credit
    wish: Wish
    patience: float
    owed: int = 0
    heard_at: float = 0.0
    looked_at: float = 0.0
    stood: Account | None = None

    def goes(self, box: Box) -> bool:
        """Go round; return False if the user stopped it. Raises MachineError."""
        language, talk, credit = self.file.language, self.talk, self.credit
        left, low, right, high = (side / self.file.unit_mm for side in box)
        corners = [(left, low), (right, low), (right, high), (left, high), (left, low)]
        opening, *rest = language.travels(self.lift, corners)
        if language.acknowledges:
            rest.insert(0, opening)
        else:
            talk.say(opening)
            language.initialized(talk)  # by us, if it is: that is forgotten by asking
        self.heard_at = time.monotonic()
        for line in [*rest, *_mark(language)]:
            data = language.numbered(line, talk.number) if language.in_turn else line
            while credit.room() < len(data) and not self.wish.stop:
                question = credit.question(short=True)
                if question:
                    talk.say(question)
                self._wait()
            if self.wish.stop:
                return False
            talk.number += language.in_turn
            talk.say(data)
            credit.sent(len(data))
            self.owed += language.acknowledges or line == language.mark
        while self.owed > 0 and not self.wish.stop:
            self._wait()
        if not self.wish.stop and language.initialized(talk):
            raise was_reset()
        return not self.wish.stop

    def _wait(self) -> None:
        """Listen. Raises MachineError if the machine stands before it is round, or says nothing."""
        answers = _listen(self.talk, self.credit)
        self.owed -= answers
        now = time.monotonic()
        if answers:
            self.heard_at, self.stood = now, None
        if now - max(self.heard_at, self.looked_at) < LOOK_EVERY:
            return
        self.looked_at = now
        language = self.file.language
        if language.in_turn:  # asked anything, it would answer when it is round
            if now - self.heard_at > max(self.patience, LONGEST):
                raise _lost()
            return
        account = language.glance(self.talk, 0)
        if account is None and now - self.heard_at > self.patience:
            raise MachineError(
                f"for {now - self.heard_at:.0f} s the machine did not answer on its way round",
                fix="Nothing was cut. Check its power and the cable; then send again.",
            )
        if account is not None and account.idle and account == self.stood:
            raise _lost()
        self.stood = account


def _lost() -> MachineError:
    return MachineError(
        "the machine did not go round the work: it was reset, or lines to it were lost",
        fix="Nothing was cut. Home it, or register the sheet again; then send again.",
    )


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
