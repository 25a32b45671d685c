"""The loop that sends a file: keeps the line full, knows what is done, stops safely."""

from __future__ import annotations

import math
import re
import time
from dataclasses import replace

from plotout.conversation import Safe
from plotout.errors import MachineError, counted
from plotout.language import Stop
from plotout.sending import in_step, in_turn
from plotout.sending.answers import one_each
from plotout.sending.cutfile import CutFile
from plotout.sending.exchange import Exchange
from plotout.sending.extent import Box
from plotout.sending.flow_control import Credit
from plotout.sending.journal import Journal
from plotout.sending.messages import Message, marked, messages
from plotout.sending.recover import Window, bounds, partly, possible
from plotout.sending.repeating import framed
from plotout.sending.safe import GONE, LOST_PLACE, make_safe
from plotout.sending.stalled import look, mind, see_rest, see_what_is_lost
from plotout.sending.standing import Standing
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Outcome, Watch

NAP = 0.002  # s between looks when nothing can be sent
GO_ON_EVERY = 0.5  # s between commands that restart a machine
LOOK_EVERY = 0.5  # s between looks at a machine that is to rest
_ABOUT = 3  # messages after a comment in which it still tells what a stop is for
_IN_COMMENT = re.compile(rb"[(;]([^)\n]*)")
FIRST_DOWN = 2  # of a unit's messages: the first ones lift the tool, and bring it to the next place


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
    except MachineError as fault:
        safe = _stopped(state)
        fault.fix = f"{_words(safe)} {fault.fix}"
        if journal.broken:
            done = f"{min(state.done, file.strokes)} of {counted(file.strokes, 'stroke')}"
            fault.fix += f" {done} are known to be done: note that, since the journal may not."
        raise
    finally:
        if not ended and safe is None:
            safe = _stopped(state)
        if state.done > state.noted:
            journal.close(done=state.done)
        wrong = journal.close(ended=True) if ended else ""
        if wrong:
            state.watch.said(f"All is done, but that could not be noted: {wrong}.")
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


def _words(safe: Safe) -> str:
    return "The tool is up and off." if safe.tool_up else safe.words


def _stopped(state: Exchange) -> Safe:
    """Make the machine safe, and note what it had done until then."""
    state.end_piece()
    doubted = state.reset or bool(state.strange) or state.sure is not None
    state.only_what_is_sure()
    safe = make_safe(state.talk, state.file, state.answers, doubted)
    fresh = state.counts and bool(safe.account.fresh)
    if (fresh or safe.lost_place) and not state.adrift:
        what = "was reset meanwhile" if fresh else "had an alarm, or was still moving"
        state.watch.said(LOST_PLACE.format(what))
        state.loses_count()
    if not state.answers or state.adrift or safe.words == GONE or state.file.changed:
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
        state.journal.close(settled=state.done, partly=state.partly, rested=safe.account.at or ())
        state.noted = state.done
        state.watch.done(state.done, state.file.units)
    else:  # by stopping, the machine has forgotten it
        state.journal.close(doubt=done or bounds(state.file, safe.account, window, done))
    return safe


def _comment(data: bytes) -> str:
    found = _IN_COMMENT.search(data)
    return found[1].decode("latin-1").strip() if found else ""


def _run(state: Exchange, first: int, patience: float) -> bool:
    """Return True if all was sent and done, False if the user stopped it."""
    wish, units = state.watch.wish, state.file.units
    comment, age = "", 0
    waits = state.answers and state.turns is None  # the others are waited for when they are sent
    if state.turns is not None:
        in_turn.begin(state)
        _begun(state)
    for message in messages(state.file, first, state.answers):
        state.promise(message.unit)
        if wish.pause and message.rests:
            _pause(state, message.unit, patience)
        own = _comment(message.data)
        comment, age = (own, 0) if own else (comment if age < _ABOUT else "", age + 1)
        sent = _push(state, message, patience, comment)
        if not (sent and _asked_after(state, message, patience)):
            return False
        if message.settles and not _settled(state, patience):
            return False
        if message.by_hand and waits and not _by_hand(state, comment, patience):
            return False
        if not state.answers:
            _reckon(state, message.unit)
    while state.done < units if state.answers else state.talk.link.waiting() > 0:
        if wish.stop:
            return False
        state.listen()
        mind(state, patience)
        state.talk.link.nap(NAP)
    if not state.answers:
        state.finished(units - 1)
    see_rest(state, patience)
    _still_knows(state)
    return not wish.stop


