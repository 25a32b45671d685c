"""A whole job at a port: lock, greet, check, trace, send; and the same again after a break."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from plotout.errors import MachineError, Place, UserError, nearest
from plotout.files import slug
from plotout.machine import Machine
from plotout.machine.axes import machine_matrix
from plotout.wire import journal
from plotout.wire.credit import credit_for
from plotout.wire.cutfile import CutFile, cut_file
from plotout.wire.greet import greet
from plotout.wire.language import LANGUAGES, Language
from plotout.wire.link import Link, WireSettings, find_port, identity_of, open_link
from plotout.wire.lock import locked
from plotout.wire.recover import GoOn, find_unit
from plotout.wire.sender import Outcome, Wish, send

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Calls:
    """How the user is told and asked. said: a line of text; done: units done of how many;
    sending: entered while bytes go out, so that keys and signals are heard.
    """

    said: Callable[[str], None] = lambda _text: None
    done: Callable[[int, int], None] = lambda _done, _units: None
    agreed: Callable[[str], bool] = lambda _question: True
    sending: Callable[[], contextlib.AbstractContextManager[None]] = contextlib.nullcontext
    wish: Wish = field(default_factory=Wish)


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be sent where. journal: the file that the job is noted in."""

    file: Path
    machine: str
    port: str
    settings: WireSettings
    journal: Path
    step: float
    bed: Box
    calls: Calls = field(default_factory=Calls)


def settings_of(machine: Machine) -> WireSettings:
    """Return how a machine is connected, as its profile says. Raises UserError for wrong values."""
    known = WireSettings.__dataclass_fields__
    told = {str(key).replace("-", "_"): value for key, value in machine.wire.items()}
    wrong = next((key for key in told if key not in known), None)
    if wrong:
        raise UserError(
            f"machine '{machine.name}': wire has no '{wrong}'", fix=nearest(wrong, known)
        )
    if told.get("language", "hpgl") not in LANGUAGES:
        raise UserError(
            f"machine '{machine.name}': nothing speaks '{told['language']}'",
            fix=nearest(str(told["language"]), LANGUAGES),
        )
    return WireSettings(**told)


def bed_of(machine: Machine) -> Box:
    """Return the bed in the machine's own mm: least x, least y, greatest x, greatest y."""
    length, width = machine.bed.length, machine.bed.width
    matrix = machine_matrix(machine, length, width)
    corners = [matrix[:, :2] @ corner + matrix[:, 2] for corner in ((0, 0), (length, width))]
    xs, ys = zip(*corners, strict=True)
    return float(min(xs)), float(min(ys)), float(max(xs)), float(max(ys))


def journal_folder() -> Path:
    """Return where journals are kept: PLOTOUT_JOBS, or the user's state folder."""
    told = os.environ.get("PLOTOUT_JOBS")
    base = os.environ.get("XDG_STATE_HOME")
    return Path(told or Path(base or Path.home() / ".local" / "state") / "plotout" / "jobs")


def new_journal(file: Path) -> Path:
    """Return a journal's path for a job that begins now."""
    return journal_folder() / f"{time.strftime('%Y%m%d-%H%M%S')}-{slug(file.stem)}.journal"


def run(order: Order, trace: bool = False) -> Outcome:
    """Send a file from its beginning. Raises UserError or MachineError; the tool is up then."""
    with _at_port(order) as (file, link, language):
        box = _check_bed(file, order)
        if order.settings.answers:
            for words in greet(link, language):
                order.calls.said(f"The machine says: {words}")
        if not order.calls.agreed("Is the stock in place, and is it safe to move?"):
            raise UserError("not sent", fix="Nothing has moved.")
        if trace:
            _trace(link, language, box)
            if not order.calls.agreed("The tool went round the work. Cut it?"):
                raise UserError("not sent", fix="Nothing was cut.")
        with journal.opened(order.journal) as book:
            book.write(job=_told(order, file))
            return _send(order, file, link, book, first=0)


