"""Once round the work with the tool up, before it is cut."""

from __future__ import annotations

import time
from collections.abc import Iterator

from plotout.errors import MachineError
from plotout.sending.credit import Credit
from plotout.sending.cutfile import CutFile
from plotout.sending.extent import Box
from plotout.sending.hearing import Hearing
from plotout.sending.link import Link
from plotout.sending.safe import make_safe
from plotout.sending.watch import Wish

NAP = 0.005
PATIENCE = 120.0  # s for the whole way round


def trace(file: CutFile, link: Link, credit: Credit, box: Box, scale: float, wish: Wish) -> bool:
    """Go round `box` (machine mm) and wait until the machine is there again, if it can say so.

    scale: mm in a file unit. Returns False when the user stopped it: the tool is up then.
    Raises MachineError when the machine answers with an error, or does not come round.
    """
    language, hearing = file.language, Hearing(file.language)
    until = time.monotonic() + PATIENCE
    owed, answered = 0, 0
    came_round = False
    try:
        for line in [*_commands(file, box, scale), language.mark]:
            while credit.room() < len(line) and not wish.stop and time.monotonic() < until:
                question = credit.question()
                if question:
                    link.write(question)
                answered += _listen(link, hearing, credit)
            link.write(line)
            credit.sent(len(line))
            owed += language.by_line or line == language.mark
        while answered < owed and not wish.stop and time.monotonic() < until:
            answered += _listen(link, hearing, credit)
        came_round = answered == owed and not wish.stop
    finally:
        if not came_round:
            make_safe(link, file, hearing)
    if not came_round and not wish.stop:
        raise MachineError("the machine did not go round the work", fix="Look at the machine.")
    return came_round


def _commands(file: CutFile, box: Box, scale: float) -> Iterator[bytes]:
    left, low, right, high = (side / scale for side in box)
    by_line = file.language.by_line
    if by_line:
        yield from (line + b"\n" for line in file.lift().splitlines())
    else:
        yield b"IN;PA;"
    form = b"G0 X%.3f Y%.3f\n" if by_line else b"PU%.0f,%.0f;"
    for x, y in [(left, low), (right, low), (right, high), (left, high), (left, low)]:
        yield form % (x, y)


def _listen(link: Link, hearing: Hearing, credit: Credit) -> int:
    """Return how many answers came."""
    time.sleep(NAP)
    heard = hearing.take(link.read())
    for each in heard:
        credit.heard(each)
        if each.kind == "error":
            raise MachineError(
                f"the machine answered '{each.text}' on its way round the work: {each.means}",
                fix="Nothing was cut. Put it right, and send again.",
            )
    return sum(each.kind in ("ok", "tally") for each in heard)
