"""The true positions of a sheet's marks, read from the machine while its tool is over them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout import plugins
from plotout.conversation import Asking, Point
from plotout.errors import UserError
from plotout.machine import Machine, SendingSettings
from plotout.machine.axes import machine_matrix
from plotout.sending.greet import greet
from plotout.sending.lock import locked
from plotout.sending.ports import open_link
from plotout.sending.talk import PortTalk


def find_marks(
    port: str, settings: SendingSettings, machine: Machine, names: Sequence[str], asking: Asking
) -> dict[str, Point]:
    """Return the marks' positions on the bed, mm, by name, without those that the user leaves out.

    Raises MachineError if the machine doesn't answer in time, or has an alarm, and UserError if it
    can't be asked. However it ends, the machine no longer waits for a mark.
    """
    language = plugins.language(settings.language)
    if not settings.answers:
        raise _measure(machine)
    with locked(port):
        link = open_link(port, settings)
        try:
            talk = PortTalk(link, language)
            for words in greet(talk, tell=asking.said, buffer=settings.buffer):
                asking.said(f"The machine says: {words}")
            if not asking.agreed("Is the tool up, and is it safe to move it over the sheet?"):
                raise UserError("no marks were found", fix="Nothing has moved.")
            marking = language.marking(talk, machine, asking)
            if marking is None:
                raise _measure(machine)
            try:
                places = {name: marking.place(name) for name in names}
            finally:
                marking.end()
        finally:
            link.close()
    return {name: on_bed(machine, at) for name, at in places.items() if at is not None}


def _measure(machine: Machine) -> UserError:
    return UserError(
        f"{machine.title} can't report where its tool is",
        fix="Measure the marks, and write their positions into the file.",
    )


def on_bed(machine: Machine, at: Point) -> Point:
    """Return a position in the machine's own mm as mm on its bed."""
    matrix = machine_matrix(machine, machine.bed.length, machine.bed.width)
    x, y = matrix[:, :2].T @ (np.array(at) - matrix[:, 2])  # its axes are square
    return float(x), float(y)
