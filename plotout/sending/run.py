"""A whole job at a port: lock, greet, check, trace, send; and the resumed job after a break."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator
from dataclasses import replace

from plotout import plugins
from plotout.errors import Place, PlotoutError, UserError, counted
from plotout.machine import SendingSettings
from plotout.sending import journal
from plotout.sending.cutfile import CutFile, cut_file
from plotout.sending.extent import Extent, check_bed, extent
from plotout.sending.find import Deciding, Doubt, GoOn, again, find_unit, most_cut
from plotout.sending.flow_control import credit_for, most_waiting, piece_for
from plotout.sending.greet import greet, let_start, rest
from plotout.sending.lock import locked
from plotout.sending.meant import compare, is_its_profiles, same_machine, same_zero
from plotout.sending.order import Order, Progress, told
from plotout.sending.ports import find_port, open_link
from plotout.sending.sender import send
from plotout.sending.standing import Standing, was_reset
from plotout.sending.talk import PortTalk
from plotout.sending.trace import trace as trace_work
from plotout.sending.watch import Outcome, Watch, strokes_named
from plotout.sending.window import Window

YIELDS = 15.0  # s in which a plotter that can't drop what it holds goes on taking


def run(order: Order, trace: bool = False) -> Outcome:
    """Send a file from its start. Raises UserError or MachineError; either says how the machine
    was left.
    """
    calls, settings = order.calls, order.settings
    standing: Standing | None = None
    says: tuple[str, ...] = ()
    zero = ""
    with _at_port(order) as (file, talk), journal.opened(order.journal) as book:
        digest = file.digest()
        if order.digest and order.digest != digest:
            raise UserError(
                "the file was written to after it was looked through",
                fix="Nothing has moved. Send it again.",
                place=Place(order.file),
            )
        _lines_fit(file, settings)
        reach = extent(file, calls.said)
        check_bed(file, reach.box, order.bed, order.machine)
        if order.settings.answers:
            says = greet(talk, tell=calls.said, buffer=order.settings.buffer)
            for words in says:
                calls.said(f"The machine says: {words}")
            is_its_profiles(order, talk, says)
            rest(talk, settings.patience, calls.said)
            compare(order, talk)
            zero = talk.language.zero(talk)
            standing = Standing(talk, order.settings.buffer)
            standing.rests()
        if (
            settings.drops is not True
            and talk.language.after_stop
            and not (order.virtual or order.port.startswith("file:"))
        ):
            calls.said(f"Note: {talk.language.after_stop.format(order.settings.buffer)}")
        if not calls.agreed("Is the stock in place, and is it safe to move?"):
            raise UserError("not sent", fix="Nothing has moved.")
        _let_start(order, talk)
        book.write(job=told(order, digest, says, zero))
        _agreed(standing, order)
        if trace:
            standing = _traced(order, file, talk, reach)
            _agreed(standing, order)
        return _send(order, file, talk, book, 0, reach, standing)


def _agreed(standing: Standing | None, order: Order) -> None:
    """Look at a machine after its user's answer. One that is elsewhere now was moved by its user,
    or was reset without a word. Raises MachineError.
    """
    if standing is None:
        return
    standing.agreed()
    if standing.moved and not order.calls.agreed(
        "The machine is not where it was when you were asked. If nobody has moved or homed it, it "
        "was reset, and would work in another place: answer no, and home it. Was it moved?"
    ):
        raise was_reset()


def _let_start(order: Order, talk: PortTalk) -> None:
    """Let a machine start that can't say when it has; a file or a network doesn't start it."""
    silent = order.port.startswith(("file:", "socket:"))
    if not (order.settings.answers or order.virtual or silent):
        talk.tell = order.calls.said
        let_start(talk)


def _lines_fit(file: CutFile, settings: SendingSettings) -> None:
    """Refuse a line for which the machine never has room, if it takes whole lines."""
    if not (settings.answers and file.language.acknowledges):
        return
    numbers = len(file.language.numbered(b"G0", file.language.first_number)) * file.language.in_turn
    found = re.search(rb"[^\r\n]{%d,}" % max(1, settings.buffer - 1 - numbers), file.data)
    Window(file.data).passed(len(file.data))
    if found:
        raise UserError(
            f"a line of {len(found[0])} bytes is longer than the machine's buffer, "
            f"{settings.buffer} bytes",
            fix="Shorten it in the file, or correct 'buffer' in the profile's sending table.",
            place=Place(file.path, file.data[: found.start()].count(b"\n") + 1),
        )


def _traced(order: Order, file: CutFile, talk: PortTalk, reach: Extent) -> Standing:
    """Go round the work, and ask whether to cut it; return how the machine then stands."""
    calls, settings = order.calls, order.settings
    if not settings.answers:
        raise UserError(
            "this machine can't report when it has gone round", fix="Send without --trace."
        )
    credit = credit_for(settings)
    with calls.sending(False):
        trace_work(file, talk, credit, reach.box, calls.wish, settings.patience)
    standing = Standing(talk, settings.buffer)
    standing.rests()
    if not calls.agreed("The tool has gone round the work. Cut it?"):
        raise UserError("not sent", fix="Nothing was cut.")
    return standing


def resume(
    order: Order, record: journal.Told, go_from: int | None = None, back: int = 0
) -> Outcome:
    """Resume a job after a break: at unit `go_from`, or where the machine and journal say.

    back: how many strokes to go back. Raises UserError if the file has changed since.
    """
    standing: Standing | None = None
    with _at_port(order) as (file, talk):
        if file.digest() != record.job.get("digest"):
            raise UserError(
                "the file is not the one that was being sent",
                fix="Restore the old file, or send this one from the start.",
                place=Place(order.file),
            )
        if order.settings.answers:
            says = greet(talk, tell=order.calls.said, buffer=order.settings.buffer)
            same_machine(order, talk, record, says, go_from)
            is_its_profiles(order, talk, says)
            rest(talk, order.settings.patience, order.calls.said, held=True)
            compare(order, talk)  # one that is at work doesn't tell its settings
            same_zero(order, talk, record)
            standing = Standing(talk, order.settings.buffer)
        said = GoOn(go_from or 0, "as you chose", chosen=True)
        there = _where(order, file, talk, record) if go_from is None else said
        first = max(0, there.unit - back)
        if first >= file.units:
            return _done(order, file, record, go_from)
        left = _left_out(order, file, record, first, go_from)
        begin = f"stroke {first + 1} of {file.strokes}" if first < file.strokes else "the end"
        order.calls.said(f"Resuming at {begin}: {there.why}.")
        twice = most_cut(file, record, there, first)
        if twice and (first < there.unit or there.chosen):
            order.calls.said(again(first, twice))
        elif there.partly and first == there.unit:
            order.calls.said(f"Stroke {first + 1} is cut in part, and again from its beginning.")
        lacks = file.not_restored(first)
        if lacks:
            order.calls.said(
                f"Caution: not understood, so not done again: {', '.join(lacks)} earlier in the "
                "file. See to it at the machine, or send the file from its start."
            )
        unseen = file.language.not_shown(file.unit(first)) if first else ""
        if unseen:
            order.calls.said(
                f"Caution: {unseen} before stroke {first + 1} may be there already, and is drawn "
                "again: neither the machine's count nor its position shows it."
            )
        if standing is not None:
            standing.rests()
        if not order.calls.agreed(
            "Is the machine homed or the sheet registered, and safe to move?"
        ):
            raise UserError("not sent", fix="Nothing has moved.")
        reach = extent(file, order.calls.said)
        _let_start(order, talk)
        _agreed(standing, order)
        with journal.opened(order.journal) as book:
            if book.written != record.records:
                raise UserError(
                    "another process has gone on with this job meanwhile",
                    fix="Nothing has moved. Look how far it came; then: plotout resume",
                )
            book.write(begun=first, left=left)  # settling may make the machine forget the job
            if talk.language.settle(talk):
                talk.overheard.clear()
            outcome = _send(order, file, talk, book, first, reach, standing)
        left_out = journal.left_before(first, (*record.left, *left))
        return replace(outcome, left=left_out, twice=(first + 1, twice) if twice else None)


def _left_out(
    order: Order, file: CutFile, record: journal.Told, first: int, go_from: int | None
) -> list[journal.Units]:
    """Return what is left out by --from, and tell the user."""
    last = min(first, file.strokes)
    if go_from is None or last <= record.done:
        return []
    strokes = strokes_named(record.done + 1, last, "is", "are")
    order.calls.said(f"{strokes} not known to be done, and left out.")
    return [(record.done, last)]


def _done(order: Order, file: CutFile, record: journal.Told, go_from: int | None) -> Outcome:
    """Return that nothing is left. Raises UserError for a stroke that the file doesn't have."""
    if go_from is not None:
        raise UserError(
            f"there is no stroke {go_from + 1}",
            fix=f"The file has {counted(file.strokes, 'stroke')}.",
        )
    with journal.opened(order.journal) as book:
        book.write(done=file.units)
        book.write(ended=True)
    return Outcome(file.units, file.units, False, 0, 0.0, strokes=file.strokes, left=record.left)


