"""The loop that sends a file: keeps the line full, knows what is done, stops safely."""

from __future__ import annotations

import re
import time

from plotout.conversation import Safe
from plotout.errors import MachineError, PlotoutError, counted
from plotout.sending.cutfile import CutFile
from plotout.sending.exchange import Exchange
from plotout.sending.extent import Box
from plotout.sending.flow_control import Credit
from plotout.sending.journal import Journal
from plotout.sending.knowing import see_that_it_knows
from plotout.sending.lost import see_that_it_arrived
from plotout.sending.messages import messages
from plotout.sending.pausing import pause
from plotout.sending.procedure import procedure_for
from plotout.sending.promises import Promises
from plotout.sending.safe import how_left
from plotout.sending.stalled import see_rest
from plotout.sending.standing import Standing
from plotout.sending.stopped import made_safe
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Outcome, Watch

_ABOUT = 3  # messages after a comment in which it still tells what a stop is for
_IN_COMMENT = re.compile(rb"[(;]([^)\n]*)")
_TOOL = re.compile(rb"(?im)^[^(;\n]*?\bT ?(\d+)")


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
        safe = made_safe(state)
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
            safe = made_safe(state)
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
        settled=state.settled,
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


def _comment(data: bytes) -> str:
    found = _IN_COMMENT.search(data)
    return found[1].decode("latin-1").strip() if found else ""


def _tool(data: bytes) -> str:
    found = _TOOL.search(data)
    return f"tool {int(found[1])}" if found else ""


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
        if not comment and state.file.language.acknowledges:  # a plot's strokes may be long
            comment, age = _tool(message.data), 0
        if not procedure.send(message, comment):
            return False
    if not procedure.end():
        return False
    see_rest(state, patience)
    if state.answers and state.turns is None:
        see_that_it_arrived(state)
    see_that_it_knows(state)
    return not wish.stop
