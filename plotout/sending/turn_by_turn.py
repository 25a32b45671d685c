"""How a job is sent to a machine that takes its messages in turn: see `in_turn`.

It shows what it does only by its places, so it is seen to reach the work before it cuts there, to
go as deep as it was told, and to have finished a stroke before its tool goes down for the next one.
"""

from __future__ import annotations

import math
from dataclasses import replace

from plotout.conversation import Account
from plotout.language import Stop
from plotout.sending import in_turn
from plotout.sending.exchange import Exchange
from plotout.sending.in_turn import Turns
from plotout.sending.messages import Message, marked
from plotout.sending.pausing import (
    ELSEWHERE,
    AsItWas,
    go_on_from_stop,
    is_elsewhere,
    place_by_turn,
)
from plotout.sending.pushing import NAP, answered, push, until

FIRST_DOWN = 2  # of a unit's messages: the first ones lift the tool, and bring it to the next place


class TurnByTurn:
    """See `procedure.Procedure`."""

    def __init__(self, state: Exchange, turns: Turns, patience: float) -> None:
        self.state, self.turns, self.patience = state, turns, patience

    def begin(self) -> None:
        """See Procedure."""
        in_turn.begin(self.state)
        self.state.begun()

    def send(self, message: Message, comment: str) -> bool:
        """See Procedure."""
        goes_down = message.line >= FIRST_DOWN or self._height(message) <= 0.0
        if message.line >= 0 and goes_down and not self._proven():
            return False
        if message.by_hand:
            return self._by_hand(message, comment) and self._sees_depth(message)
        if not (self._push(message) and self._sees_depth(message)):
            return False
        return not message.settles or (answered(self.state, self.patience) and self._reaches())

    def end(self) -> bool:
        """See Procedure."""
        state = self.state
        return until(state, self.patience, lambda: state.done >= state.file.units)

    def _push(self, *messages: Message) -> bool:
        return all(push(self.state, message, self.patience) for message in messages)

    def _proven(self) -> bool:
        """Wait for the place after the last unit, before the tool goes down for the next one."""
        state, turns = self.state, self.turns
        return until(state, self.patience, lambda: not in_turn.awaits_place(state, turns))

    def _reaches(self) -> bool:
        """Go with the tool up to two corners of the work and see that the machine is there: one
        that ends a move at its travel, without an error, would cut along that.
        """
        state, rests = self.state, self.turns.rests
        file, language = state.file, state.file.language
        if state.box is None or rests is None or rests.at is None or file.units <= state.first:
            return True
        left, low, right, high = (side / file.unit_mm for side in state.box)
        x, y = (value * file.report_mm / file.unit_mm for value in rests.at)
        lift = file.highest_lift
        for corner in ((left, low), (right, high), (x, y)):  # a file may go on from where it stood
            mark = Message(state.first, b"", done=state.first - 1, at=corner)
            travel = language.travels(lift, [corner])
            lines = (replace(mark, data=data, done=None) for data in travel)
            if not self._push(*lines, *marked(language, mark)):
                return False
            if not answered(state, self.patience):
                return False
        return True

    def _sees_depth(self, message: Message) -> bool:
        """After the first move into the stock see that the machine went so deep."""
        state = self.state
        if self.turns.sees_depth or message.line < 0:
            return True
        if self._height(message) >= 0.0:
            return True
        self.turns.sees_depth = True
        mark = Message(message.unit, b"", message.line, done=state.done - 1)
        return self._push(*marked(state.file.language, mark))

    def _height(self, message: Message) -> float:
        """Return the least height that a message tells, inf without one; file units."""
        stops = self.state.file.language.stops(message.data, Stop((0.0, 0.0), False))
        return min((stop.height for stop in stops if stop.height is not None), default=math.inf)

    def _by_hand(self, message: Message, what: str) -> bool:
        """Handle a stop in the program. It is made here, since nothing could end the machine's own
        but its button.
        """
        state, wish = self.state, self.state.watch.wish
        message = replace(message, by_hand=False)
        rest = replace(message, line=message.line - 1, done=state.done - 1)
        if not self._push(*marked(state.file.language, rest)):
            return False
        if not answered(state, self.patience):
            return False
        rests = self.turns.rests
        assert rests is not None  # the mark was answered
        stood = Account(True, stands=True, at=rests.at, height=rests.height)
        if not state.watch.by_hand(what):
            return push(state, message, self.patience) and answered(state, math.inf)
        before: Account | None = stood
        while wish.pause and not wish.stop:
            self._waits()
            now = None if wish.stop else place_by_turn(state, self.patience)
            if now is None:
                return False
            if is_elsewhere(before, now):
                state.watch.said(ELSEWHERE)
                wish.pause = True
            before = now
        if wish.stop:
            return False
        go_on_from_stop(state, message.data, AsItWas(), stood, self.patience)
        return not wish.stop

    def _waits(self) -> None:
        """Wait until the user goes on or stops."""
        state, wish = self.state, self.state.watch.wish
        while wish.pause and not wish.stop:
            state.listen()
            state.progressed()
            state.talk.link.nap(NAP)
