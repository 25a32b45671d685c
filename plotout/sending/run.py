"""A whole job at a port: lock, greet, check, trace, send; and the resumed job after a break."""

from __future__ import annotations

import contextlib
import itertools
import re
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from plotout import folders, plugins
from plotout.errors import MachineError, Place, UserError, counted
from plotout.files import slug
from plotout.machine import Machine, WireSettings
from plotout.machine.axes import machine_matrix
from plotout.sending import journal
from plotout.sending.cutfile import CutFile, cut_file
from plotout.sending.extent import Box, Extent, check_bed, extent
from plotout.sending.find import Deciding, Doubt, GoOn, cut_again, find_unit
from plotout.sending.flow_control import credit_for, most_waiting, piece_for
from plotout.sending.greet import greet, rest
from plotout.sending.lock import locked
from plotout.sending.ports import find_port, identity_of, open_link
from plotout.sending.sender import send
from plotout.sending.standing import Standing
from plotout.sending.talk import PortTalk
from plotout.sending.trace import trace as trace_work
from plotout.sending.watch import Outcome, Watch, Wish
from plotout.sending.window import Window
from plotout.tables import Source, Table, read_table

YIELDS = 15.0  # s in which a plotter that can't drop what it holds goes on taking
TO_FILE: dict[str, Any] = {"answers": False, "flow": "paced", "baud": 10**9}
"""The settings of a file instead of a machine: it has no pace, and never answers."""


@dataclass(frozen=True, slots=True)
class Progress:
    """Progress of a job: strokes known to be finished, of how many, and mm of work."""

    done: int
    strokes: int
    mm: float
    mm_whole: float


@dataclass(frozen=True, slots=True)
class Calls:
    """How to inform and ask the user. said: a line of text; done: the job's progress;
    by_hand, waiting: see `watch.Watch`; which: takes what is unknown and the possible strokes,
    returns the stroke to resume at, from 0, or None if nobody can say; sending: entered while
    bytes go out, so that keys and signals are heard.
    """

    said: Callable[[str], None] = lambda _text: None
    done: Callable[[Progress], None] = lambda _progress: None
    agreed: Callable[[str], bool] = lambda _question: True
    by_hand: Callable[[str], bool] = lambda _what: True
    waiting: Callable[[str], bool] = lambda _what: False
    which: Callable[[Doubt], int | None] = lambda _doubt: None
    sending: Callable[[], contextlib.AbstractContextManager[None]] = contextlib.nullcontext
    wish: Wish = field(default_factory=Wish)


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be sent where. journal: the file that the job is noted in.

    profile: the machine's profile, to compare with its report; None: unknown.
    virtual: the port is private, and nothing moves behind it.
    """

    file: Path
    machine: str
    port: str
    settings: WireSettings
    journal: Path
    step: float
    bed: Box
    calls: Calls = field(default_factory=Calls)
    profile: Machine | None = None
    virtual: bool = False


def bed_of(machine: Machine) -> Box:
    """Return the bed in the machine's own mm: least x, least y, greatest x, greatest y."""
    length, width = machine.bed.length, machine.bed.width
    matrix = machine_matrix(machine, length, width)
    corners = [matrix[:, :2] @ corner + matrix[:, 2] for corner in ((0, 0), (length, width))]
    xs, ys = zip(*corners, strict=True)
    return float(min(xs)), float(min(ys)), float(max(xs)), float(max(ys))


def new_journal(file: Path) -> Path:
    """Return a journal's path for a job that starts now; one that exists is another job's.

    In the order of their names they are in the order of their beginnings.
    """
    name = f"{time.strftime('%Y%m%d-%H%M%S')}-{slug(file.stem)}"
    names = itertools.chain([name], (f"{name}_{number}" for number in itertools.count(2)))
    paths = (folders.journals() / f"{one}.journal" for one in names)
    return next(path for path in paths if not path.exists())


def run(order: Order, trace: bool = False) -> Outcome:
    """Send a file from its start. Raises UserError or MachineError; either says how the machine
    was left.
    """
    calls, settings = order.calls, order.settings
    standing: Standing | None = None
    with _at_port(order) as (file, talk), journal.opened(order.journal) as book:
        _lines_fit(file, settings)
        reach = extent(file, calls.said)
        check_bed(file, reach.box, order.bed, order.machine)
        if order.settings.answers:
            for words in greet(talk, tell=calls.said, buffer=order.settings.buffer):
                calls.said(f"The machine says: {words}")
            rest(talk, settings.patience, calls.said)
            _compare(order, talk)
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
        book.write(job=_told(order, file))
        if trace:
            _trace(order, file, talk, reach)
        if standing is not None:
            standing.agreed()
        return _send(order, file, talk, book, 0, reach, standing)


def _lines_fit(file: CutFile, settings: WireSettings) -> None:
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
            fix="Shorten it in the file, or correct 'buffer' in the profile's wire table.",
            place=Place(file.path, file.data[: found.start()].count(b"\n") + 1),
        )


def _compare(order: Order, talk: PortTalk) -> None:
    """Refuse a machine whose settings differ from its profile dangerously."""
    if order.profile is None:
        return
    found = talk.language.differences(talk, order.profile)
    if found.unsafe:
        raise MachineError(
            f"the machine differs from its profile: {'; '.join(found.unsafe)}",
            fix="Nothing has moved. Correct the machine's settings, or the profile.",
        )
    for text in found.notes:
        order.calls.said(f"Note: {text}.")


