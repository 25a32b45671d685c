"""Stopping a job: the machine is made safe, and what it had done until then is noted."""

from __future__ import annotations

import logging
from dataclasses import replace

from plotout.conversation import Account, Safe
from plotout.sending import in_turn
from plotout.sending.exchange import Exchange
from plotout.sending.knowing import was_initialized
from plotout.sending.led import was_led_there
from plotout.sending.lost import at_the_end, skipped
from plotout.sending.recover import Window, bounds, partly, possible
from plotout.sending.safe import GONE, LOST_PLACE, MISCOUNTED, UNSTOPPED, how_lost, make_safe


def made_safe(state: Exchange) -> Safe:
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
    else:
        safe = _by_its_place(state, safe, doubted or renewed)
    _note(state, safe)
    return safe


def _by_its_place(state: Exchange, safe: Safe, doubted: bool) -> Safe:
    """Return what the place of a machine shows: where the job has not led it, it has lost that, and
    its height is not true either. doubted: it may have been reset.
    """
    up_by_height = bool(safe.tool_up) and safe.by_count and safe.account.height is not None
    in_doubt = state.steps is not None and (state.trust.adrift or state.trust.doubtful)
    if not (up_by_height or safe.higher or in_doubt):
        return safe
    led = was_led_there(state, safe.account)
    if led is False and (up_by_height or in_doubt):
        state.watch.said(LOST_PLACE.format("is not where the file would have it"))
    if led is False and up_by_height:
        return replace(safe, tool_up=None, words=MISCOUNTED)
    up = led and safe.higher and not doubted
    return replace(safe, tool_up=True, words="") if up else safe


def _note(state: Exchange, safe: Safe) -> None:
    """Note in the journal what a stopped machine shows to be done."""
    at = _rests_at(safe)
    if state.trust.doubtful:
        most = min(state.unit + 1, state.file.units)
        state.journal.close(doubt=(state.done, most), rested=at)
        return
    if state.trust.adrift and at:
        state.journal.close(rested=at)
    if not state.answers or state.trust.adrift or safe.words == GONE:
        return
    if safe.account.at is None:  # it didn't answer; it may answer later
        return
    begun = state.payload and (state.counts or not state.file.language.acknowledges)
    high = min(state.unit + 1, state.file.units) if begun else state.done
    coming = state.done == state.first
    start = state.standing.place if state.standing is not None else None
    window = Window(state.done, high, last=state.line, coming=coming, start=start)
    done = possible(state.file, safe.account, window)
    if len(done) == 1 or (high <= state.done and not _is_before_its_end(state, safe.account)):
        state.done = max(state.done, *done, 0)
        state.settled = True
        state.partly = partly(state.file, safe.account, window, state.done)
        state.journal.close(settled=state.done, partly=state.partly, rested=at)
        state.noted = state.done
        state.watch.done(state.done, state.file.units)
    else:  # by stopping, the machine has forgotten it
        doubt = done or _within_reason(state, safe.account, window)
        state.done = min(state.done, *doubt)
        state.journal.close(doubt=doubt, rested=at)


def _is_before_its_end(state: Exchange, account: Account) -> bool:
    """Return whether a machine that has answered everything stands at earlier work of this run: it
    answered before it had worked, or its motors stood still.
    """
    file = state.file
    if state.done < file.units or not file.language.acknowledges or at_the_end(file, account):
        return False
    return bool(possible(file, account, Window(state.first, state.done)))


def _rests_at(safe: Safe) -> tuple[float, ...]:
    """Return where a stopped machine rests, with its height if it tells that; () if unknown."""
    at = safe.account.at or ()
    return (*at, safe.height) if at and safe.height is not None else at


def _within_reason(state: Exchange, account: Account, window: Window) -> tuple[int, ...]:
    """Return the fewest and the most units that may be done where a machine stands at none of those
    that are not: one that acknowledges a mark before it has reached it stands at an earlier one.
    """
    earlier = possible(state.file, account, Window(state.first, state.done))
    low, high = bounds(state.file, account, window, ())
    return min((low, *earlier)), high
