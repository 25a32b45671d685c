"""The loop that sends a file: keeps the line full, knows what is done, stops safely."""

from __future__ import annotations

import time

from plotout.sending.credit import Credit
from plotout.sending.cutfile import CutFile
from plotout.sending.exchange import Exchange
from plotout.sending.journal import Journal
from plotout.sending.link import Link
from plotout.sending.parts import Part, parts
from plotout.sending.safe import finished_by, make_safe
from plotout.sending.watch import Outcome, Watch

NAP = 0.002  # s between looks when nothing can be sent
GO_ON_EVERY = 0.5  # s between words that send a machine on


def send(
    file: CutFile,
    link: Link,
    credit: Credit,
    journal: Journal,
    *,
    first: int = 0,
    answers: bool = True,
    buffer: int = 1024,
    watch: Watch | None = None,
) -> Outcome:
    """Send from unit `first` to the end; where the machine answers, wait until all of it is done.

    Whatever ends it early (a wish to stop, an error of the machine's, a fault of ours), what the
    machine has not begun is thrown away and the tool is brought up before this returns or raises.
    """
    start = time.monotonic()
    state = Exchange(file, link, credit, journal, watch or Watch(), answers, buffer, done=first)
    ended = False
    try:
        ended = _run(state, first)
    finally:
        if not ended:
            said = make_safe(link, file, state.hearing)
            state.take_in(each for each in said if each.kind == "ok")
            count = next((each for each in reversed(said) if each.kind == "status"), None)
            if (
                count is not None
                and not state.adrift
                and finished_by(file, count, state.done, state.unit)
            ):
                state.finished(count.value - 1)
        if state.done > state.noted:
            journal.write(done=state.done)
        if ended:
            journal.write(ended=True)
    return Outcome(state.done, file.units, not ended, state.payload, time.monotonic() - start)


def _run(state: Exchange, first: int) -> bool:
    """Return True when all was sent and done, False when the user stopped it."""
    wish, units = state.watch.wish, state.file.units
    last_comment = ""
    for part in parts(state.file, first, state.answers):
        state.promise(part.unit)
        state.unit = part.unit
        if wish.pause and part.rests:
            _pause(state)
        if not _push(state, part):
            return False
        if part.data[:1] == b"(":
            last_comment = part.data.decode("latin-1").strip("() \n")
        if part.settles:
            if not _answered(state, 0):
                return False
            state.journal.later(adrift=False)  # from now on the machine's count means something
        if part.by_hand and state.answers and not _by_hand(state, last_comment):
            return False
        if not state.answers:
            _reckon(state, part.unit)
    while state.done < units if state.answers else state.link.waiting() > 0:
        if wish.stop:
            return False
        state.listen()
        state.mind_silence()
        time.sleep(NAP)
    if not state.answers:
        state.finished(units - 1)
    return True


def _push(state: Exchange, part: Part) -> bool:
    """Send one part whole; return False when the user stopped it."""
    data = part.data
    while data:
        state.listen()
        if state.watch.wish.stop:
            return False
        went = state.put(data, part)
        data = data[went:]
        if data:
            question = state.credit.question()
            if question:
                state.link.write(question)
            if not went:
                state.mind_silence()
                time.sleep(NAP)
    return True


def _pause(state: Exchange) -> None:
    """Stand with the tool up until the user goes on or stops."""
    if not state.file.language.by_line:
        state.link.write(b"PU;")
    wish = state.watch.wish
    while wish.pause and not wish.stop:
        state.listen()
        state.last_word = time.monotonic()
        time.sleep(NAP)


def _answered(state: Exchange, but: int) -> bool:
    """Wait until all parts but so many are answered; return False when the user stopped it."""
    while len(state.unanswered) > but:
        if state.watch.wish.stop:
            return False
        state.listen()
        state.mind_silence()
        time.sleep(NAP)
    return True


def _by_hand(state: Exchange, what: str) -> bool:
    """See the machine through a stop in the program; return False when the user stopped it."""
    wish, go_on = state.watch.wish, state.file.language.go_on
    if not _answered(state, 1):  # all before the stop has to be done
        return False
    ours = state.watch.by_hand(what)
    told = 0.0
    while state.unanswered:
        if wish.stop:
            return False
        state.listen()
        state.last_word = time.monotonic()  # it may take as long as it takes
        if ours and not wish.pause and time.monotonic() - told > GO_ON_EVERY:
            state.link.write(go_on)
            told = time.monotonic()
        time.sleep(NAP)
    return True


def _reckon(state: Exchange, unit: int) -> None:
    """Without answers a unit counts as done when a whole buffer was sent after it."""
    starts = state.file.starts
    behind = int(starts[unit + 1]) - state.buffer - state.link.waiting()
    done = int(starts[1:].searchsorted(behind, side="right"))
    if done > state.done:
        state.finished(done - 1)