def _trace(order: Order, file: CutFile, talk: PortTalk, reach: Extent) -> None:
    calls, settings = order.calls, order.settings
    if not settings.answers:
        raise UserError(
            "this machine can't report when it has gone round", fix="Send without --trace."
        )
    credit = credit_for(settings)
    with calls.sending():
        round_it = trace_work(file, talk, credit, reach.box, calls.wish)
    if not (round_it and calls.agreed("The tool has gone round the work. Cut it?")):
        raise UserError("not sent", fix="Nothing was cut.")


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
            greet(talk, tell=order.calls.said, buffer=order.settings.buffer)
            rest(talk, order.settings.patience, order.calls.said, held=True)
            _compare(order, talk)  # one that is at work doesn't tell its settings
            standing = Standing(talk, order.settings.buffer)
        said = GoOn(go_from or 0, "as you chose")
        there = _where(order, file, talk, record) if go_from is None else said
        first = max(0, there.unit - back)
        if first >= file.units:
            return _done(order, file, go_from)
        begin = f"stroke {first + 1} of {file.strokes}" if first < file.strokes else "the end"
        order.calls.said(f"Resuming at {begin}: {there.why}.")
        again = cut_again(file, record, first) if back or go_from is not None else ""
        if again:
            order.calls.said(again)
        elif there.partly and first == there.unit:
            order.calls.said(f"Stroke {first + 1} is cut in part, and again from its beginning.")
        if standing is not None:
            standing.rests()
        if not order.calls.agreed(
            "Is the machine homed or the sheet registered, and safe to move?"
        ):
            raise UserError("not sent", fix="Nothing has moved.")
        reach = extent(file, order.calls.said)
        if standing is not None:
            standing.agreed()
        with journal.opened(order.journal) as book:
            book.write(begun=first)  # settling may make the machine forget the job
            if talk.language.settle(talk):
                talk.overheard.clear()
            return _send(order, file, talk, book, first, reach, standing)


def _done(order: Order, file: CutFile, go_from: int | None) -> Outcome:
    """Return that nothing is left. Raises UserError for a stroke that the file doesn't have."""
    if go_from is not None:
        raise UserError(
            f"there is no stroke {go_from + 1}",
            fix=f"The file has {counted(file.strokes, 'stroke')}.",
        )
    with journal.opened(order.journal) as book:
        book.write(done=file.units)
        book.write(ended=True)
    return Outcome(file.units, file.units, False, 0, 0.0, strokes=file.strokes)


def _where(order: Order, file: CutFile, talk: PortTalk, record: journal.Told) -> GoOn:
    calls = order.calls
    asked = talk if order.settings.answers else None

    def shown(doubt: Doubt) -> str:
        """Draw the strokes in doubt beside the journal."""
        from plotout.sending.doubt import write_picture  # brings a library for pictures

        if doubt.least >= file.strokes:  # only the ending is
            return "the sheet"
        picture = order.journal.with_name(f"{order.journal.stem}-in-doubt.png")
        try:
            write_picture(file, doubt, picture)
        except MachineError as fault:  # the sheet itself suffices
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
        link = open_link(find_port(order.port, order.settings.identity), order.settings)
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

    def told(units: int, _of: int) -> None:
        calls.done(Progress(min(units, file.strokes), file.strokes, reach.length(units), whole))

    with calls.sending():
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
            watch=Watch(calls.wish, told, calls.by_hand, calls.waiting, calls.said),
        )


def _told(order: Order, file: CutFile) -> dict[str, Any]:
    """Return what the journal must hold so that the job can be resumed from it alone."""
    settings = asdict(order.settings)
    settings["identity"] = settings["identity"] or identity_of(order.port)
    return {
        "file": str(order.file.resolve()),
        "digest": file.digest(),
        "machine": order.machine,
        "port": order.port,
        "settings": settings,
        "step": order.step,
        "bed": order.bed,
    }


def _settings_from(settings: dict[str, Any], path: Path) -> WireSettings:
    """Return how the machine was connected, read by the model of a profile's `[wire]`."""
    given = {
        key.replace("_", "-"): value
        for key, value in settings.items()
        if (value or value is False) and value != TO_FILE["baud"]
    }
    return read_table(WireSettings, given, Source(path, Table(settings=given)), ("settings",))


def order_from(path: Path, record: journal.Told, calls: Calls, port: str = "") -> Order:
    """Return a journal's order, at another port if one is given."""
    job = record.job
    try:
        left, bottom, right, top = job["bed"]
        settings = _settings_from(job["settings"], path)
        if not (settings.flow and settings.language and settings.buffer):
            raise ValueError("it does not say how the machine was connected")
        file, machine, step = Path(job["file"]), job["machine"], job["step"]
        bed = (left, bottom, right, top)
        return Order(file, machine, port or job["port"], settings, path, step, bed, calls)
    except (KeyError, TypeError, ValueError) as fault:
        raise UserError(
            "the journal is of another version of plotout",
            fix="Send the file from the start.",
            place=Place(path),
        ) from fault
