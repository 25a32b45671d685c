"""Bindings and bellows cut twice for one edge. That neither has layers, but a collar, a stand on
the bias and a band have, is common practice, from memory.
"""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam

BODY = (0, 0), (250, 0), (250, 560), (80, 590), (0, 500)
NAMES = "foot side shoulder neck fold"


def strip(name, count, more=""):
    points = (0, 0), (481.66, 0), (481.66, 40), (0, 40)
    return piece(name, points, "near end far start", 0.0, more, f"count = {count}")


def asked(*parts):
    return [note for note in review(read(*parts)).notes if "has one layer" in note]


def bound(name, count, *more):
    around = (
        f'[[seam]]\nname = "neck"\nfirst = {{ piece = "{name}", edges = "near" }}\nsecond = '
        '[{ piece = "Front", edges = ["-neck"] }, { piece = "Back", edges = ["neck"] }]\n'
    )
    return asked(
        *(piece(one, BODY, NAMES, 90.0, FOLD) for one in ("Front", "Back")),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        strip(name, count, "bias = true\n"),
        around,
        *more,
    )


@pytest.mark.parametrize("name", ["Neck binding", "Hals Einfassung"])
@pytest.mark.parametrize("count", [1, 2])
def test_two_bindings_for_one_neck_are_asked_about(name, count):
    assert bound(name, count) == (count > 1) * [
        f"{name}: 2 are cut of it, but seam 'neck' takes only 1, and a binding has one layer: is "
        "its count right, or is the rest sewn elsewhere?"
    ]


def test_so_are_two_bindings_of_which_the_ends_are_sewn_to_each_other():
    ends = '[[seam]]\nname = "ends"\nfirst = { piece = "Neck binding", edges = "end" }\n'
    ends += 'second = { piece = "Neck binding", edges = "-start" }\n'
    (note,) = bound("Neck binding", 2, ends)
    assert "but seam 'neck' takes only 1" in note
    assert bound("Neck binding", 1, ends) == []


def test_a_stand_on_the_bias_may_have_two_layers():
    assert bound("Stand", 2) == []


@pytest.mark.parametrize(("pockets", "bellows", "told"), [(1, 2, 1), (1, 1, 0), (2, 2, 0)])
def test_two_bellows_for_one_pocket_are_asked_about(pockets, bellows, told):
    pocket = (0, 0), (121.66, 0), (121.66, 180), (0, 180)
    found = asked(
        piece("Pocket", pocket, "low right top left", cut=f"count = {pockets}"),
        strip("Bellows", bellows),
        seam("Bellows near", "Pocket left low right"),
    )
    assert len(found) == told


def test_a_gusset_between_both_bodies_of_a_bag_is_not():
    body = (0, 0), (121.66, 0), (121.66, 180), (0, 180)
    found = asked(
        piece("Body", body, "low right top left", cut="count = 2"),
        strip("Gusset", 1),
        seam("Gusset near", "Body left low right"),
        seam("Gusset -far", "Body left low right"),
    )
    assert found == []
