"""The loop that sends a file: keeps the line full, knows what is done, stops safely."""

from __future__ import annotations

import logging
import re
import time

from plotout.conversation import Account, Safe
from plotout.errors import MachineError, PlotoutError, counted
from plotout.sending import in_turn
from plotout.sending.cutfile import CutFile
from plotout.sending.exchange import Exchange
from plotout.sending.extent import Box
from plotout.sending.flow_control import Credit
from plotout.sending.journal import Journal
from plotout.sending.knowing import see_that_it_knows, was_initialized
from plotout.sending.lost import skipped
from plotout.sending.messages import messages
from plotout.sending.pausing import pause
from plotout.sending.procedure import procedure_for
from plotout.sending.promises import Promises
from plotout.sending.recover import Window, bounds, partly, possible
from plotout.sending.safe import GONE, LOST_PLACE, UNSTOPPED, how_left, how_lost, make_safe
from plotout.sending.stalled import see_rest
from plotout.sending.standing import Standing
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Outcome, Watch

_ABOUT = 3  # messages after a comment in which it still tells what a stop is for
_IN_COMMENT = re.compile(rb"[(;]([^)\n]*)")


def send(
    file: CutFile,
    talk: PortTalk,
    credit: Credit,
    journal: Journal,
    *,
    first: int = 0,
    answers: bool = True,
    buffer: int = 1024,
    piece: int = 64,
    most_waiting: int = 32,
    patience: float = 120.0,
    watch: Watch | None = None,
    standing: Standing | None = None,
    box: Box | None = None,
) -> Outcome:
    """Send from unit `first` to the end; if the machine answers, wait until all of it is done.

    piece, most_waiting: see `Exchange`. box: the work's reach, machine mm: a machine that takes its
    turns is first seen to reach its corners, with its tool up. patience: s without progress before
    asking the user.

    Whatever ends it early (the user, an error of the machine, a fault of ours), what the machine
    has not begun is discarded and its tool is lifted before this returns or raises; the outcome,
    or the error, says how much of that was confirmed.
    """
    start = time.monotonic()
    state = Exchange(
        file,
        talk,
        credit,
        journal,
        watch or Watch(),
        answers,
        buffer,
        done=first,
        piece=piece,
        most_waiting=most_waiting,
        standing=standing,
        box=box,
    )
    safe: Safe | None = None
    ended = False
    talk.tell = state.watch.said
    try:
        ended = _run(state, first, patience)
    except Exception as fault:
        safe = _made_safe(state)
        error = fault if isinstance(fault, PlotoutError) else _fault_of_ours(fault)
        error.in_job = True
        error.fix = f"{how_left(safe)} {error.fix}"
        if not isinstance(error, MachineError):  # those say it where it helps
            error.fix += " What is done is noted: 'plotout resume' continues."
        if journal.broken:
            error.fix += f" {_unnoted(state)}"
        raise error from fault.__cause__
    finally:
        if not ended and safe is None:
            safe = _made_safe(state)
        if state.done > state.noted:
            journal.close(done=state.done)
        wrong = journal.close(ended=True) if ended else ""
        if wrong:
            state.watch.said(f"All is done, but that could not be noted: {wrong}.")
    if journal.broken and not ended:
        state.watch.said(f"The journal could not be written. {_unnoted(state)}")
    seconds = time.monotonic() - start
    return Outcome(
        state.done,
        file.units,
        not ended,
        state.payload,
        seconds,
        safe,
        file.strokes,
        state.partly,
    )


def _unnoted(state: Exchange) -> str:
    """Return in words what the user must note, since the journal may not."""
    done = f"{min(state.done, state.file.strokes)} of {counted(state.file.strokes, 'stroke')}"
    return f"{done} are known to be done: note that, since the journal may not."


def _fault_of_ours(fault: Exception) -> PlotoutError:
    """Return an error for what should never happen, from which the job can still be resumed."""
    return PlotoutError(
        f"internal error: {type(fault).__name__}: {fault}",
        fix="Report it with the file that was sent.",
    )


def _made_safe(state: Exchange) -> Safe:
    """Make the machine safe; if that fails in any way, say that nobody saw it."""
    try:
        return _stopped(state)
    except Exception:
        logging.getLogger(__name__).debug("while stopping", exc_info=True)
    try:  # what failed may be what is noted or shown
        return make_safe(state.talk, state.file, state.answers, reset=True)
    except Exception:
        logging.getLogger(__name__).debug("while making the machine safe", exc_info=True)
        return Safe(None, Account(idle=False), UNSTOPPED)


