"""Seams that contradict each other: a side, a piece of a chain or a whole piece runs backwards.

Of all ways to turn one thing over, the one that lets the most corners lie apart again is reported;
a set whose corners can't lie further apart is right (`pattern/meetings.py`). A fold or a front that
meets none then, either way, is the wrong edge of its piece.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import accumulate, combinations, pairwise

from plotout.errors import quoted
from plotout.pattern.meetings import Corner, Member, Sewn, cost, of_one_piece, whole_turned
from plotout.review.joined_words import (
    Misplaced,
    exchanged,
    joint,
    misplaced_ends,
    of_one,
    of_several,
    of_together,
    opposite,
    order,
    still_apart,
)
from plotout.review.mirrored_pieces import as_well, mirrored, one_of, pieces_of, seams_with
from plotout.review.turned_together import turned_together

MOST = 200  # seams: of more, their directions are not compared
_ENOUGH = 3  # seams of a piece that run the wrong way: then the piece itself is mirrored


@dataclass(frozen=True, slots=True)
class WrongWays:
    """What contradicts: words by seam, and by piece. asked: the same, where it is only likely."""

    seams: dict[str, list[str]] = field(default_factory=dict)
    pieces: dict[str, str] = field(default_factory=dict)
    asked: dict[str, list[str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Change:
    """One thing turned over. seam: its name, or "" for a whole piece, which is then named."""

    seams: tuple[Sewn, ...]
    seam: str
    words: str
    piece: str = ""


def wrong_ways_joined(seams: Sequence[Sewn]) -> WrongWays:
    """Return the seams and pieces that must run the other way for all seams to fit together."""
    return _judged(tuple(seams))


@lru_cache(maxsize=4)
def _judged(seams: tuple[Sewn, ...]) -> WrongWays:
    """Return what is wrong of these seams. The sizes of a set are mostly sewn alike."""
    found = WrongWays()
    for group in _connected(seams) if len(seams) <= MOST else ():
        _judge(group, found)
    return found


def _judge(seams: tuple[Sewn, ...], found: WrongWays) -> None:
    """Add what is wrong of seams that share pieces.

    Whole pieces sewn to halves may take their left and their right in one place. So the seams of
    the halves alone, and those of the wholes alone, are judged first; what only shows in all of
    them together is but asked about.
    """
    members = [member for seam in seams for side in seam.sides for member in side]
    if not (any(m.half for m in members) and any(m.single for m in members)):
        settled, _ = _settle(seams, found, sure=True)
        _ask_together(settled, found)
        return
    for other in ("single", "half"):
        alone = [seam for seam in seams if not _has(seam, other)]
        settled, over = _settle(alone, found, sure=True)
        right = {seam.name: seam for seam in settled}
        for piece in over:
            rest = (seam for seam in seams if seam.name not in right)
            right.update({seam.name: mirrored(seam, piece) for seam in rest})
        seams = tuple(right.get(seam.name, seam) for seam in seams)
    settled, _ = _settle(seams, found, sure=False)
    _ask_together(settled, found)


def _ask_together(seams: Sequence[Sewn], found: WrongWays) -> None:
    """Add the seams that only together contradict the others."""
    choices = turned_together(seams)
    for seam in seams:
        if any(seam.name in names for names in choices):
            found.asked.setdefault(seam.name, []).append(of_together(seam, choices))


def _has(seam: Sewn, kind: str) -> bool:
    return any(getattr(member, kind) for side in seam.sides for member in side)


def _settle(
    seams: Sequence[Sewn], found: WrongWays, *, sure: bool
) -> tuple[tuple[Sewn, ...], list[str]]:
    """Add what is wrong of these seams, the gravest first, then what remains.

    Return them as they should be walked, and the pieces that are mirrored.
    """
    seams, over = tuple(seams), list[str]()
    words_by_seam = found.seams if sure else found.asked
    misplaced = misplaced_ends(seams)
    for _ in range(len(seams)):
        best = _best(seams, misplaced)
        if not best:
            break
        if best[0].piece:
            over.append(best[0].piece)
            _record_piece(best[0], seams, found, sure=sure)
        else:
            names = _alternatives(best)
            for name in names:
                own = [change.words for change in best if change.seam == name]
                words = of_one(own) if len(names) == 1 else of_several(name, names)
                words_by_seam.setdefault(name, []).append(words)
        seams = best[0].seams
    for seam in seams:
        if (seam.crossed or seam.fronts_crossed) and seam.name not in found.seams:
            words_by_seam.setdefault(seam.name, []).append(still_apart(seam))
    return seams, over


def _best(seams: tuple[Sewn, ...], misplaced: Misplaced) -> list[_Change]:
    """Return the changes after which the fewest corners fall together, if fewer than now.

    A whole piece is only blamed where that explains more than any single seam.
    """
    least, best = cost(seams), list[_Change]()
    for change in (*_seam_changes(seams, misplaced), *_piece_changes(seams)):
        now = cost(change.seams)
        if now < least:
            least, best = now, [change]
        elif best and now == least and not change.piece:
            best.append(change)
    return best


def _alternatives(best: Sequence[_Change]) -> list[str]:
    """Return the seams of which any one explains the same: the first change's, and others.

    A change that still helps after the first is a fault of its own, and is found next.
    """
    first, after = best[0], cost(best[0].seams)
    names = [first.seam]
    for change in best[1:]:
        both = [
            other if other.name == change.seam else one
            for one, other in zip(first.seams, change.seams, strict=True)
        ]
        if change.seam not in names and cost(both) >= after:
            names.append(change.seam)
    return names


def _seam_changes(seams: tuple[Sewn, ...], misplaced: Misplaced) -> Iterator[_Change]:
    for at, seam in enumerate(seams):
        met = {corner for s in seams if s is not seam for pair in s.meetings() for corner in pair}
        for turned, words in _turned(seam, met, misplaced):
            yield _Change((*seams[:at], turned, *seams[at + 1 :]), seam.name, words)


def _turned(seam: Sewn, met: Set[Corner], misplaced: Misplaced) -> Iterator[tuple[Sewn, str]]:
    """Yield the seam with one side turned, or changed within a chain, in words.

    met: corners that other seams bring together. Where neither of a joint's is one (at a pleat, at
    a placket), nothing speaks against the joint. misplaced: see `misplaced_ends`.
    """
    for index, side in enumerate(seam.sides):
        joints = [
            bool(met & {before.corner(last=True), after.corner(last=False)})
            for before, after in pairwise(side)
        ]
        for changed, words in (*_members_turned(side, joints), *_pieces_moved(side, joints)):
            yield seam.with_side(index, changed), words
    yield seam.turned, opposite(seam, misplaced)


_Changed = Iterator[tuple[Sequence[Member], str]]


def _members_turned(side: Sequence[Member], joints: Sequence[bool]) -> _Changed:
    """Yield a chain with one member turned, or with both halves of its piece on the fold.

    joints: of every two members, whether another seam joins one of the corners where they meet.
    """
    for at, member in enumerate(side if joints else ()):
        if any(joints[max(at - 1, 0) : at + 1]):
            yield (*side[:at], member.turned, *side[at + 1 :]), joint(side, at, member.turned)
        within = joints[at : at + 1] if member.folds(last=True) else joints[max(at - 1, 0) : at]
        if any(within) and (both := member.over_fold):
            yield (*side[:at], both, *side[at + 1 :]), joint(side, at, both)


def _pieces_moved(side: Sequence[Member], joints: Sequence[bool]) -> _Changed:
    """Yield a chain with all that it goes along on a piece, over darts, turned; with two such parts
    in each other's place; or with all of them in the opposite order. joints: see `_members_turned`.
    """
    parts = of_one_piece(side)
    starts = list(accumulate(map(len, parts), initial=0))
    for at, part in enumerate(parts):
        ends = [place for place in starts[at : at + 2] if 0 < place < len(side)]
        around = [place for place in ends if joints[place - 1]]
        if len(part) > 1 and around:
            back = whole_turned(part)
            yield _joined([*parts[:at], back, *parts[at + 1 :]]), joint(side, around[0], *back)
    if any(joints) and len(parts) > 1 and len(parts) != 3:  # of three, the outer two are exchanged
        yield _joined(parts[::-1]), order(parts)
    for low, high in combinations(range(len(parts)), 2) if len(parts) > 2 and any(joints) else ():
        exchange = list(parts)
        exchange[low], exchange[high] = parts[high], parts[low]
        yield _joined(exchange), exchanged(parts, low, high)


def _joined(parts: Sequence[Sequence[Member]]) -> list[Member]:
    return [member for part in parts for member in part]


def _piece_changes(seams: tuple[Sewn, ...]) -> Iterator[_Change]:
    """Yield the seams with each piece that enough of them have turned in all of them."""
    for piece in dict.fromkeys(name for seam in seams for name in pieces_of(seam)):
        if len(seams_with(piece, seams)) >= _ENOUGH:
            changed = tuple(mirrored(seam, piece) for seam in seams)
            yield _Change(changed, "", "", piece)


def _record_piece(change: _Change, seams: Sequence[Sewn], found: WrongWays, *, sure: bool) -> None:
    others = as_well(change.piece, seams)
    own = seams_with(change.piece, seams)
    names = [seam.name for seam in own]
    if sure and others:
        shared = next(seam.name for seam in own if set(others) & set(pieces_of(seam)))
        names.remove(shared)
        found.seams.setdefault(shared, []).append(one_of([change.piece, *others], names))
    elif sure:
        found.pieces[change.piece] = (
            f"it runs the wrong way in all its seams, {quoted(names)}: its drawing is probably "
            "mirrored, or its columns x and y are swapped"
        )
    who = " or ".join(quoted([name]) for name in (change.piece, *others))
    for name in names:
        why = f"{who} runs the wrong way in it, as in all its seams"
        found.asked.setdefault(name, []).append(why)


def _connected(seams: Sequence[Sewn]) -> list[tuple[Sewn, ...]]:
    """Return the seams in groups that share no piece."""
    groups: list[list[Sewn]] = []
    for seam in seams:
        mine = [
            group
            for group in groups
            if any(set(pieces_of(seam)) & set(pieces_of(s)) for s in group)
        ]
        groups = [group for group in groups if group not in mine]
        groups.append([*(s for group in mine for s in group), seam])
    return [tuple(sorted(group, key=list(seams).index)) for group in groups]
