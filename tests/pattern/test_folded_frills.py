"""Frills that are themselves cut on the fold, several to a skirt on the fold of 2 x 500 mm.

The references are worked out by hand: beside the skirt's fold lies the fold of a frill if their
number is odd, and the join of two if it is even. `times` counts halves.
"""

from __future__ import annotations

import pytest

from plotout.pattern.walk import walk

from .conftest import Build, rectangle

SET = """
[[piece]]
name = "Frill"
from = { file = "frill" }
edges = ["top", "join", "hem", "fold"]
fold = "fold"
cut = { cloth = "self", count = COUNT, on-fold = true }
[[piece]]
name = "Skirt"
from = { file = "skirt" }
edges = ["hem", "side", "waist", "fold"]
fold = "fold"
cut = { cloth = "self", count = 1, on-fold = true }
[[seam]]
name = "frill"
first = { piece = "Frill", edges = "WAYtop", times = TIMES }
second = { piece = "Skirt", edges = "hem" }
ease = [799, 801]
"""


def sewn(build: Build, half: float, count: int, times: int, way: str = "", notch: str = ""):
    """Return the walked seam and the set. half: mm from a frill's fold to its join."""
    text = SET.replace("COUNT", str(count)).replace("TIMES", str(times)).replace("WAY", way)
    made = build(text + notch, frill=rectangle(half), skirt=rectangle(500))
    return walk(made)[0], made


@pytest.mark.parametrize(
    ("count", "half", "way", "at", "ease", "place"),
    [
        (2, 450, "", 100, 80, 450 - 180),
        (2, 450, "-", 100, 80, 450 - 180),
        (3, 300, "", 100, 80, 180),
        (3, 300, "", 250, 200, 2 * 300 - 450),  # on the second's first half
        (3, 300, "", 450, 300, 750 - 2 * 300),  # on its second half
        (4, 225, "", 100, 80, 225 - 180),
        (4, 225, "-", 100, 80, 225 - 180),
        (4, 225, "", 250, 190, 440 - 225),
    ],
)
def test_a_notch_lies_where_the_frills_follow_each_other_from_the_skirts_fold(
    build: Build, count, half, way, at, ease, place
) -> None:
    """A frill's edge begins at its fold. Up to the notch, at + ease of it are sewn. Each of two
    frills lies along one half of the skirt, with its fold in the middle of it: its other half's
    notch has its partner as far from that half's other end.
    """
    notch = f'[[seam.notch]]\nat = "{at} mm"\nease = "{ease} mm"\n'
    seam, made = sewn(build, half, count, 2 * count, way, notch)
    assert (seam.faults, seam.notes) == ((), ())
    assert [one.along for one in made.piece("Frill").notches] == pytest.approx([place])
    assert [one.along for one in made.piece("Skirt").notches] == pytest.approx(
        [at, 500 - at] if count == 2 else [at]
    )


def test_frills_counted_as_wholes_are_told_how_many_halves_they_are(build: Build) -> None:
    (fault,) = sewn(build, 300, 3, 3)[0].faults
    assert fault.endswith(
        "('times' counts halves of a piece on the fold: times = 6 for 'Frill' is right in length)"
    )
    (fault,) = sewn(build, 310, 3, 3)[0].faults
    assert "halves" not in fault


def test_frills_on_the_fold_along_one_whole_band_are_walked_along_all_of_it(build: Build) -> None:
    """Three of 300 mm to one of 900: its joins are at 300 and 600 mm, by hand."""
    text = SET.replace('fold = "fold"\ncut = { cloth = "self", count = 1, on-fold = true }', "CUT")
    text = text.replace("CUT", 'cut = { cloth = "self", count = 1 }').replace("WAY", "")
    text = text.replace("COUNT", "3").replace("TIMES", "6").replace("ease = [799, 801]\n", "")
    notch = '[[seam.notch]]\nat = "200 mm"\n'
    made = build(text + notch, frill=rectangle(150), skirt=rectangle(900))
    (seam,) = walk(made)
    assert seam.faults == ()
    assert [one.along for one in made.piece("Frill").notches] == pytest.approx([50.0])


def test_more_halves_than_are_cut_are_not_proposed(build: Build) -> None:
    """Two frills on the fold have four halves, and six would be right in length."""
    (fault,) = sewn(build, 300, 2, 3)[0].faults
    assert "halves" not in fault
