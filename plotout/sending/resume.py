"""An interrupted job is resumed: where, what may be cut twice, and what its user must know."""

from __future__ import annotations

from dataclasses import replace

from plotout.errors import Place, PlotoutError, UserError, counted
from plotout.sending import journal
from plotout.sending.at_port import agreed, at_port, let_machine_start, send_from
from plotout.sending.cutfile import CutFile
from plotout.sending.extent import extent
from plotout.sending.find import Deciding, Doubt, GoOn, again, find_unit, most_cut
from plotout.sending.greet import greet, rest
from plotout.sending.meant import compare, is_its_profiles, same_machine, same_zero, tells_its_count
from plotout.sending.order import Order
from plotout.sending.standing import Standing, tells_tool_down
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Outcome, strokes_named


def resume(
    order: Order, record: journal.Told, go_from: int | None = None, back: int = 0
) -> Outcome:
    """Resume a job after a break: at unit `go_from`, or where the machine and journal say.

    back: how many strokes to go back. Raises UserError if the file has changed since.
    """
    with at_port(order) as (file, talk):
        if file.digest() != record.job.get("digest"):
            raise UserError(
                "the file is not the one that was being sent",
                fix="Restore the old file, or send this one from the start.",
                place=Place(order.file),
            )
        standing, on_hold = _met(order, talk, record, go_from)
        rests = standing is not None and talk.language.acknowledges  # a plotter may still work
        if rests:
            tells_tool_down(talk, order.settings.buffer, file.lift, order.calls.said)
        said = GoOn(go_from or 0, "as you chose", chosen=True)
        there = _where(order, file, talk, record) if go_from is None else said
        record = _noted(order, record, there)
        first = max(0, there.unit - back)
        if first >= file.units:
            return _done(order, file, record, go_from)
        left = _left_out(order, file, record, first, go_from)
        twice = most_cut(file, record, there, first)
        _tell(order, file, there, first, twice)
        if standing is not None:
            if not rests:
                tells_tool_down(talk, order.settings.buffer, file.lift, order.calls.said)
            tells_its_count(talk)
            standing.rests()
        if not order.calls.agreed(
            "Is the machine homed or the sheet registered, and safe to move?"
        ):
            raise UserError("not sent", fix="Nothing has moved.")
        reach = extent(file, order.calls.said)
        let_machine_start(order, talk)
        agreed(standing, order)
        with journal.opened(order.journal) as book:
            _not_gone_on(book, record)
            book.write(begun=first, left=left)  # settling may make the machine forget the job
            if talk.language.settle(talk):
                talk.overheard.clear()
            if on_hold:
                _compared_late(order, talk, record)
            outcome = send_from(order, file, talk, book, first, reach, standing)
        left_out = journal.left_before(first, (*record.left, *left))
        return replace(outcome, left=left_out, twice=(first + 1, twice) if twice else None)


def _met(
    order: Order, talk: PortTalk, record: journal.Told, go_from: int | None
) -> tuple[Standing | None, bool]:
    """Meet a machine that answers; return how it stands, and whether it is on hold."""
    settings = order.settings
    if not settings.answers:
        return None, False
    says = greet(talk, tell=order.calls.said, buffer=settings.buffer)
    same_machine(order, talk, record, says, go_from)
    is_its_profiles(order, talk, says)
    on_hold = rest(talk, settings.patience, order.calls.said, held=True)
    if not on_hold:  # then, as one at work, it doesn't tell its settings
        compare(order, talk)
        same_zero(order, talk, record)
    return Standing(talk, settings.buffer), on_hold


def _tell(order: Order, file: CutFile, there: GoOn, first: int, twice: int) -> None:
    """Tell the user where the job goes on, and what may be cut twice, or not be done again."""
    said = order.calls.said
    begin = f"stroke {first + 1} of {file.strokes}" if first < file.strokes else "the end"
    said(f"Resuming at {begin}: {there.why}.")
    if twice and (first < there.unit or there.chosen):
        said(again(first, twice))
    elif there.partly and first == there.unit:
        said(f"Stroke {first + 1} is cut in part, and again from its beginning.")
    lacks = file.not_restored(first)
    if lacks:
        said(
            f"Caution: not understood, so not done again: {', '.join(lacks)} earlier in the "
            "file. See to it at the machine, or send the file from its start."
        )
    unseen = file.language.not_shown(file.unit(first)) if first else ""
    if unseen:
        said(
            f"Caution: {unseen} before stroke {first + 1} may be there already, and is drawn "
            "again: neither the machine's count nor its position shows it."
        )


def _noted(order: Order, record: journal.Told, there: GoOn) -> journal.Told:
    """Note what a machine has shown to be done: it may have forgotten that when it is asked again.
    Return what the journal then says.
    """
    if there.chosen or there.unit <= record.done:
        return record
    with journal.opened(order.journal, sends=False) as book:
        _not_gone_on(book, record)
        book.write(done=there.unit)
        return replace(record, done=there.unit, records=book.written)


def _not_gone_on(book: journal.Journal, record: journal.Told) -> None:
    """Refuse a job whose journal has grown since it was read. Raises UserError."""
    if book.written != record.records:
        raise UserError(
            "another process has gone on with this job meanwhile",
            fix="Nothing has moved. Look how far it came; then: plotout resume",
        )


def _compared_late(order: Order, talk: PortTalk, record: journal.Told) -> None:
    """Compare a machine that has just left a hold, in which it told nothing of itself. Raises
    MachineError if it must not be sent this, and UserError if its user doesn't want it.
    """
    compare(order, talk)
    if not same_zero(order, talk, record) and not order.calls.agreed(
        "Is the zero of its work right?"
    ):
        raise UserError("not sent", fix="Nothing has moved.")


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
