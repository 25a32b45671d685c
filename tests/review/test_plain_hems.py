"""Plain edges between hems that are folded over. That the opening of a bag is finished alike all
round is common practice, from memory.
"""

from dataclasses import replace

import numpy as np
import pytest

from plotout.review.plain_hems import plain_hems
from plotout.review.whole_set import review

from .test_tube_doubts import read, seam

BODY = (0, 0), (380, 0), (380, 420), (0, 420)
DEFAULTS = '[defaults]\nallowance = "10 mm"\n'
HEM = '{ allowance = "40 mm", corner = "turned back" }'


def piece(name, points, edges, more=""):
    return (
        f'[[piece]]\nname = "{name}"\npoints = {[list(map(float, at)) for at in points]}\n'
        f"edges = {edges.split()}\ngrain = {{ from = [20, 20], to = [20, 80] }}\n"
        f'cut = {{ cloth = "self", count = 2 }}\n{more}\n'
    )


def folded(*edges):
    return "".join(f"edge.{edge} = {HEM}\n" for edge in edges)


def asked(*parts):
    return [note for note in review(read(DEFAULTS, *parts)).notes if "lies between" in note]


def bag(body, gusset):
    return (
        piece("Body", BODY, "low right top left", body),
        piece("Gusset", ((0, 0), (1220, 0), (1220, 120), (0, 120)), "near end far start", gusset),
        seam("Gusset near", "Body left low right"),
        seam("Gusset -far", "Body left low right"),
    )


def test_the_plain_top_of_a_bag_between_the_hems_of_its_gusset_is_asked_about():
    (note,) = asked(*bag("", folded("start", "end")))
    assert note == (
        "seam 'Gusset -far': 'top' of 'Body' lies between 'end' of 'Gusset' and 'start' of "
        "'Gusset', which are folded over, but it is not: is its corner right?"
    )


@pytest.mark.parametrize(
    ("body", "gusset"),
    [
        (folded("top"), folded("start", "end")),
        ("", ""),
        ('edge.top = { allowance = "0 mm" }\n', folded("start", "end")),  # bound
    ],
)
def test_hems_that_are_alike_are_not_asked_about(body, gusset):
    assert asked(*bag(body, gusset)) == []


def test_a_flap_stands_out_between_the_hems_of_a_gusset():
    made = read(DEFAULTS, *bag("", folded("start", "end")))
    body = made.piece("Body")
    flap = np.array([(380.0, 420.0), (380.0, 560.0), (190.0, 620.0), (0.0, 560.0), (0.0, 420.0)])
    edges = (replace(e, points=flap) if e.name == "top" else e for e in body.edges)
    flapped = replace(body, edges=tuple(edges))
    assert [*plain_hems(made.seams, made)]
    assert not [*plain_hems(made.seams, made.with_pieces((flapped, made.piece("Gusset"))))]


def test_the_end_of_a_band_meets_one_edge_twice():
    """A waistband of a wrap skirt, whose both long edges are sewn to the waist, and turned."""
    skirt = piece("Skirt", ((0, 0), (800, 0), (800, 600), (0, 600)), "foot side waist open",
                  folded("open", "side"))  # fmt: skip
    band = piece("Band", ((0, 0), (800, 0), (800, 70), (0, 70)), "near end far start")
    both = seam("Band near", "Skirt -waist"), seam("Band far", "Skirt waist")
    assert asked(skirt, band, *both) == []


def test_the_end_of_a_collar_meets_an_opening_that_is_folded_over_at_its_foot_alone():
    front = piece("Front", ((0, 0), (250, 0), (250, 600), (0, 600)), "foot side neck open",
                  folded("open", "foot"))  # fmt: skip
    collar = piece("Collar", ((0, 0), (250, 0), (250, 90), (0, 90)), "neck end top back")
    assert asked(front, collar, seam("Collar neck", "Front -neck")) == []
