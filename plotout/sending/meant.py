"""Whether the machine at a port is the one that is meant, and set as it should be."""

from __future__ import annotations

from collections.abc import Sequence

from plotout.errors import MachineError
from plotout.sending import journal
from plotout.sending.faults import differing
from plotout.sending.order import Order
from plotout.sending.talk import PortTalk

TRIES = 2  # of a question whose answer may be late


def compare(order: Order, talk: PortTalk) -> None:
    """Refuse a machine whose settings differ from its profile dangerously."""
    if order.profile is None:
        return
    found = talk.language.differences(talk, order.profile)
    if found.unsafe:
        raise MachineError(
            f"as it is set, the machine must not be sent this: {'; '.join(found.unsafe)}",
            fix="Nothing has moved. Correct the machine's settings, or the profile.",
        )
    for text in found.notes:
        order.calls.said(f"Note: {text}.")


def is_its_profiles(order: Order, talk: PortTalk, says: Sequence[str]) -> None:
    """Refuse a machine that calls itself otherwise than its profile. Raises MachineError."""
    identity = order.settings.identity
    if not identity or any(identity in words for words in says):
        return
    names = talk.language.identify(talk)  # an answer may be late, or damaged
    if any(identity in words for words in names):
        return
    words = f"it says '{names[0]}'" if names else "it does not say what it is"
    raise MachineError(
        f"this may be another machine: {words}, and the identity in its profile is '{identity}'",
        fix="Nothing has moved. Connect the other one, or correct 'identity' under [sending].",
    )


def same_machine(
    order: Order,
    talk: PortTalk,
    record: journal.Told,
    says: Sequence[str],
    go_from: int | None,
) -> None:
    """Refuse a machine that says another name than the one of the job's beginning, first of what it
    says; if its user has chosen the stroke, tell it. Raises MachineError.
    """
    before = record.job.get("says") or ()
    if not before or not says or before[0] in says:
        return
    if before[0] in talk.language.identify(talk):
        return  # its first answer was damaged
    words = f"it says '{says[0]}', and the machine on which the job was begun '{before[0]}'"
    if go_from is not None:
        order.calls.said(f"Caution: {words}.")
        return
    raise MachineError(
        f"this may be another machine: {words}",
        fix="Nothing has moved. Connect the other one. If it is the same, look at the sheet: "
        "plotout resume --from N",
    )


def same_zero(order: Order, talk: PortTalk, record: journal.Told) -> bool:
    """Return whether the zero of a machine's work is where it was when the job was begun, as far as
    that is known; else its user is told.
    """
    before, found = str(record.job.get("zero") or ""), ""
    for _ in range(TRIES):
        found = talk.language.zero(talk)
        if not (before and found) or before == found:
            return True
    was, now = differing(before, found)
    if was and now:
        words = f"was {was} when the job was begun, and is {now} now: the rest is cut from there"
    else:
        words = f"isn't told as when the job was begun: it was {before}, and is {found} now"
    order.calls.said(
        f"Caution: the zero of its work {words}. Go on only if you have set it anew for this sheet."
    )
    return False


def tells_its_count(talk: PortTalk) -> None:
    """Refuse a resting machine that keeps a count but does not tell it. Raises MachineError."""
    language = talk.language
    if language.acknowledges or any(language.forgot(talk) is not None for _ in range(TRIES)):
        return
    raise MachineError(
        f"the machine does not answer '{language.mark.decode()}', by which its count is asked: it "
        "could not be known how much it has done",
        fix="Nothing has moved. If it is paused at its panel, let it go on, and start again. If it "
        "never answers that, write answers = false, and a flow that needs no answers, under "
        "[sending].",
    )