def _proven(state: Exchange, patience: float) -> bool:
    """Wait for the place after the last unit, before the tool goes down for the next one; return
    False if the user stopped it.
    """
    while state.turns is not None and in_turn.awaits_place(state, state.turns):
        if state.watch.wish.stop:
            return False
        state.listen()
        mind(state, patience)
        state.talk.link.nap(NAP)
    return True


def _settled(state: Exchange, patience: float) -> bool:
    """Wait for the answer to the job's first message; return False if the user stopped it."""
    if not _answered(state, 0, patience):
        return False
    if state.turns is None:
        _begun(state)
        return True
    return _reaches(state, patience)


def _reaches(state: Exchange, patience: float) -> bool:
    """Go with the tool up to two corners of the work and see that the machine is there: one that
    ends a move at its travel, without an error, would cut along that. Return False if the user
    stopped it.
    """
    rests = state.turns.rests if state.turns is not None else None
    if state.box is None or rests is None or rests.at is None or state.file.units <= state.first:
        return True
    left, low, right, high = (side / state.file.unit_mm for side in state.box)
    language = state.file.language
    x, y = (value * state.file.report_mm / state.file.unit_mm for value in rests.at)
    for corner in ((left, low), (right, high), (x, y)):  # a file may go on from where it stood
        mark = Message(state.first, b"", done=state.first - 1, at=corner)
        travel = language.travels(state.file.lift, [corner])
        lines = (replace(mark, data=data, done=None) for data in travel)
        for message in (*lines, *marked(language, mark)):
            if not _push(state, message, patience):
                return False
        if not _answered(state, 0, patience):
            return False
    return True


def _asked_after(state: Exchange, message: Message, patience: float) -> bool:
    """Send what is to be asked after a message; return False if the user stopped it."""
    question = in_step.next_question(state, message)
    if question is not None and not _push(state, question, patience):
        return False
    return _sees_depth(state, message, patience)


def _sees_depth(state: Exchange, message: Message, patience: float) -> bool:
    """After the first move into the stock see that the machine went so deep; return False if the
    user stopped it.
    """
    if state.turns is None or state.turns.sees_depth or message.line < 0:
        return True
    stops = state.file.language.stops(message.data, Stop((0.0, 0.0), False))
    if not any(stop.height is not None and stop.height < 0.0 for stop in stops):
        return True
    state.turns.sees_depth = True
    mark = Message(message.unit, b"", message.line, done=state.done - 1)
    return all(_push(state, one, patience) for one in marked(state.file.language, mark))


def _begun(state: Exchange) -> None:
    """Note that the machine has taken the job's first count: from now on it is valid.

    Raises MachineError if it may have been reset since its user said that it is in place.
    """
    if state.file.language.acknowledges and state.turns is None:
        before = len(state.talk.overheard)
        state.late += not one_each(state.talk)
        state.take_in(one for one in state.talk.overheard[before:] if one.kind != "ok")
        in_step.begin(state)
    if state.standing is not None:
        try:
            state.standing.begun([state.strange, *state.harmless])
        except MachineError:
            state.reset = True
            raise
    state.journal.later(adrift=False)
    state.counts = True


def _still_knows(state: Exchange) -> None:
    """Raise MachineError if a machine at rest was reset, whether a greeting was heard or not."""
    if state.strange:
        see_what_is_lost(state)
    if state.answers and state.file.language.forgot(state.talk):
        raise state.was_reset()


def _push(state: Exchange, message: Message, patience: float, what: str = "") -> bool:
    """Send one whole message; return False if the user stopped it. what: see `_by_hand`."""
    if not message.data:
        return True
    if state.turns and message.line >= FIRST_DOWN and not _proven(state, patience):
        return False
    if state.turns and message.by_hand:
        return _at_rest_by_hand(state, replace(message, by_hand=False), what, patience)
    message = in_turn.framed(state, message) if state.turns else framed(state, message)
    if not message.data:  # only a comment
        return True
    *pieces, last = state.file.language.pieces(message.data, state.piece)
    longest = max(len(piece) for piece in (*pieces, last))
    if state.answers and longest >= state.buffer > 0:  # there will never be room for it
        raise MachineError(
            f"a line of {longest} bytes is longer than the machine's buffer, {state.buffer} bytes",
            fix="Shorten it in the file, or correct 'buffer' in the profile's wire table.",
        )
    for piece in pieces:
        if not _hand_over(state, piece, message, patience):
            return False
    return _hand_over(state, last, message, patience, last=True)


