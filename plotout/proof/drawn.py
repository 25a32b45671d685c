"""Compares a drawing without an order of work, read back, with the program that was meant."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from typing import TypeVar

import shapely

from plotout.geometry.strokes import FloatArray, Mark, NotchKind, Stroke, Work
from plotout.model import Meaning, Program, Reading, Traced
from plotout.proof.unordered import uncovered, unmatched
from plotout.proof.ways import Way, named, place_of

T = TypeVar("T")
_Kind = tuple[str, str, str, str, str]
"""What a stroke is: its work, mark, kind of notch, layer ("" for the mark's) and card."""


def drawn_wrongly(program: Program, reading: Reading, tolerance: float) -> Iterator[str]:
    """Give in words which lines of a program a drawing lacks, holds elsewhere, or has too many.

    Lines may come in any order and be divided anywhere, within `tolerance` mm. Each must stand
    where its kind does: on its layer, in its group, in its colour or line style, as far as the
    file has them (`Traced.meaning`).
    """
    meant = [
        Way((run,), label) for run, label in zip(program.runs, program.stroke_labels, strict=True)
    ]
    traced = reading.traced
    wanted, drawn = [way.points for way in meant], [line.points for line in traced]
    kinds = [_kind(way.first.stroke) for way in meant]
    meanings = [line.meaning for line in traced]
    fits = cache(partial(_fits, reading.distinguished))

    def may_be(number: int, meaning: Meaning | None) -> bool:
        return fits(kinds[number], meaning)

    left, extra = unmatched(
        wanted, drawn, tolerance, lambda one, other: may_be(one, meanings[other])
    )
    places: dict[int, FloatArray] = {}
    by_meaning = _grouped(range(len(traced)), meanings)
    for kind, numbers in _grouped(left, kinds).items():
        own = [drawn[k] for said, of in by_meaning.items() if fits(kind, said) for k in of]
        found = uncovered([wanted[k] for k in numbers], own, tolerance)
        places.update((numbers[index], place) for index, place in found)
    gone, misplaced = _sorted_out(places, wanted, traced, may_be, tolerance)
    for index in sorted(places):
        name = named(meant[index], index)
        if index in gone:
            yield f"{name} is missing at {place_of(gone[index])}"
        else:
            yield f"{name} is wrongly in {misplaced[index]}, at {place_of(places[index])}"
    by_kind = _grouped(range(len(meant)), kinds)
    for meaning, numbers in _grouped(extra, meanings).items():
        own = [wanted[k] for kind, of in by_kind.items() if fits(kind, meaning) for k in of]
        own += [wanted[k] for k in misplaced]  # reported already
        for _, place in uncovered([drawn[k] for k in numbers], own, tolerance):
            where = f", in {meaning.place}" if meaning else ""
            yield f"a line that was not asked for, at {place_of(place)}{where}"


def _kind(stroke: Stroke) -> _Kind:
    return stroke.work, stroke.mark, stroke.notch or "", stroke.layer, stroke.card


def _fits(distinguished: frozenset[str], kind: _Kind, meaning: Meaning | None) -> bool:
    """Return whether a line that the file says this of can be of the kind."""
    if meaning is None:
        return True
    work, mark, notch, layer, card = kind

    def among(name: str, default: str, possible: frozenset[str] | None) -> bool:
        if possible is None or name in possible:
            return True
        return name not in distinguished and default in possible

    return (
        among(work, Work.DRAW, meaning.works)
        and among(mark, Mark.INTERNAL, meaning.marks)
        and among(notch or NotchKind.SLIT, NotchKind.SLIT, meaning.notches)
        and meaning.layer in (None, layer or mark)
        and meaning.card in (None, card)
    )


def _grouped(numbers: Iterable[int], keys: Sequence[T]) -> dict[T, list[int]]:
    groups: dict[T, list[int]] = {}
    for number in numbers:
        groups.setdefault(keys[number], []).append(number)
    return groups


def _sorted_out(
    places: Mapping[int, FloatArray],
    wanted: Sequence[FloatArray],
    traced: Sequence[Traced],
    fits: Callable[[int, Meaning | None], bool],
    tolerance: float,
) -> tuple[dict[int, FloatArray], dict[int, str]]:
    """Divide lines not found where they belong: those not drawn, and those drawn elsewhere.

    places: where each is not found, by its number. Return a place of each of the former, and what
    the file says of each of the latter there.
    """
    numbers = sorted(places)
    drawn = [line.points for line in traced]
    found = uncovered([wanted[k] for k in numbers], drawn, tolerance)
    gone = {numbers[index]: place for index, place in found}
    shapes = [shapely.LineString(line if len(line) > 1 else line[[0, 0]]) for line in drawn]
    tree = shapely.STRtree(shapes)
    misplaced = {}
    for number in numbers:
        if number not in gone:
            there = shapely.Point(places[number])
            near = tree.query(there, "dwithin", 3.0 * tolerance)
            said = [traced[k].meaning for k in near if not fits(number, traced[k].meaning)]
            misplaced[number] = next((one.place for one in said if one), "another place")
    return gone, misplaced