def _stopped(state: Exchange) -> Safe:
    """Make the machine safe, and note what it had done until then."""
    state.end_piece()
    if state.turns is not None:
        in_turn.let_answer(state, state.turns)
    doubted = state.reset or bool(state.trust.strange) or state.trust.sure is not None
    state.only_what_is_sure()
    before = len(state.talk.overheard)
    safe = make_safe(state.talk, state.file, state.answers, doubted)
    if skipped(state, safe.account.count, state.talk.overheard[before:]):
        state.is_unsure()
    knows = safe.account.at is not None and not (safe.account.fresh or state.trust.adrift)
    renewed = knows and was_initialized(state)  # one that has lost its count shows what is done
    if renewed:
        state.is_unsure()
    fresh = state.counts and bool(safe.account.fresh or renewed)
    if (fresh or safe.lost_place) and not state.trust.adrift:
        state.watch.said(how_lost(safe, fresh))
        if fresh or not safe.since_rest:
            state.loses_count()
    elif state.steps is not None and _is_off_its_way(state, safe.account):
        state.watch.said(LOST_PLACE.format("is not where the file would have it"))
    at = safe.account.at or ()
    if state.trust.doubtful:
        most = min(state.unit + 1, state.file.units)
        state.journal.close(doubt=(state.done, most), rested=at)
        return safe
    if state.trust.adrift and at:
        state.journal.close(rested=at)
    if not state.answers or state.trust.adrift or safe.words == GONE:
        return safe
    if safe.account.at is None:  # it didn't answer; it may answer later
        return safe
    begun = state.payload and (state.counts or not state.file.language.acknowledges)
    high = min(state.unit + 1, state.file.units) if begun else state.done
    coming = state.done == state.first
    window = Window(state.done, high, last=state.line, coming=coming)
    done = possible(state.file, safe.account, window)
    if len(done) == 1 or high <= state.done:
        state.done = max(state.done, *done, 0)
        state.partly = partly(state.file, safe.account, window, state.done)
        state.journal.close(settled=state.done, partly=state.partly, rested=at)
        state.noted = state.done
        state.watch.done(state.done, state.file.units)
    else:  # by stopping, the machine has forgotten it
        doubt = done or _within_reason(state, safe.account, window)
        state.done = min(state.done, *doubt)
        state.journal.close(doubt=doubt, rested=at)
    return safe


def _is_off_its_way(state: Exchange, account: Account) -> bool:
    """Return whether a machine whose answers are in doubt stands where no unit that it may be at
    has a path.
    """
    doubtful, begins = state.trust.adrift or state.trust.doubtful, state.done == state.first
    if not doubtful or begins or account.at is None or not account.stands:
        return False
    high = min(state.unit + 1, state.file.units)
    return not possible(state.file, account, Window(max(state.first, state.done - 1), high))


def _within_reason(state: Exchange, account: Account, window: Window) -> tuple[int, ...]:
    """Return the fewest and the most units that may be done where a machine stands at none of those
    that are not: one that acknowledges a mark before it has reached it stands at an earlier one.
    """
    earlier = possible(state.file, account, Window(state.first, state.done))
    low, high = bounds(state.file, account, window, ())
    return min((low, *earlier)), high


def _comment(data: bytes) -> str:
    found = _IN_COMMENT.search(data)
    return found[1].decode("latin-1").strip() if found else ""


def _run(state: Exchange, first: int, patience: float) -> bool:
    """Return True if all was sent and done, False if the user stopped it."""
    wish = state.watch.wish
    comment, age, chosen = "", 0, b""
    promises = Promises(state.journal, state.file.units)
    procedure = procedure_for(state, patience)
    procedure.begin()
    for message in messages(state.file, first, state.answers):
        promises.keep(message.unit)
        if wish.pause and message.rests:
            pause(state, message.unit, patience, chosen)
        chosen = state.file.language.chooses(message.data) or chosen
        own = _comment(message.data)
        comment, age = (own, 0) if own else (comment if age < _ABOUT else "", age + 1)
        if not procedure.send(message, comment):
            return False
    if not procedure.end():
        return False
    see_rest(state, patience)
    see_that_it_knows(state)
    return not wish.stop
