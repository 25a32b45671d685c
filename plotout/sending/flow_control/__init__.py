"""How the flow of bytes to a machine is controlled.

A new way is one file here, with its `FLOWS`, and its name in `machine.model.FLOWS`.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pkgutil import iter_modules

from plotout import plugins
from plotout.machine import WireSettings
from plotout.sending.flow_control.model import Credit, Flow

FLOWS: Mapping[str, Flow] = {
    flow.name: flow
    for module in iter_modules(__path__)
    for flow in getattr(import_module(f"{__name__}.{module.name}"), "FLOWS", ())
}


def credit_for(settings: WireSettings) -> Credit:
    """Return what keeps count of the room in a machine, as its profile asks for."""
    language = plugins.language(settings.language)
    return FLOWS[settings.flow].credit(settings.buffer, settings.baud, language)


__all__ = ["FLOWS", "Credit", "Flow", "credit_for"]
