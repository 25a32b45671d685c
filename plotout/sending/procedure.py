"""How a job is sent: to machines that answer at once, take their turns, or answer nothing."""

from __future__ import annotations

import math
import time
from typing import Protocol

from plotout.sending import in_step
from plotout.sending.answers import one_each
from plotout.sending.exchange import Exchange
from plotout.sending.knowing import see_that_it_knows
from plotout.sending.messages import Message
from plotout.sending.pausing import AsItWas, go_on_from_stop, tell_what_ends
from plotout.sending.pushing import NAP, answered, push, until
from plotout.sending.stalled import ASK_AFTER, look, mind, see_rest
from plotout.sending.turn_by_turn import TurnByTurn

GO_ON_EVERY = 0.5  # s between commands that restart a machine


class Procedure(Protocol):
    """What a job does before, with and after its messages. What waits returns False if the user
    stopped it.
    """

    def begin(self) -> None:
        """Prepare the machine for the first message. Raises MachineError."""

    def send(self, message: Message, comment: str) -> bool:
        """Send a message, with what is to be seen before and after it. comment: what a stop in the
        program is for.
        """

    def end(self) -> bool:
        """Wait until all that was sent is done, as far as the machine shows that."""


def procedure_for(state: Exchange, patience: float) -> Procedure:
    """Return the procedure for a job's machine. patience: s without progress before the user is
    asked.
    """
    if state.turns is not None:
        return TurnByTurn(state, state.turns, patience)
    return AtOnce(state, patience) if state.answers else Unanswered(state, patience)


class AtOnce:
    """A machine whose answers come when it has taken or done what they are to."""

    def __init__(self, state: Exchange, patience: float) -> None:
        self.state, self.patience = state, patience

    def begin(self) -> None:
        """See Procedure."""

    def send(self, message: Message, comment: str) -> bool:
        """See Procedure."""
        state, patience = self.state, self.patience
        for question in in_step.questions(state, message):
            if not until(state, patience, lambda: in_step.has_room(state)):
                return False
            if not push(state, question, patience):
                return False
        if message.by_hand:
            return self._by_hand(message, comment)
        if not push(state, message, patience):
            return False
        return not message.settles or self._settled()

    def end(self) -> bool:
        """See Procedure."""
        state = self.state
        return until(state, self.patience, lambda: state.done >= state.file.units)

    def _settled(self) -> bool:
        """Wait for the answer to the job's first message."""
        state = self.state
        if not answered(state, self.patience):
            return False
        if state.file.language.acknowledges:
            before = len(state.talk.overheard)
            state.late += not one_each(state.talk)
            state.take_in(one for one in state.talk.overheard[before:] if one.kind != "ok")
            in_step.begin(state)
        state.begun()
        return True

    def _by_hand(self, message: Message, what: str) -> bool:
        """Send a stop in the program, and see that what was in force before it is so after it."""
        state, language = self.state, self.state.file.language
        if not answered(state, self.patience):  # everything before the stop must be done
            return False
        see_rest(state, self.patience)
        before = AsItWas.of(state)
        stood = look(state) if language.acknowledges else None
        if not push(state, message, self.patience) or not self._goes_on(what):
            return False
        see_that_it_knows(state)
        go_on_from_stop(state, message.data, before, stood, self.patience)
        return True

    def _goes_on(self, what: str) -> bool:
        """Wait until somebody has let it go on."""
        state = self.state
        wish, go_on = state.watch.wish, state.file.language.go_on
        ours, panel = state.watch.by_hand(what), _Panel(state)
        reported = 0.0
        while panel.holds():
            if wish.stop:
                tell_what_ends(state)
                return False
            state.listen()
            told = ours and not wish.pause
            if told and time.monotonic() - reported > GO_ON_EVERY:
                state.talk.link.write(go_on)
                reported = time.monotonic()
            if told or panel.has_let_go_on():
                mind(state, self.patience)
            elif panel.never_stood():
                mind(state, math.inf)  # one that reads on is not at the stop any more
            else:
                state.progressed()  # it may take any time
            state.talk.link.nap(NAP)
        if ours and wish.pause:  # it was let go on at its own panel
            wish.pause = False
            state.watch.said("The machine goes on.")
        return True


class _Panel:
    """Whether a machine that was seen to stand at a stop in the program does so no more, though the
    stop is not answered: it was let go on at its own panel, and the answer was lost.
    """

    def __init__(self, state: Exchange) -> None:
        self.state = state
        self._stood = self._goes = self._held = False
        self._idle = 0
        self._looked = time.monotonic()
        self._looked_for_hold = 0.0

    def holds(self) -> bool:
        """Return whether it may still stand at the stop: that is not answered, or was at once, and
        it says that it is not idle: on hold.
        """
        now, state = time.monotonic(), self.state
        if state.unanswered or not state.file.language.acknowledges:
            return bool(state.unanswered)
        if now - self._looked_for_hold > GO_ON_EVERY:
            account = look(state, tells=False)
            self._held = account is not None and not account.idle
            self._looked_for_hold = now
        return self._held

    def has_let_go_on(self) -> bool:
        """Look from time to time, until it goes on."""
        if not self._goes and time.monotonic() - self._looked > ASK_AFTER:
            account = look(self.state, tells=False)
            self._looked = time.monotonic()
            idle = account is not None and account.idle
            self._idle += idle
            self._goes = self._stood and idle
            self._stood = self._stood or (account is not None and not idle)
        return self._goes

    def never_stood(self) -> bool:
        """Return whether it was idle whenever it was looked at: it may have been reset."""
        return self._idle > 1 and not self._stood


class Unanswered:
    """A machine that answers nothing: what it has done is reckoned by what was sent after it."""

    def __init__(self, state: Exchange, patience: float) -> None:
        self.state, self.patience = state, patience

    def begin(self) -> None:
        """See Procedure."""

    def send(self, message: Message, comment: str) -> bool:
        """See Procedure."""
        if not push(self.state, message, self.patience):
            return False
        self._reckon(message.unit)
        return True

    def end(self) -> bool:
        """See Procedure. That of the port is all that shows."""
        state = self.state
        if not until(state, self.patience, lambda: state.talk.link.waiting() <= 0):
            return False
        state.finished(state.file.units - 1)
        return True

    def _reckon(self, unit: int) -> None:
        """Count a unit as done when a whole buffer was sent after it."""
        state, starts = self.state, self.state.file.starts
        behind = int(starts[unit + 1]) - state.buffer - state.talk.link.waiting()
        done = int(starts[1:].searchsorted(behind, side="right"))
        if done > state.done:
            state.finished(done - 1)
