"""Checks a set in all its sizes: what matches in one must match in all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from plotout.errors import told_of
from plotout.finish.review import Review, review
from plotout.pattern.model import PatternSet


@dataclass(frozen=True, slots=True)
class SizeReview:
    """What was found, size by size, in the range's order.

    faults, notes: of sizes other than the base, each once, with its sizes, in words.
    """

    reviews: Mapping[str, Review]
    faults: tuple[str, ...]
    notes: tuple[str, ...]


def review_sizes(
    sizes: Sequence[str], base: str, found: Review, others: Mapping[str, PatternSet]
) -> SizeReview:
    """Look at a set in every size. found: of its base size; others: the set in all but that.

    Raises UserError for a size that can't be walked at all.
    """
    reviews: dict[str, Review] = {}
    for size in sizes:
        with told_of(f"in size {size}"):
            reviews[size] = found if size == base else review(others[size])
    return SizeReview(
        reviews, tuple(_in_words(reviews, base, _subjects)), tuple(_in_words(reviews, base, _bent))
    )


def _in_words(
    reviews: Mapping[str, Review],
    base: str,
    subjects: Callable[[Review], Iterator[tuple[str, str]]],
) -> Iterator[str]:
    """Give what is told of sizes other than the base, which is told by itself.

    Each thing is told once, with the sizes in which it is so, as the nearest of them has it.
    """
    order = list(reviews)
    for subject in dict.fromkeys(name for each in reviews.values() for name, _ in subjects(each)):
        wrong = {
            size: told
            for size, each in reviews.items()
            if size != base and (told := dict(subjects(each)).get(subject))
        }
        if wrong:
            nearest = min(wrong, key=lambda size: abs(order.index(size) - order.index(base)))
            yield f"{subject} {_where(list(wrong), order, base)}: {wrong[nearest]}"


def _bent(found: Review) -> Iterator[tuple[str, str]]:
    """Give what growth has made less fair in a size."""
    for piece in found.pieces:
        for curve in piece.unfair:
            yield f"{piece.name}: {curve.what}", curve.told


def _subjects(found: Review) -> Iterator[tuple[str, str]]:
    """Give every seam and truing that fails in a size, and how."""
    for seam in found.seams:
        if seam.faults:
            yield f"seam '{seam.name}'", "; ".join(seam.faults)
    for piece in found.pieces:
        for result in piece.trued:
            if not result.good:
                what = f"{piece.name}: {result.kind} of {' and '.join(result.edges)}"
                yield what, f"{result.after:.2f} mm off"
        for fault in piece.faults:
            yield piece.name, fault


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