def _hand_over(
    state: Exchange, piece: bytes, message: Message, patience: float, last: bool = False
) -> bool:
    """Send one whole piece; return False if the user stopped it."""
    went = False
    while not went or state.rest:
        state.listen()
        if state.watch.wish.stop:
            return False
        if state.strange and not state.rest:
            see_what_is_lost(state)
        if state.rest:
            state.put_rest()
        elif not went:
            went = state.put(piece, message, last)
        if not state.rest:
            state.ask_for_room(b"" if went else piece)
        if state.rest or not went:
            mind(state, patience)
            state.talk.link.nap(NAP)
    return True


def _pause(state: Exchange, unit: int, patience: float) -> None:
    """Stand with the tool up until the user goes on or stops; say so once the machine rests."""
    language = state.file.language
    lift, done = language.lift, None
    if state.answers and not language.acknowledges:  # with its count and mark: not every unit has
        lift, done = language.counted(lift, unit) + language.mark, unit - 1
    _push(state, Message(unit, lift, done=done), patience)
    wish = state.watch.wish
    rests, looked = False, 0.0
    while wish.pause and not wish.stop:
        state.listen()
        state.progressed()
        now = time.monotonic()
        if state.answers and not rests and not state.unanswered and now - looked > LOOK_EVERY:
            account, looked = look(state), now
            rests = account is not None and account.idle and not account.down
            if rests:
                done = min(state.done, state.file.strokes)
                state.watch.said(
                    f"Paused at rest: {done} of {counted(state.file.strokes, 'stroke')} done."
                )
        state.talk.link.nap(NAP)
    if rests and not wish.stop:
        _still_knows(state)


def _answered(state: Exchange, but: int, patience: float) -> bool:
    """Wait until all but `but` messages are answered; return False if the user stopped it."""
    while len(state.unanswered) > but:
        if state.watch.wish.stop:
            return False
        state.listen()
        mind(state, patience)
        state.talk.link.nap(NAP)
    return True


def _by_hand(state: Exchange, what: str, patience: float) -> bool:
    """Handle a stop in the program; return False if the user stopped it."""
    wish, go_on = state.watch.wish, state.file.language.go_on
    if not _answered(state, 1, patience):  # everything before the stop must be done
        return False
    ours = state.watch.by_hand(what)
    reported = 0.0
    while state.unanswered:
        if wish.stop:
            return False
        state.listen()
        state.progressed()  # it may take any time
        if ours and not wish.pause and time.monotonic() - reported > GO_ON_EVERY:
            state.talk.link.write(go_on)
            reported = time.monotonic()
        state.talk.link.nap(NAP)
    if ours and wish.pause:  # it was let go on at its own panel
        wish.pause = False
        state.watch.said("The machine goes on.")
    _still_knows(state)
    return True


def _at_rest_by_hand(state: Exchange, message: Message, what: str, patience: float) -> bool:
    """Handle a stop in the program of a machine that takes its turns: it is made here, since
    nothing could end the machine's own but its button. Return False if the user stopped it.
    """
    wish = state.watch.wish
    rest = replace(message, line=message.line - 1, done=state.done - 1)
    for one in marked(state.file.language, rest):
        if not _push(state, one, patience):
            return False
    if not _answered(state, 0, patience):
        return False
    if not state.watch.by_hand(what):
        return _push(state, message, patience) and _answered(state, 0, math.inf)
    while wish.pause and not wish.stop:
        state.listen()
        state.progressed()
        state.talk.link.nap(NAP)
    return not wish.stop


def _reckon(state: Exchange, unit: int) -> None:
    """Count a unit as done, without answers, when a whole buffer was sent after it."""
    starts = state.file.starts
    behind = int(starts[unit + 1]) - state.buffer - state.talk.link.waiting()
    done = int(starts[1:].searchsorted(behind, side="right"))
    if done > state.done:
        state.finished(done - 1)
