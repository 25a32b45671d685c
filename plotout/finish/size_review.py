"""Checks a set in all its sizes: what matches in one must match in all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from plotout.finish.review import Review, review
from plotout.pattern.model import PatternSet


@dataclass(frozen=True, slots=True)
class SizeReview:
    """What was found, size by size, in order. faults: in words, with their sizes."""

    reviews: Mapping[str, Review]
    faults: tuple[str, ...]


def review_sizes(sizes: Sequence[str], base: str, read: Callable[[str], PatternSet]) -> SizeReview:
    """Check a set in every size, as `read(size)` gives it.

    Raises UserError for a size that can't be made or walked at all.
    """
    reviews = {size: review(read(size)) for size in sizes}
    return SizeReview(reviews, tuple(_faults(reviews, base)))


def _faults(reviews: Mapping[str, Review], base: str) -> Iterator[str]:
    """Give the mismatches in sizes other than the base, which is reported separately.

    A seam or truing is reported once, with the sizes in which it fails and the figures of the size
    nearest to the base.
    """
    order = list(reviews)
    for subject in dict.fromkeys(name for one in reviews.values() for name, _ in _subjects(one)):
        wrong = {
            size: fault
            for size, one in reviews.items()
            if size != base and (fault := dict(_subjects(one)).get(subject))
        }
        if wrong:
            nearest = min(wrong, key=lambda size: abs(order.index(size) - order.index(base)))
            yield f"{subject} {_where(list(wrong), order, base)}: {wrong[nearest]}"


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
