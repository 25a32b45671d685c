"""What becomes of notches that can't be cut as asked, in words."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Changes:
    """What becomes of notches, by their words. depths: the least depth, the depth asked, and why.

    others: other changes in words. Of several depths only the last counts, and none of a notch that
    is drawn in the end.
    """

    depths: dict[str, tuple[float, float, str]] = field(default_factory=dict)
    others: dict[str, dict[str, None]] = field(default_factory=dict)

    def depth(self, what: str, deep: float, asked: float, why: str) -> None:
        """Note that a notch is less deep than was asked."""
        before = self.depths.get(what)
        if before is None or deep < before[0]:
            self.depths[what] = deep, max(asked, before[1] if before else 0.0), why

    def other(self, change: str, *whats: str) -> None:
        """Note another change of notches."""
        self.others.setdefault(change, {}).update(dict.fromkeys(whats))

    def left_out(self, change: str, *whats: str) -> None:
        """Note that notches are left out: how deep they would be no longer matters."""
        for what in whats:
            self.depths.pop(what, None)
        self.other(change, *whats)

    def sentences(self) -> list[str]:
        """Return every change with the notches it applies to."""
        changes = {change: list(whats) for change, whats in self.others.items()}
        for what, (deep, asked, why) in self.depths.items():
            if round(deep, 1) == round(asked, 1):
                continue  # the change is not to be seen
            change = f"{deep:.1f} mm deep, not {round(asked, 1):g} mm: {why}"
            changes.setdefault(change, []).append(what)
        return [_sentence(whats, change) for change, whats in changes.items()]


def _sentence(whats: list[str], change: str) -> str:
    """Return a change as a sentence that names the first two notches by their places."""
    if len(whats) == 1:
        return f"{whats[0]} is {change}"
    if len(whats) > 2:
        more = len(whats) - 2
        return f"{whats[0]}, {whats[1]} and {more} other{'s' if more > 1 else ''} are {change}"
    return f"{whats[0]} and {whats[1]} are {change}"
