"""Which pricks the user means by a number or by a place.

A number says nothing of the reading that it was given in: another photograph, or another version,
may number otherwise. So one on the command line is that of the table which it is written to, where
there is one, and a set gives places.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

from plotout import FloatArray, Place, UserError
from plotout.kit import plain_number
from plotout_photo.corrections import numbers_again
from plotout_photo.found_again import SAME

CLEARLY = 2.0  # times as far as the prick that is meant lies the next, at least


def by_number(
    numbers: Sequence[int], at: FloatArray, earlier: Path | None, name: str
) -> frozenset[int]:
    """Return numbers of an earlier table in those of a new reading, at: (n, 2) mm.

    Without a table they count in the new reading. name: of the choice, for messages. Raises
    UserError for a prick that the table does not hold, or that is not found again.
    """
    if earlier is None or not numbers:
        return frozenset(numbers)
    before, again = numbers_again(earlier, at)
    for number in numbers:
        if number not in before:
            raise UserError(
                f"{name} {number}: there is no prick {number} in the table",
                fix="Its numbers are those beside the pricks in the picture.",
                place=Place(earlier),
            )
        if number not in again:
            x, y = before[number]
            raise UserError(
                f"{name} {number}: prick {number}, near {x:.1f}, {y:.1f} in the table, is not "
                "found again",
                fix=f"Leave out {name} {number}, or give the prick's new number.",
                place=Place(earlier),
            )
    return frozenset(again[number] for number in numbers)


def in_set(said: Sequence[object], at: FloatArray, name: str, path: Path) -> frozenset[int]:
    """Return the numbers, from 1, of the pricks that a set means by places such as "312.4, 88.1".

    at: (n, 2) mm of this reading. Raises UserError for a place with no prick or with several, and
    for a number: a set outlives the reading that it was taken from.
    """
    for one in said:
        if isinstance(one, int) and 1 <= one <= len(at) and not isinstance(one, bool):
            x, y = at[one - 1]
            raise UserError(
                f"{name} = [{one}]: a number alone may stand for another prick when the photo is "
                "read again",
                fix=f"Write the place, x and y in mm. In this reading prick {one} is {name} = "
                f'["{x:.1f}, {y:.1f}"].\n  To see it: plotout pricks {path.name}',
                place=Place(path),
            )
    return frozenset(_at(_place(one, name, path), at, name, path) for one in said)


def _place(said: object, name: str, path: Path) -> FloatArray:
    try:
        x, y = str(said).split(",")
        return np.array([plain_number(x.strip()), plain_number(y.strip())])
    except (TypeError, ValueError) as fault:
        raise UserError(
            f"{name}: '{said}' is not a place",
            fix=f'Write x and y in mm, as in the table: {name} = ["312.4, 88.1"].',
            place=Place(path),
        ) from fault


def _at(place: FloatArray, at: FloatArray, name: str, path: Path) -> int:
    gap, which = cKDTree(at).query(place, k=2)
    x, y = at[which[0]]
    said = f"{name}: near {place[0]:g}, {place[1]:g}"
    if not gap[0] < SAME:
        raise UserError(
            f"{said} there is no prick",
            fix=f"The nearest is at {x:.1f}, {y:.1f}: write that place if it is meant.",
            place=Place(path),
        )
    if gap[1] < CLEARLY * gap[0]:
        other = at[which[1]]
        raise UserError(
            f"{said} there are two pricks",
            fix=f"Write the place of one: {x:.1f}, {y:.1f} or {other[0]:.1f}, {other[1]:.1f}.",
            place=Place(path),
        )
    return int(which[0]) + 1
