"""Before the first move: does a machine that takes whole lines answer each of them once?

Its answers are counted: one too many would overfill its buffer, and finish a stroke that is not
finished. Those to an earlier job, which a port or an adapter still held, are let run out.
"""

from __future__ import annotations

import time

from plotout.errors import MachineError
from plotout.sending.talk import PortTalk

LEFT = 0.1  # s in which a further answer comes
MOST_LEFT = 5.0  # s for those to an earlier job
ANSWERED_IN = 3.0  # s


def one_each(talk: PortTalk) -> bool:
    """Ask something that moves nothing, and wait for its answer; return whether it came.

    Raises MachineError if more than one answer comes, or they don't end.
    """
    until = time.monotonic() + MOST_LEFT
    while _answers(talk):
        if time.monotonic() > until:
            raise _too_many("goes on answering although nothing is asked")
    talk.say(talk.language.mark)
    heard = talk.hear(ANSWERED_IN + talk.late, lambda one: one.kind == "ok")
    kinds = [one.kind for one in heard]
    if "ok" in kinds and kinds.count("ok") + _answers(talk) > 1:
        raise _too_many("answers one line more than once")
    return "ok" in kinds


def _answers(talk: PortTalk) -> int:
    return sum(heard.kind == "ok" for heard in talk.hear(LEFT))


def _too_many(what: str) -> MachineError:
    return MachineError(
        f"the machine {what}: what it has done could not be counted",
        fix="Nothing was cut. See that nothing else talks to it, and look at its settings.",
    )
