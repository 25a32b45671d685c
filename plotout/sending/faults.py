"""The errors that end a job at the machine: from each on its answers do not show what is done."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from plotout.conversation import Heard
from plotout.errors import MachineError, Place

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange


SOUND = (
    "If that line is sound, it arrived damaged, or the machine was reset: then home it. Else "
    "correct it"
)
DRAWN = "Look at the sheet: what it was sent since may be drawn in a wrong place."
IF_RESET = "if it was reset, home it"
COUNT_FOLLOWS = 0.3  # s after an error that was asked for with it


def of_error(state: Exchange, heard: Heard, after: Iterable[Heard]) -> MachineError:
    """Return what an error comes from: a count that follows it, and is not the job's, shows a
    reset, which has cut off an instruction. after: what the machine said after it.
    """
    if state.counts and not state.file.language.acknowledges:
        more = list(after)
        if not any(map(_is_count, more)):
            more += state.talk.hear(COUNT_FOLLOWS, _is_count)
        if any(one.kind == "reset" or (_is_count(one) and one.value < 0) for one in more):
            return was_reset(state, unseen=True)
    return reported(state, heard)


def _is_count(heard: Heard) -> bool:
    return heard.kind == "count"


def reported(state: Exchange, heard: Heard) -> MachineError:
    """Return the error for one that the machine reports; its answers no longer count."""
    language, steps = state.file.language, state.steps
    refuses = language.acknowledges and not heard.text.lower().startswith("alarm")
    forgets = refuses and heard.value in language.forgets
    if forgets or (refuses and not (steps and steps.tells)):  # it may have accepted other lines
        state.is_unsure()
    state.loses_count()
    state.reset = state.reset or refuses  # so is the rest of a line that a reset has cut off
    line = _first_unanswered(state)
    to = f" to {line}" if line and heard.text.lower().startswith("error") else ""
    means = f": {heard.means}" if heard.means else ""
    means += ", so it may have been reset" if forgets else ""
    return MachineError(
        f"the machine answered '{heard.text}'{to} {state.at_work()}{means}",
        fix="See the machine's manual for the meaning. "
        f"{SOUND if refuses else 'Correct the cause'}; then: plotout resume",
        place=Place(file=state.file.path),
    )


def _first_unanswered(state: Exchange) -> str:
    """Return in words the first line that has no answer."""
    if not state.unanswered:
        return ""
    line = state.unanswered[0].data.decode("latin-1").strip()
    return f"'{line}'" if line else "an empty line"


def was_reset(state: Exchange, unseen: bool = False) -> MachineError:
    """Return the error for a reset; from now on the machine's answers don't count. unseen: it said
    nothing of it, so some of them were already to what reached it since.
    """
    if unseen:
        state.is_unsure()
    state.loses_count()
    state.reset = True
    look = "" if state.file.language.acknowledges else f"{DRAWN} "
    return MachineError(
        f"the machine was reset {state.at_work()}: it may have lost its place",
        fix=f"{look}Home it, or register the sheet again; then: plotout resume",
        place=Place(file=state.file.path),
    )


def may_have_been_reset(state: Exchange, words: str) -> MachineError:
    """Return the error for words that may be a greeting of a machine that keeps its count over a
    reset, for all that it has told of itself.
    """
    fault = was_reset(state, unseen=True)
    fault.problem = (
        f"the machine says '{words}' {state.at_work()}: it may have been reset, and may not show "
        "that in any other way"
    )
    return fault


def too_many_answers(state: Exchange) -> MachineError:
    """Return the error for answers to nothing that was sent: one came too many, or what was asked
    was lost by a reset, and with it more.
    """
    if state.done < state.file.units:
        state.is_unsure()
    state.loses_count()
    return MachineError(
        "the machine answered more often than it was asked: it is not certain what it has done",
        fix=f"See that nothing else talks to it, and {IF_RESET}. Look at the sheet; then: plotout "
        "resume",
        place=Place(file=state.file.path),
    )


def out_of_step(state: Exchange, heard: Heard) -> MachineError:
    """Return the error for a refusal that is the answer to a question, or to a line before it."""
    state.is_unsure()
    state.loses_count()
    line = _first_unanswered(state)
    return MachineError(
        f"the machine answered '{heard.text}' {state.at_work()}: it has refused "
        f"{line}{f' ({heard.means})' if heard.means else ''}, or an answer of it was lost",
        fix=f"Look at the sheet, and {IF_RESET}; then: plotout resume",
        place=Place(file=state.file.path),
    )


def was_off(state: Exchange) -> MachineError:
    """Return the error for a machine whose line fell; its answers no longer count."""
    state.loses_count()
    state.reset = True
    return MachineError(
        f"{state.at_work()} the machine was switched off, or its cable was pulled",
        fix="Home it, or register the sheet again; then: plotout resume",
        place=Place(file=state.file.path),
    )


def silent(since: float) -> MachineError:
    """Return the error for a machine that says nothing. since: s."""
    return MachineError(
        f"the machine has said nothing for {since:.0f} s",
        fix="Check its power and the speed; then: plotout resume",
    )


def differing(before: str, after: str) -> tuple[str, str]:
    """Return of two lists of words those that are not in the other one."""
    one, other = before.split(), after.split()
    was = " ".join(word for word in one if word not in other)
    return was, " ".join(word for word in other if word not in one)


def changed(before: str, after: str) -> MachineError:
    """Return the error for what somebody has changed in a machine while it was paused. before,
    after: see `Language.in_force`.
    """
    was, now = differing(before, after)
    if not now:
        return MachineError(
            f"the machine no longer says that it has '{was}' in force: that may have been changed "
            "while it was paused",
            fix="See that its zero is where it was; then: plotout resume",
        )
    return MachineError(
        f"what the machine has in force was changed while it was paused, from '{was}' to '{now}'",
        fix="If its zero was moved, what is still to do would lie elsewhere: move it back, unless "
        "that is wanted. What only holds until a reset, as a tool's length may, has ended with "
        "this stop: set it so that it lasts. The rest is set anew by: plotout resume",
    )


def uncertain(state: Exchange) -> MachineError:
    """Return the error for answers that are missing: they were lost on the line, or what they are
    to was; since when, nobody knows.
    """
    state.is_unsure()
    return MachineError(
        "answers of the machine are missing, or lines to it were lost: it is not certain what it "
        "has done",
        fix=f"Check the cable and the speed, and look at the sheet; {IF_RESET}; then: plotout "
        "resume",
        place=Place(file=state.file.path),
    )


def garbled(state: Exchange, text: str) -> MachineError:
    """Return the error for a damaged message that can't be sent again."""
    state.loses_count()
    return MachineError(
        f"a line arrived garbled, and the machine asks for it again ('{text}')",
        fix="Check the cable and the speed; then: plotout resume",
        place=Place(file=state.file.path),
    )