def _where(order: Order, file: CutFile, talk: PortTalk, record: journal.Told) -> GoOn:
    calls = order.calls
    asked = talk if order.settings.answers else None

    def shown(doubt: Doubt) -> str:
        """Draw the strokes in doubt beside the journal."""
        from plotout.sending.doubt import write_picture  # brings a library for pictures

        picture = order.journal.with_name(f"{order.journal.stem}-in-doubt.png")
        try:
            write_picture(file, doubt, picture)
        except PlotoutError as fault:  # the sheet itself suffices
            calls.said(f"The strokes in doubt could not be drawn: {fault.problem}.")
            return "the sheet"
        calls.said(f"The strokes in doubt, with their numbers: {picture}")
        return f"the sheet and at {picture}"

    deciding = Deciding(calls.said, calls.which, order.settings.patience, shown)
    return find_unit(file, asked, record, deciding)


@contextlib.contextmanager
def _at_port(order: Order) -> Iterator[tuple[CutFile, PortTalk]]:
    language = plugins.language(order.settings.language)
    lock = contextlib.nullcontext() if order.virtual else locked(order.port)
    with cut_file(order.file, language, order.step, order.calls.said) as file, lock:
        link = open_link(find_port(order.port, order.usb), order.settings)
        try:
            keeps = order.settings.drops is False
            yield file, PortTalk(link, language, yields=YIELDS if keeps else 0.0)
        finally:
            link.close()


def _send(
    order: Order,
    file: CutFile,
    talk: PortTalk,
    book: journal.Journal,
    first: int,
    reach: Extent,
    standing: Standing | None,
) -> Outcome:
    settings, calls = order.settings, order.calls
    whole = reach.length(file.units)

    def report(units: int, _of: int) -> None:
        calls.done(Progress(min(units, file.strokes), file.strokes, reach.length(units), whole))

    with calls.sending(True):
        return send(
            file,
            talk,
            credit_for(settings),
            book,
            first=first,
            answers=bool(settings.answers),
            buffer=settings.buffer,
            piece=piece_for(settings),
            most_waiting=most_waiting(settings),
            patience=settings.patience,
            standing=standing,
            box=reach.box,
            watch=Watch(calls.wish, report, calls.by_hand, calls.waiting, calls.said),
        )
