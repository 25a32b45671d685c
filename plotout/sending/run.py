"""A whole job at a port, from its start: lock, greet, check, trace, send."""

from __future__ import annotations

import math
import re

from plotout.errors import Place, UserError
from plotout.machine import SendingSettings
from plotout.sending import journal
from plotout.sending.at_port import agreed, at_port, let_machine_start, send_from
from plotout.sending.cutfile import CutFile
from plotout.sending.extent import Extent, check_bed, extent
from plotout.sending.flow_control import credit_for, never_waits
from plotout.sending.greet import greet, rest
from plotout.sending.meant import compare, is_its_profiles, tells_its_count
from plotout.sending.order import Order, told
from plotout.sending.standing import Standing, tells_tool_down
from plotout.sending.talk import PortTalk
from plotout.sending.trace import trace as trace_work
from plotout.sending.watch import Outcome
from plotout.sending.window import Window

NEVER_WAITS = (
    "Note: with flow = 'paced' nothing holds the bytes back. If this machine draws more slowly "
    "than the line brings them, what finds no room in it is lost without a word: watch it."
)


def run(order: Order, trace: bool = False) -> Outcome:
    """Send a file from its start. Raises UserError or MachineError; either says how the machine
    was left.
    """
    calls, settings = order.calls, order.settings
    standing: Standing | None = None
    says: tuple[str, ...] = ()
    zero = ""
    with at_port(order) as (file, talk), journal.opened(order.journal) as book:
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
            tells_its_count(talk)
            compare(order, talk)
            zero = talk.language.zero(talk)
            tells_tool_down(talk, settings.buffer, file.lift, calls.said)
            standing = Standing(talk, order.settings.buffer)
            standing.rests()
        if never_waits(settings):
            calls.said(NEVER_WAITS)
        if (
            settings.drops is not True
            and talk.language.after_stop
            and not (order.virtual or order.port.startswith("file:"))
        ):
            calls.said(f"Note: {talk.language.after_stop.format(order.settings.buffer)}")
        if not calls.agreed("Is the stock in place, and is it safe to move?"):
            raise UserError("not sent", fix="Nothing has moved.")
        let_machine_start(order, talk)
        book.write(job=told(order, digest, says, zero))
        agreed(standing, order)
        if trace:
            standing = _traced(order, file, talk, reach)
            agreed(standing, order)
        return send_from(order, file, talk, book, 0, reach, standing)


def _lines_fit(file: CutFile, settings: SendingSettings) -> None:
    """Refuse a line for which the machine never has room, if it takes whole lines."""
    if not (settings.answers and file.language.acknowledges):
        return
    numbers = len(file.language.numbered(b"G0", file.language.first_number)) * file.language.in_turn
    found = re.search(rb"[^\r\n]{%d,}" % max(1, settings.buffer - 1 - numbers), file.data)
    Window(file.data).passed(len(file.data))
    if found:
        raise UserError(
            f"a line of {len(found[0]) + numbers} bytes, as it is sent, is longer than the "
            f"machine's buffer takes, {settings.buffer} bytes",
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
    if not all(map(math.isfinite, reach.box)):
        raise UserError("there is no work to go round", fix="Send without --trace.")
    credit = credit_for(settings)
    with calls.sending(False):
        trace_work(file, talk, credit, reach.box, calls.wish, settings.patience)
    standing = Standing(talk, settings.buffer)
    standing.rests()
    if not calls.agreed("The tool has gone round the work. Cut it?"):
        raise UserError("not sent", fix="Nothing was cut.")
    return standing
