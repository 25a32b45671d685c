"""What a set file says of its sizes that may not have been meant: noted, never put right."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from statistics import median

from plotout.pattern.grade_spec import Sizes
from plotout.pattern.growth import Growth
from plotout.pattern.spec import SetFile

_LETTERS = re.compile(r"(\d*)(X*)([SL])", re.IGNORECASE)  # XS, S, L, XL, XXL, 3XL: common practice
_FIGURE = re.compile(r"\d+(?:[.,]\d+)?")
_LEAST = 1e-6  # mm
_FEW = (
    5.0  # mm: a foot's length grows by 6.7 from one size to the next (Paris points), a chest by 20
)
_SEVERAL = 3  # measurements: one or two may be small parts of a body
_MOST = 150.0  # mm: children's heights grow by 120 from one double size to the next


def growth_doubts(set_file: SetFile) -> Iterator[str]:
    """Yield sizes that contradict each other, and growths that turn back or are far too large."""
    sizes = set_file.sizes
    if sizes is None:
        return
    if (named := set_file.head.size) != sizes.base and named in sizes.range:
        yield (
            f"[set] names size {named}, but [sizes] grows the drawing from size {sizes.base}: "
            "which size was drawn?"
        )
    yield from _order(sizes.range)
    yield from _against_the_rest(sizes)
    yield from _hardly_any(sizes)
    for what, growth in _growths(set_file, sizes):
        if growth is not None and growth.listed:
            yield from _to_and_fro(what, growth.listed, sizes.range)
        if growth is not None and (most := max(map(abs, _steps(growth)), default=0.0)) > _MOST:
            yield f"{what} changes by {most:g} mm from one size to the next: is its unit right?"


def _against_the_rest(sizes: Sizes) -> Iterator[str]:
    """Yield the measurement that shrinks from each size to the next, while all others grow."""
    ways = {measure.name: _way(measure.grows) for measure in sizes.measure}
    shrinking = [name for name, way in ways.items() if way < 0]
    growing = [name for name, way in ways.items() if way > 0]
    if len(shrinking) == 1 and growing and len(growing) + 1 == len(ways):
        others = "the others grow" if len(growing) > 1 else f"'{growing[0]}' grows"
        yield (
            f"measurement '{shrinking[0]}' shrinks from each size to the next, while {others}: "
            "is its sign right?"
        )


def _hardly_any(sizes: Sizes) -> Iterator[str]:
    """Yield the growth of measurements of which none grows as a body does: cm may be meant."""
    steps = {measure.name: median(map(abs, _steps(measure.grows) or [0.0]))
             for measure in sizes.measure}  # fmt: skip
    name = max(steps, key=lambda name: steps[name], default="")
    growing = [step for step in steps.values() if step > _LEAST]
    if len(growing) >= _SEVERAL and steps[name] < _FEW:
        yield (
            f"measurement '{name}' changes by only {steps[name]:.2g} mm from one size to the next, "
            "and the others by less: is their unit right?"
        )


def _way(growth: Growth) -> int:
    """Return 1 for a growth that only grows with the sizes, -1 for one that shrinks, else 0."""
    signs = {1 if step > 0.0 else -1 for step in _steps(growth) if abs(step) > _LEAST}
    return signs.pop() if len(signs) == 1 else 0


def _steps(growth: Growth) -> list[float]:
    """Return the changes from size to size, mm, as far as they are known without measurements."""
    if growth.term is not None:
        return [0.0 if growth.measures else growth.at(1, 0, {})]
    return [after - before for before, after in pairwise(growth.listed)]


def _growths(set_file: SetFile, sizes: Sizes) -> Iterator[tuple[str, Growth | None]]:
    for measure in sizes.measure:
        yield f"measurement '{measure.name}'", measure.grows
    for rule in set_file.rules:
        yield f"rule '{rule.name}', x", rule.x
        yield f"rule '{rule.name}', y", rule.y
    for piece in set_file.pieces:
        for point in piece.grades:
            yield f"{piece.name}: the grade point on line {point.place.line}, x", point.x
            yield f"{piece.name}: the grade point on line {point.place.line}, y", point.y


def _order(sizes: Sequence[str]) -> Iterator[str]:
    for size, after in pairwise(sizes):
        (kind, rank), (next_kind, next_rank) = _rank(size), _rank(after)
        if kind == next_kind and next_rank < rank:
            yield f"size {after} comes after size {size} in the range: is that their order?"


def _rank(size: str) -> tuple[str, tuple[float, ...]]:
    """Return what kind of name a size has, and its place among those of the kind.

    Letters are one kind; else names are alike that differ in their figures only: 3Y and 4Y, 3-4
    and 5-6, 30/32 and 32/32.
    """
    if size.upper() == "M":
        return "letters", (0.0,)
    letters = _LETTERS.fullmatch(size)
    if letters:
        count, crosses, end = letters.groups()
        beyond = 1.0 + (float(count) if count and crosses else len(crosses))
        return "letters", (beyond if end.upper() == "L" else -beyond,)
    figures = tuple(float(figure.replace(",", ".")) for figure in _FIGURE.findall(size))
    return " ".join(_FIGURE.sub("#", size).split()).casefold(), figures


def _to_and_fro(what: str, at: Sequence[float], sizes: Sequence[str]) -> Iterator[str]:
    """Yield where a growth turns back: measurements that do are nearly always slips of the pen."""
    steps = [after - before for before, after in pairwise(at)]
    changes = [step for step in steps if abs(step) > _LEAST]
    if not changes or all((step > 0.0) == (changes[0] > 0.0) for step in changes):
        return
    up = sum(step > 0.0 for step in changes) * 2 >= len(changes)
    odd = next(k for k, step in enumerate(steps) if abs(step) > _LEAST and (step > 0.0) != up)
    does = "shrinks" if steps[odd] < 0.0 else "grows"
    yield (
        f"{what} {does} by {abs(steps[odd]):g} mm from size {sizes[odd]} to {sizes[odd + 1]}, "
        f"unlike from other sizes to the next: is that meant?"
    )
