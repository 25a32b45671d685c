"""A facing that is sewn to its parent by another edge, or from the other end, than its own.

A facing is cut along its parent's edges, so each of its edges lies on one of those: by making.
"""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set

from plotout.pattern.model import Cut, Derivation, Derive, Edge, Piece, Seam, Side
from plotout.review.whole_set import review

FRONT = [[0, 0], [240, 0], [240, 300], [200, 480], [90, 500], [0, 300], [0, 0]]
NAMES = ("hem", "side", "armhole", "shoulder", "neck", "edge")
ALONG = ("neck", "edge")


def front(pair=True):
    """Half the front of a vest, with a slanting neck."""
    corners = np.array(FRONT, dtype=float)
    edges = (Edge(name, corners[k : k + 2], (10.0, 10.0)) for k, name in enumerate(NAMES))
    grain = np.array([[60.0, 60.0], [60.0, 280.0]])
    return Piece("Front", tuple(edges), cuts=(Cut("self", pair=pair),), grain=grain)


def derived(name, how=Derive.FACING, of="Front", pair=True):
    plan = Derivation(how, along=ALONG if how is Derive.FACING else (), width=50.0)
    return Piece(name, (), cuts=(Cut("self", pair=pair),), parent=of, derive=plan)


def side(*edges):
    return Side(tuple((of, edge.lstrip("-"), edge.startswith("-")) for of, edge in edges))


def asked(pieces, first, second):
    found = review(a_set(*pieces, seams=(Seam("facing", side(*first), side(*second)),)))
    # edges in another order than round the piece are a fault, too
    assert bool(found.faults) == (tuple(first) == of("Facing", OWN[::-1]))
    return [note for note in found.notes if "follow one drawing" in note]


OWN = (("Front", "neck"), ("Front", "edge"))
BACKWARDS = (("Front", "-edge"), ("Front", "-neck"))


def of(piece, steps):
    return tuple((piece, edge) for _, edge in steps)


@pytest.mark.parametrize(
    ("first", "second", "count"),
    [
        (OWN, OWN, 0),
        (BACKWARDS, BACKWARDS, 0),
        (OWN[:1], OWN[:1], 0),
        (BACKWARDS, OWN, 1),
        (OWN, BACKWARDS, 1),
        (OWN[::-1], OWN, 1),  # its edges in the other order, which is as long
        (BACKWARDS[1:], OWN[:1], 1),
    ],
)
@pytest.mark.parametrize("pair", [True, False])
def test_a_facing_meets_its_parent_from_the_same_end(first, second, count, pair):
    pieces = front(pair), derived("Facing", pair=pair)
    found = asked(pieces, of("Facing", first), second)
    assert len(found) == count
    if count:
        assert found[0].startswith("seam 'facing': 'Facing' and 'Front' follow one drawing")


@pytest.mark.parametrize(("first", "count"), [(OWN, 0), (BACKWARDS, 1)])
def test_a_facing_meets_a_lining_of_the_same_parent_so_too(first, count):
    pieces = front(), derived("Facing"), derived("Lining", Derive.LINING)
    assert len(asked(pieces, of("Facing", first), of("Lining", OWN))) == count


def strip(pair):
    corners = np.array([[0, 0], [300, 0], [300, 60], [0, 60], [0, 0]], dtype=float)
    names = ("sewn", "end", "free", "start")
    edges = (Edge(name, corners[k : k + 2], (10.0, 10.0)) for k, name in enumerate(names))
    grain = np.array([[40.0, 30.0], [260.0, 30.0]])
    return Piece("Upper", tuple(edges), cuts=(Cut("self", pair=pair),), grain=grain)


def test_a_copy_that_is_the_same_turned_over_is_sewn_from_either_end():
    under = derived("Under", Derive.COPY, of="Upper", pair=False)
    assert asked((strip(pair=False), under), (("Upper", "free"),), (("Under", "-free"),)) == []


@pytest.mark.parametrize(("pair", "count"), [(True, 1), (False, 0)])
def test_a_copy_of_one_hand_may_be_sewn_turned_round(pair, count):
    """Two of one triangle make a rectangle: the longest side of one to that of the other."""
    again = derived("Again", Derive.COPY, pair=pair)
    assert len(asked((front(pair), again), (("Again", "-side"),), (("Front", "side"),))) == count


def test_edges_of_the_parent_sewn_to_other_edges_of_the_copy_are_no_slip():
    """Panels of a skirt, each a copy of the first: the right of one to the left of the next."""
    again = derived("Next", Derive.COPY, of="Upper", pair=False)
    made = strip(pair=False), replace(again, name="Next")
    assert asked(made, (("Upper", "end"),), (("Next", "-start"),)) == []
