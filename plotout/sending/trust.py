"""How far a machine's answers can be trusted to show what is done."""

from __future__ import annotations

from dataclasses import dataclass, field

from plotout.sending.talk import form


@dataclass(slots=True)
class Trust:
    """What may make the answers of a machine untrue, and what was done before that.

    adrift: it was reset or had an error, so its answers no longer show what is done. strange: its
    words that may be a greeting, until it is seen that nothing was lost; harmless: the forms of
    those that were none, see `form`. sure: what was done before what is in doubt, until that is
    seen: answers that follow a reset are to what reached the machine since. proven: what was done
    when its answers and its place were last in step; doubtful: they are no more. kept: what was
    done when it was last seen not to have been initialized. renewal: it has told that its file
    initialized it, so it would tell that of a reset too.
    """

    adrift: bool = False
    strange: str = ""
    harmless: set[str] = field(default_factory=set)
    sure: int | None = None
    proven: int = 0
    kept: int = 0
    doubtful: bool = False
    renewal: bool = False

    def wonders_at(self, words: str, done: int) -> None:
        """Take words that may be a greeting. done: units counted until then."""
        self.strange = words
        self.sure = done if self.sure is None else self.sure

    def was_harmless(self, words: str) -> None:
        """Note that words were no greeting; others may have come since."""
        self.harmless.add(form(words))
        self.strange = "" if form(self.strange) == form(words) else self.strange
        self.sure = self.sure if self.strange else None

    def is_unsure(self) -> None:
        """Note that answers are missing: only what was counted while none was is certain."""
        self.doubtful = True
        self.sure = self.proven if self.sure is None else min(self.sure, self.proven)

    def of(self, done: int) -> int:
        """Return how many of the units that were counted are certain to be done."""
        return done if self.sure is None else min(done, self.sure)
