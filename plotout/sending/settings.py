"""A machine's connection: its profile's `sending` table, completed by its language."""

from __future__ import annotations

from dataclasses import replace

from plotout import plugins
from plotout.errors import UserError, nearest
from plotout.machine import Machine, SendingSettings


def settings_of(machine: Machine) -> SendingSettings:
    """Return how a machine is connected, completely. Raises UserError for wrong names."""
    from plotout.sending.flow_control import FLOWS

    said = machine.sending
    name = said.language or plugins.driver(machine.driver).language
    if not name:
        raise UserError(
            f"machine '{machine.name}': no language is given",
            fix=f"Add language under [sending]: {', '.join(sorted(plugins.languages()))}.",
        )
    language = plugins.language(name)
    flow = said.flow or language.flows[0]
    if flow not in language.flows or flow not in FLOWS:
        raise UserError(
            f"machine '{machine.name}': {name} has no flow '{flow}'",
            fix=nearest(flow, language.flows),
        )
    answers = said.answers
    if answers is None:  # a machine that acknowledges can answer, whatever stops the line
        answers = FLOWS[flow].answers or language.acknowledges
    if FLOWS[flow].answers and not answers:
        others = ", ".join(name for name in language.flows if not FLOWS[name].answers)
        raise UserError(
            f"machine '{machine.name}': the flow '{flow}' waits for answers, but answers = false",
            fix=f"Choose another flow under [sending], as its manual says: {others}."
            if others
            else "Leave out answers = false: such a machine has to answer.",
        )
    if language.in_turn and (answers is False or said.drops):
        key = "answers = false" if answers is False else "drops = true"
        raise UserError(
            f"machine '{machine.name}': with the language {name} there is no '{key}'",
            fix="Leave it out: such a machine has to answer, and does all that it has accepted.",
        )
    buffer = said.buffer or language.buffer
    return replace(said, language=name, flow=flow, answers=answers, buffer=buffer)
