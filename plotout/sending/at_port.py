"""A job's port: it is locked and opened, its machine stands, and the file is sent to it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from plotout import plugins
from plotout.sending import journal
from plotout.sending.cutfile import CutFile, cut_file
from plotout.sending.extent import Extent
from plotout.sending.flow_control import credit_for, most_waiting, piece_for
from plotout.sending.greet import let_start
from plotout.sending.lock import locked
from plotout.sending.order import Order, Progress
from plotout.sending.ports import find_port, open_link
from plotout.sending.sender import send
from plotout.sending.standing import Standing, was_reset
from plotout.sending.talk import PortTalk
from plotout.sending.watch import Outcome, Watch

YIELDS = 15.0  # s in which a plotter that can't drop what it holds goes on taking


@contextlib.contextmanager
def at_port(order: Order) -> Iterator[tuple[CutFile, PortTalk]]:
    """Lock and open the port of a job; give the file to send, and a conversation with the machine.

    Raises MachineError if the port is in use, or can't be opened.
    """
    language = plugins.language(order.settings.language)
    lock = contextlib.nullcontext() if order.virtual else locked(order.port)
    with cut_file(order.file, language, order.step, order.calls.said) as file, lock:
        link = open_link(find_port(order.port, order.usb), order.settings)
        try:
            keeps = order.settings.drops is False
            yield file, PortTalk(link, language, yields=YIELDS if keeps else 0.0)
        finally:
            link.close()


def agreed(standing: Standing | None, order: Order) -> None:
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


def let_machine_start(order: Order, talk: PortTalk) -> None:
    """Let a machine start that can't say when it has; a file or a network doesn't start it."""
    silent = order.port.startswith(("file:", "socket:"))
    if not (order.settings.answers or order.virtual or silent):
        talk.tell = order.calls.said
        let_start(talk)


def send_from(
    order: Order,
    file: CutFile,
    talk: PortTalk,
    book: journal.Journal,
    first: int,
    reach: Extent,
    standing: Standing | None,
) -> Outcome:
    """Send a file from unit `first`, and show its progress. reach: where its work lies."""
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
