"""What contradicts in how seams are walked, in words, and how to walk them instead."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence

from plotout.errors import quoted
from plotout.pattern.meetings import Member, Sewn, whole_turned


def joint(side: Sequence[Member], at: int, *right: Member) -> str:
    """Describe where a member of a chain does not fit the one before or after it.

    right: the same as it would fit, in several parts where it goes on over a dart.
    """
    unmet = _unmet_in_chain([[member] for member in side], max(at, 1))
    return f"{unmet}|walk {as_written(*right)}"


Parts = Sequence[Sequence[Member]]


def order(parts: Parts) -> str:
    """Describe where the pieces of a chain do not fit each other in their order.

    parts: its members, those of one piece together.
    """
    return f"{_unmet_in_chain(parts, 1)}|name its pieces in the opposite order"


def exchanged(parts: Parts, low: int, high: int) -> str:
    """Describe where two parts of a chain, in each other's place, do not fit the others."""
    told = f"{_told(parts, high)} and {_told(parts, low)}"
    return f"{_unmet_in_chain(parts, low or 1)}|name {told} in each other's place"


def _unmet_in_chain(parts: Parts, at: int) -> str:
    before, after = parts[at - 1][-1], parts[at][0]
    return (
        f"'{before.piece}' ends beside its '{before.beside(last=True)}', but "
        f"'{after.piece}' begins beside its '{after.beside(last=False)}', and by the "
        "other seams these corners don't meet"
    )


def _told(parts: Parts, at: int) -> str:
    """Return a part of a chain, with its edges where its piece is there twice."""
    piece = parts[at][0].piece
    if sum(part[0].piece == piece for part in parts) == 1:
        return f"'{piece}'"
    edges = quoted(name for member in parts[at] for name in member.walked)
    return f"{edges} of '{piece}'"


Misplaced = Mapping[tuple[str, str], Sequence[str]]
"""By "fold" or "front" and the piece: the seams whose other side has its own at the other end."""


def misplaced_ends(seams: Sequence[Sewn]) -> Misplaced:
    """Return the folds and fronts that don't meet in several seams, and that meet in none."""
    apart: dict[tuple[str, str], list[str]] = defaultdict(list)
    met: set[tuple[str, str]] = set()
    for seam in seams:
        for what, crossed, ends in _ends(seam):
            if not (ends(0) and ends(1)):
                continue
            for index in (0, 1):
                for end in ends(index):
                    key = what, seam.sides[index][0 if end == "start" else -1].piece
                    if crossed:
                        apart[key].append(seam.name)
                    else:
                        met.add(key)
    return {key: names for key, names in apart.items() if len(names) > 1 and key not in met}


def opposite(seam: Sewn, misplaced: Misplaced) -> str:
    """Describe where the sides of a seam do not fit each other as walked."""
    how = as_turned(seam)
    if apart := _apart(seam):
        what, (first, _), (second, _) = apart
        twice = [side.piece for side in (first, second) if (what, side.piece) in misplaced]
        if len(twice) == 1:
            names = quoted(misplaced[what, twice[0]])
            how = (
                f"name another edge as the {what} of '{twice[0]}', which doesn't fit seams {names} "
                f"as it is; or {how}"
            )
        else:
            how += f", or name another edge as the {what} of '{first.piece}' or '{second.piece}'"
    return f"{unmet(seam)}|{how}"


def still_apart(seam: Sewn) -> str:
    """Describe folds or fronts of a seam that don't meet, though it is walked as all else says."""
    apart = _apart(seam)
    assert apart is not None, "only of seams whose folds or fronts don't meet"
    what, (first, _), (second, _) = apart
    return (
        f"{unmet(seam)}; walked the other way, it would contradict the rest of the set: is another "
        f"edge the {what} of '{first.piece}' or '{second.piece}'?"
    )


def unmet(seam: Sewn) -> str:
    """Return what meets at a seam's end that does not belong together."""
    if apart := _apart(seam):
        what, (first, at), (second, there) = apart
        return (
            f"'{first.piece}' has its {what} at the {at} of the seam, but "
            f"'{second.piece}' has its own at the {there}"
        )
    one, other = seam.sides
    return (
        f"'{one[0].piece}' starts beside its '{one[0].beside(last=False)}', but "
        f"'{other[0].piece}' beside its '{other[0].beside(last=False)}', and by the other "
        "seams these corners don't meet"
    )


def _apart(seam: Sewn) -> tuple[str, tuple[Member, str], tuple[Member, str]] | None:
    """Return what doesn't meet, "fold" or "front": of each side, whose it is and at which end."""
    for what, apart, ends in _ends(seam):
        if apart:
            (at, *_), (there, *_) = ends(0), ends(1)
            first, second = (
                side[0 if end == "start" else -1]
                for side, end in zip(seam.sides, (at, there), strict=True)
            )
            return what, (first, at), (second, there)
    return None


def as_turned(seam: Sewn) -> str:
    """Return how to walk one side of a seam the other way: the one that is written more plainly."""
    plainer = min((whole_turned(side) for side in seam.sides[::-1]), key=_signs)
    return f"walk {' then '.join(as_written(member) for member in plainer)}"


def _ends(seam: Sewn) -> Iterator[tuple[str, bool, Callable[[int], Sequence[str]]]]:
    """Yield folds and fronts: whether none meets another, and at which ends of a side they are."""
    yield "fold", seam.crossed, seam.folded
    yield "front", seam.fronts_crossed, seam.fronted


def _signs(side: Sequence[Member]) -> tuple[int, int]:
    """Return the number of a side's pieces, and of its edges with a minus sign."""
    return len(side), sum(back for member in side for _, back in member.steps)


def as_written(*members: Member) -> str:
    """Return how a set file has a member walked, or several of one piece."""
    names = [f'"{"-" * back}{one.edges[edge]}"' for one in members for edge, back in one.steps]
    return f"'{members[0].piece}' as edges = [{', '.join(names)}]"


def of_one(changes: Sequence[str]) -> str:
    """Return one seam's fault, with every way to put it right."""
    parts = [words.split("|") for words in dict.fromkeys(changes)]
    hows = list(dict.fromkeys(how for _, how in parts))
    if len(hows) == 1:
        return f"{parts[0][0]}: {hows[0]}"
    return (
        f"{parts[0][0]}; one of these is right (of a ring, look at where it begins, too: one that "
        f"is turned fits as well): {'; or '.join(hows)}"
    )


def of_several(name: str, names: Sequence[str]) -> str:
    """Return the fault of one of several seams of which any may be wrong."""
    others = " or ".join(f"'{other}'" for other in names if other != name)
    return (
        f"as it is walked, it contradicts seam {others}: corners that one brings together the "
        "other keeps apart; one of them has a side that runs the wrong way"
    )


def of_together(seam: Sewn, choices: Sequence[Sequence[str]]) -> str:
    """Return what to ask of a seam that may run the wrong way together with others.

    choices: the names of the seams that would have to be turned, each choice by itself.
    """
    others = (
        quoted(name for name in names if name != seam.name)
        for names in choices
        if seam.name in names
    )
    how = ", or ".join(f"it and {names}" for names in others)
    return f"{unmet(seam)}; walked the other way, {how} would fit: are they right?"