def resume(order: Order, told: journal.Told, go_from: int | None = None, back: int = 0) -> Outcome:
    """Go on with a job after a break: at unit `go_from`, or where the machine and journal say.

    back: how many strokes to go back. Raises UserError when the file has changed since.
    """
    with _at_port(order) as (file, link, _):
        if file.digest() != told.job["digest"]:
            raise UserError(
                "the file is not the one that was being sent",
                fix="Bring the old file back, or send this one from the start.",
                place=Place(order.file),
            )
        said = GoOn(go_from or 0, "as you say")
        found = _where(order, file, link, told) if go_from is None else said
        first = max(0, found.unit - back)
        order.calls.said(f"Going on at stroke {first + 1} of {file.units}: {found.why}.")
        if first >= file.units:
            raise UserError("this job is done", fix="There is nothing to go on with.")
        if not order.calls.agreed(
            "Is the machine homed or the sheet registered, and safe to move?"
        ):
            raise UserError("not sent", fix="Nothing has moved.")
        with journal.opened(order.journal) as book:
            book.write(done=first, reset=False)
            return _send(order, file, link, book, first)


def _where(order: Order, file: CutFile, link: Link, told: journal.Told) -> GoOn:
    if not order.settings.answers:
        return GoOn(told.done, f"the machine can't be asked; {told.done} strokes are known done")
    return find_unit(file, link, told, tell=order.calls.said)


@contextlib.contextmanager
def _at_port(order: Order) -> Iterator[tuple[CutFile, Link, Language]]:
    language = LANGUAGES[order.settings.language]
    with cut_file(order.file, language) as file, locked(order.port):
        link = open_link(find_port(order.port, order.settings.identity), order.settings)
        try:
            yield file, link, language
        finally:
            link.close()


def _send(order: Order, file: CutFile, link: Link, book: journal.Journal, first: int) -> Outcome:
    settings, calls = order.settings, order.calls
    with calls.sending():
        return send(
            file,
            link,
            credit_for(settings),
            book,
            first=first,
            answers=settings.answers,
            buffer=settings.buffer,
            wish=calls.wish,
            tell=calls.done,
        )


def _told(order: Order, file: CutFile) -> dict[str, Any]:
    """What the journal must know so that the job can go on without the user's memory."""
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


def order_from(path: Path, told: journal.Told, calls: Calls, port: str = "") -> Order:
    """Return the order that a journal tells of, at another port if one is given."""
    job = told.job
    try:
        left, bottom, right, top = job["bed"]
        settings = WireSettings(**job["settings"])
        file, machine, step = Path(job["file"]), job["machine"], job["step"]
        bed = (left, bottom, right, top)
        return Order(file, machine, port or job["port"], settings, path, step, bed, calls)
    except (KeyError, TypeError, ValueError) as fault:
        raise UserError("the journal was kept by another plotout", place=Place(path)) from fault


def _check_bed(file: CutFile, order: Order) -> Box:
    """Return the work's extent in mm. Raises MachineError where it leaves the bed."""
    box, place = [float("inf")] * 2 + [float("-inf")] * 2, (0.0, 0.0)
    by_line = file.language.by_line
    scale = (25.4 if b"G20" in file.head(0) else 1.0) if by_line else order.step
    for unit in range(file.units):
        before, work = file.language.work_ends(file.unit(unit), place)
        place = (work or before or [place])[-1]
        for x, y in work:
            box = [min(box[0], x), min(box[1], y), max(box[2], x), max(box[3], y)]
    low_x, low_y, high_x, high_y = (side * scale for side in box)
    bed = order.bed
    excess = max(bed[0] - low_x, bed[1] - low_y, high_x - bed[2], high_y - bed[3])
    if excess > 0.05:
        raise MachineError(
            f"the work leaves the bed of '{order.machine}' by {excess:.1f} mm",
            fix="Was the file made for this machine? Make it again with its profile.",
            place=Place(order.file),
        )
    return low_x / scale, low_y / scale, high_x / scale, high_y / scale


def _trace(link: Link, language: Language, box: Box) -> None:
    """Go round the work with the tool up."""
    left, low, right, high = box
    corners = [(left, low), (right, low), (right, high), (left, high), (left, low)]
    form = b"G0 X%.3f Y%.3f\n" if language.by_line else b"PU%.0f,%.0f;"
    rest = b"".join(form % corner for corner in corners)
    until = time.monotonic() + 30.0
    while rest and time.monotonic() < until:
        rest = rest[link.write(rest[:64]) :]
