"""Control of the flow of bytes to a machine.

A new method is one file here, with its `FLOWS`, and its name in `machine.model.FLOWS`.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pkgutil import iter_modules

from plotout import plugins
from plotout.machine import SendingSettings
from plotout.sending.flow_control.model import LEAST, Credit, Flow

AT_ONCE = 0.02  # s of the line's time
IN_PORT = 0.01  # s of the line's time: longer than a nap, or the line would run dry

FLOWS: Mapping[str, Flow] = {
    flow.name: flow
    for module in iter_modules(__path__)
    for flow in getattr(import_module(f"{__name__}.{module.name}"), "FLOWS", ())
}


def credit_for(settings: SendingSettings) -> Credit:
    """Return the counter of a machine's free room, according to its profile.

    A machine that answers is counted by its language even if it stops the line itself: what the
    port then holds back could not be recalled.
    """
    language = plugins.language(settings.language)
    flow = FLOWS[settings.flow]
    if settings.answers and not flow.answers:
        flow = FLOWS[language.flows[0]]
    return flow.credit(settings.buffer, settings.baud, language)


def never_waits(settings: SendingSettings) -> bool:
    """Return whether nothing holds the bytes back when a machine falls behind."""
    flow = FLOWS[settings.flow]
    return not (settings.answers or flow.answers or flow.heeds)


def piece_for(settings: SendingSettings) -> int:
    """Return how many bytes are handed to the port at once: what it holds can't be recalled."""
    most = settings.buffer // 4 if settings.answers else settings.baud
    return max(LEAST, min(int(settings.baud / 10 * AT_ONCE), most))


def most_waiting(settings: SendingSettings) -> int:
    """Return how many bytes the port may still hold when the next piece is handed over."""
    return max(piece_for(settings) // 2, int(settings.baud / 10 * IN_PORT))


__all__ = ["FLOWS", "Credit", "Flow", "credit_for", "most_waiting", "never_waits", "piece_for"]
