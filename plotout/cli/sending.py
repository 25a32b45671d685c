"""What `send` and `resume` share: questions, messages, keys, and the final report."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

import click

from plotout.cli.json_output import print_json
from plotout.cli.progress import BETWEEN, SOON, can_redraw, time_words
from plotout.cli.time_left import TimeLeft
from plotout.cli.voice import Voice
from plotout.errors import PlotoutError, UserError, counted

UNSEEN = 3  # exit code: sent, but not seen done
HOW_MANY = "How many strokes are complete before the first that is not"
METER = 70  # characters that hide the line of the progress
PAUSING = "\nPausing: the machine finishes the strokes that it was sent."

if TYPE_CHECKING:
    from plotout.sending.find import Doubt
    from plotout.sending.order import Calls, Order, Progress
    from plotout.sending.watch import Outcome


def calls(yes: bool, as_json: bool, virtual: bool = False) -> Calls:
    """Return how to inform and ask the user at this terminal. yes: don't ask."""
    from plotout.cli.keys import watched
    from plotout.sending.order import Calls
    from plotout.sending.watch import Wish

    wish, voice, left = Wish(), Voice(), TimeLeft()
    told: list[str] = []
    shown = not as_json and _at_terminal(sys.stderr)
    redraw = shown and can_redraw()
    keys = _at_terminal(sys.stdin) and not yes

    def said(text: str) -> None:
        told.append(text)
        voice.say(f"\r{text:<{METER}}" if redraw else text, err=shown or as_json)

    def waiting(what: str) -> bool:
        """Go on waiting if somebody at the keys can stop it; otherwise give up."""
        if keys:
            voice.say(f"\n{what}. Still waiting: p pauses, q stops.", err=True)
        return keys

    def which(doubt: Doubt) -> int | None:
        return None if yes and not _at_terminal(sys.stdin) else _which(doubt)

    def by_hand(what: str) -> bool:
        """Continue at once at a virtual machine; at a real one wait for a key or its button."""
        if virtual:
            return True
        left.skip()
        wanted = f"The machine waits for you ({what})" if what else "The machine waits for you"
        if not keys:
            voice.say(f"{wanted}; then press its own start button.", err=True)
            return False
        wish.pause = True  # before the words, or a quick p would be undone
        voice.say(f"\n{wanted}; then press p to continue, q to stop.", err=True)
        return True

    @contextmanager
    def sending(last: bool) -> Iterator[None]:
        def paused(on: bool) -> None:
            left.skip()
            if shown:
                voice.say(PAUSING if on else "Resuming.", err=True)

        try:
            with voice.apart(), watched(wish, paused, last):
                yield
        finally:
            if shown:
                voice.say("", err=True)

    return Calls(
        said=said,
        done=(lambda _progress: None) if as_json else _meter(voice, left, redraw=redraw),
        agreed=lambda question: yes or _agreed(question),
        by_hand=by_hand,
        waiting=waiting,
        which=which,
        sending=sending,
        wish=wish,
        told=told,
    )


def _at_terminal(stream: TextIO | None) -> bool:
    """Return whether a stream is a terminal; a closed one is not."""
    return stream is not None and not stream.closed and stream.isatty()


def _agreed(question: str) -> bool:
    try:
        return click.confirm(question, default=False, err=True)
    except click.Abort as end:
        if not _no_input(end):
            raise
        raise UserError(
            "the question was not answered", fix="Answer it at a terminal, or add --yes."
        ) from end


def _no_input(end: click.Abort) -> bool:
    """Return whether a question met the end of input; otherwise its user stopped it by Ctrl-C."""
    return isinstance(end.__context__, EOFError)


def _which(doubt: Doubt) -> int | None:
    """Ask at which stroke to resume; None without an answer."""
    whole = f"between {doubt.least} and {doubt.most} strokes are complete"
    click.echo(f"{doubt.why}: {whole}. Look at the sheet.", err=True)
    of_all = click.IntRange(0, doubt.strokes)
    try:
        return _typed(doubt, of_all)
    except click.Abort as end:
        if not _no_input(end):
            raise
        return None


def _typed(doubt: Doubt, of_all: click.IntRange) -> int:
    while True:
        typed = int(click.prompt(HOW_MANY, type=of_all, err=True))
        if doubt.least <= typed <= doubt.most or click.confirm(
            f"By what the machine showed it is {doubt.least} to {doubt.most}. "
            f"Does the sheet show {typed}?",
            err=True,
        ):
            return typed


