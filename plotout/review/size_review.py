"""Checks a set in all its sizes: what matches in one must match in all."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from plotout.errors import in_context
from plotout.pattern.drift import drifting
from plotout.pattern.model import PatternSet
from plotout.review.whole_set import Review, review, with_cards

_FIGURE = re.compile(r"-?\d[\d.]*")


@dataclass(frozen=True, slots=True)
class SizeReview:
    """What was found, size by size, in the range's order.

    faults, notes: of sizes other than the base, each once, with its sizes, in words; faults also of
    seams that can't match in all, which `drifting` names.
    """

    reviews: Mapping[str, Review]
    faults: tuple[str, ...]
    notes: tuple[str, ...]
    drifting: frozenset[str]


class _Finding(NamedTuple):
    """What is wrong with a subject: the same `kind` in other sizes, with other figures, is one.

    again: reported for other sizes even if the base has it too, since its figures change.
    """

    subject: str
    kind: str
    words: str
    again: bool = False


def review_sizes(
    sizes: Sequence[str], base: str, found: Review, sets: Mapping[str, PatternSet]
) -> SizeReview:
    """Look at a set and its cards in every size. found: of its base size; sets: by size.

    Raises UserError for a size that can't be walked or made at all.
    """
    reviews: dict[str, Review] = {}
    for size in sizes:
        with in_context(f"in size {size}"):
            reviews[size] = found if size == base else with_cards(review(sets[size]), sets[size])
    drifts = drifting({size: found.seams for size, found in reviews.items()})
    never = [f"seam '{name}': {words}" for name, words in drifts.items()]
    faults = (*_in_words(reviews, base, _faults), *never)
    return SizeReview(reviews, faults, tuple(_in_words(reviews, base, _notes)), frozenset(drifts))


def _in_words(
    reviews: Mapping[str, Review], base: str, found_in: Callable[[Review], Iterator[_Finding]]
) -> Iterator[str]:
    """Give the findings of sizes other than the base, which is reported by itself.

    Each finding is reported once, with the sizes in which it is so, as the nearest of them has it.
    What the base has too is reported again only for seams and truings, whose figures change.
    """
    order = list(reviews)
    found = {
        size: {(one.subject, one.kind): one for one in found_in(review)}
        for size, review in reviews.items()
    }
    for key in dict.fromkeys(key for keys in found.values() for key in keys):
        wrong = {size: keys[key] for size, keys in found.items() if size != base and key in keys}
        if not wrong:
            continue
        one = wrong[min(wrong, key=lambda size: abs(order.index(size) - order.index(base)))]
        if one.again or key not in found[base]:
            yield f"{one.subject} {_where(list(wrong), order, base)}: {one.words}"


def _notes(found: Review) -> Iterator[_Finding]:
    """Give the findings of a size, by piece or seam."""
    return map(_as_finding, found.notes)


def _faults(found: Review) -> Iterator[_Finding]:
    """Give every seam and truing that fails in a size, and how; then what is wrong with pieces."""
    for seam in found.seams:
        for fault in seam.faults:
            yield _Finding(f"seam '{seam.name}'", _FIGURE.sub("", fault), fault, again=True)
    measured = {f"seam '{seam.name}': {fault}" for seam in found.seams for fault in seam.faults}
    for piece in found.pieces:
        for result in piece.trued:
            if result.wrong:
                what = f"{piece.name}: {result.kind} of {' and '.join(result.edges)}"
                measured.add(f"{piece.name}: {result}")
                yield _Finding(what, "", f"{result.after:.2f} mm off", again=True)
    yield from map(_as_finding, (fault for fault in found.faults if fault not in measured))


def _as_finding(text: str) -> _Finding:
    subject, _, words = text.partition(": ")
    return _Finding(subject, _FIGURE.sub("", words), words)


def _where(wrong: Sequence[str], order: Sequence[str], base: str) -> str:
    """Return in words the sizes in which something fails, counted outwards from the base."""
    larger = [size for size in order[order.index(base) + 1 :] if size in wrong]
    smaller = [size for size in order[: order.index(base)] if size in wrong]
    parts = []
    if larger:
        whole = order[order.index(larger[0]) :]
        alone = f"from size {larger[0]} up" if len(whole) > 1 else f"in size {larger[0]}"
        parts.append(alone if larger == whole else f"in size {', '.join(larger)}")
    if smaller:
        whole = order[: order.index(smaller[-1]) + 1]
        alone = f"from size {smaller[-1]} down" if len(whole) > 1 else f"in size {smaller[-1]}"
        parts.append(alone if smaller == whole else f"in size {', '.join(smaller)}")
    return " and ".join(parts)
