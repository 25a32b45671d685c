"""Only one piece is wrong: mirrored, or with two edges' names exchanged. No right one is blamed.

A facing that is sewn to a bib alone, on three sides, contradicts it as much as the bib the facing:
by topology.
"""

from dataclasses import replace
from itertools import combinations

import pytest

from .test_joined_ways import RIGHT, a_set, found_in

APRON = """Skirt: hem right waist left; Bib: foot right top left; Band: foot right top left;
    Facing: foot right top left; Lining: foot right top left |
    waist: Band foot = Skirt -waist; bib: Band top = Bib -foot; right: Facing right = Bib right;
    left: Facing left = Bib left; top: Facing top = Bib top; under: Lining foot = Band foot;
    one: Lining left = Band left; other: Lining right = Band right;
    inner: Lining top = Facing -foot"""
SETS = {**RIGHT, "apron": APRON}


def mirrored(piece):
    return replace(piece, edges=piece.edges[::-1])


def exchanged(piece):
    """Yield the piece with the names of two of its edges in each other's place."""
    for low, high in combinations(range(len(piece.edges)), 2):
        names = [edge.name for edge in piece.edges]
        names[low], names[high] = names[high], names[low]
        named = zip(piece.edges, names, strict=True)
        yield replace(piece, edges=tuple(replace(edge, name=name) for edge, name in named))


@pytest.mark.parametrize("name", SETS)
def test_no_right_piece_is_called_mirrored(name):
    made = a_set(SETS[name])
    assert not found_in(made).pieces
    for index, piece in enumerate(made.pieces):
        for wrong in (mirrored(piece), *exchanged(piece)):
            pieces = (*made.pieces[:index], wrong, *made.pieces[index + 1 :])
            assert set(found_in(made.with_pieces(pieces)).pieces) <= {piece.name}


@pytest.mark.parametrize(("wrong", "partner", "seam"), [
    ("Facing", "Bib", "right"), ("Bib", "Facing", "right"), ("Lining", "Band", "under"),
])  # fmt: skip
def test_where_either_of_two_may_be_mirrored_both_are_named(wrong, partner, seam):
    made = a_set(APRON)
    pieces = (mirrored(piece) if piece.name == wrong else piece for piece in made.pieces)
    found = found_in(made.with_pieces(tuple(pieces)))
    (name,) = found.seams
    (fault,) = found.seams[name]
    assert (
        f"one of '{partner}' and '{wrong}'" in fault or f"one of '{wrong}' and '{partner}'" in fault
    )
    assert name == seam