def _meter(voice: Voice, left: TimeLeft, *, redraw: bool) -> Callable[[Progress], None]:
    """Return a function that writes the progress: strokes, millimetres, time left.

    redraw: in the same line; else in a line now and then.
    """
    start_of, end_of = ("\r", "   ") if redraw else ("", "")
    last = [0.0 if redraw else time.monotonic() + SOON - BETWEEN]
    often = 0.2 if redraw else BETWEEN

    def show(progress: Progress) -> None:
        now = time.monotonic()
        ended = redraw and progress.done >= progress.strokes
        if now - last[0] < often and not ended:
            return
        last[0] = now
        left.passed(now, progress)
        seconds = left.left(progress)
        ahead = "" if seconds is None else f", {time_words(seconds)} left"
        voice.say(
            f"{start_of}{progress.done} of {counted(progress.strokes, 'stroke')}, "
            f"{progress.mm / 1000:.2f} of {progress.mm_whole / 1000:.2f} m{ahead}{end_of}",
            err=True,
            nl=not redraw,
        )

    return show


@contextmanager
def naming(journal: Path) -> Iterator[None]:
    """Name its journal in an error that ends a job."""
    try:
        yield
    except PlotoutError as fault:
        if fault.in_job:
            fault.fix = f"{fault.fix.removesuffix('.')}. Its journal: {journal}"
        raise


def report(outcome: Outcome, order: Order, as_json: bool, virtual: bool = False) -> None:
    """Report how the job ended. Exit code 1: it was stopped before the end. 3: all of it was sent,
    but the machine can't confirm what it did.
    """
    answers = bool(order.settings.answers)
    unseen = not (answers or virtual or outcome.stopped or order.port.startswith("file:"))
    if as_json:
        data = {
            "done": None if unseen else outcome.strokes_done - outcome.strokes_left_out,
            "left_out": outcome.left_out,
            "strokes": outcome.strokes,
            "stopped": outcome.stopped,
            "seen": answers,
            "more_may_be_done": outcome.stopped and not outcome.settled,
            "bytes": outcome.payload,
            "seconds": round(outcome.seconds, 2),
            "journal": None if virtual else str(order.journal),
            "virtual": virtual,
            "tool_up": outcome.safe.tool_up if outcome.safe else None,
            "cut_twice": outcome.twice,
            "cut_in_part": outcome.strokes_done + 1 if outcome.partly else None,
            "told": order.calls.told,
        }
        print_json(data)
    else:
        _in_words(outcome, order, virtual, unseen)
    if outcome.stopped:
        raise click.exceptions.Exit(1)
    if unseen:
        raise click.exceptions.Exit(UNSEEN)


def _in_words(outcome: Outcome, order: Order, virtual: bool, unseen: bool) -> None:
    from plotout.sending.journal import AGAIN
    from plotout.sending.watch import strokes_named

    where = "a virtual machine; nothing moved" if virtual else order.machine
    known = "done" if order.settings.answers else "sent"
    if order.port.startswith("file:"):
        known, where = "written", order.port
    if outcome.stopped and not order.settings.answers:
        known = "sent, as far as this machine can tell"
    elif outcome.stopped and not outcome.settled:
        known = "known to be done; more may be"
    done = outcome.strokes_done - outcome.strokes_left_out
    click.echo(f"{done} of {counted(outcome.strokes, 'stroke')} {known} ({where}).")
    for first, last in outcome.left_out:
        strokes = strokes_named(first, last, "was", "were")
        click.echo(f"{strokes} left out: plotout resume {order.journal} --from {first}")
    if unseen:
        click.echo(
            f"This machine can't report whether it did them, or was reset meanwhile. It may still "
            f"hold {order.settings.buffer} bytes: wait until it stops, then look at the sheet.\n"
            f"To resume at stroke N: plotout resume {order.journal} --from N"
        )
    if not outcome.stopped:
        if not (virtual or unseen) and order.journal.exists():
            click.echo(f"Its journal, for 'plotout rack note': {order.journal}")
        return
    up = outcome.safe is not None and outcome.safe.tool_up
    words = outcome.safe.words if outcome.safe else ""
    click.echo("Stopped, tool up." if up else f"Stopped. Caution: {words}")
    if outcome.partly:
        click.echo(
            f"Stroke {outcome.strokes_done + 1} is cut in part; 'resume' cuts it again from its "
            "beginning."
        )
    if virtual:
        return
    if order.journal.exists():
        click.echo(f"To resume: plotout resume {order.journal}")
    else:
        click.echo(f"It can't be resumed, since {order.journal} is gone. {AGAIN}")
