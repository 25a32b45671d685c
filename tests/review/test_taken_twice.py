"""A cushion's zip strip on the wrong edge of its top: found by counting, and by topology.

Top and bottom are of 450 x 420 mm; the strip is 420 + 450 + 420 = 1290 mm long, so that no length
shows it. What is sewn twice on purpose (piping, a lining) is common practice, from memory.
"""

import pytest

from plotout.review.taken_twice import taken_twice

from .test_own_edge_doubts import made_of, piece, seam

TWO, ONE = "count = 2", "count = 1"


def top(deep=420, cut=TWO, more=""):
    points = [[0, 0], [450, 0], [450, deep], [0, deep]]
    return piece("Top", points, "front right rear left", cut, more)


def strip(name, long, cut, edges="low a high b", tall=80):
    points = [[0, 0], [long, 0], [long, tall], [0, tall]]
    return piece(name, points, edges, cut, grain="[[100, 5], [100, 35]]")


LONG, ZIP = strip("Strip", 1290, ONE), strip("Zip", 450, TWO, "edge c zip d", 40)


def asked(*parts):
    made = made_of(*parts)
    return list(taken_twice(made.seams, made))


def cushion(edge, *more, tops=None, ease="0 mm"):
    return asked(
        tops or top(),
        LONG,
        ZIP,
        seam("low", "Top left front right", "Strip low"),
        seam("high", "Top left front right", "Strip high"),
        seam("rear", f"Top {edge}", "Zip edge", ease),
        *more,
    )


def test_a_strip_on_an_edge_of_which_others_take_all_is_asked_about():
    assert cushion("front") == [
        "seam 'rear': it sews 'front' of 'Top', but seams 'low' and 'high' take all that are cut, "
        "and 'rear', as long, is in no seam: is one of them wrong?"
    ]


def test_one_on_the_edge_that_is_left_is_not():
    assert cushion("rear") == []


@pytest.mark.parametrize(
    ("edge", "more", "tops"),
    [
        ("left", (), None),  # 420 mm: its length shows it
        ("front", (), top(cut="count = 4")),  # two layers: each has a strip of its own
        ("front", (seam("piping", "Top rear", "Zip d"),), None),  # none is left
        (
            "front",
            (),
            top(more='edge = { rear = { allowance = "25 mm", corner = "turned back" } }\n'),
        ),  # a hem
    ],
)
def test_what_may_be_so_is_not(edge, more, tops):
    assert cushion(edge, *more, tops=tops) == []


def test_a_skirt_between_its_band_and_its_lining_is_not():
    """Waist and hem of a gathered skirt are as long, and only the hem is free."""
    skirt = piece("Skirt", [[0, 0], [450, 0], [450, 600], [0, 600]], "foot a waist b", TWO)
    found = asked(
        skirt,
        strip("Band", 450, TWO),
        strip("Lining", 450, TWO, "top e low f", 550),
        seam("side", "Skirt a", "Skirt -b"),
        seam("waist", "Skirt waist", "Band low"),
        seam("lining", "Skirt waist", "Lining top"),
    )
    assert found == []


@pytest.mark.parametrize(("ease", "told"), [("0 mm", 0), ("5 mm", 1)])
def test_an_edge_is_as_long_within_the_ease_of_the_seam(ease, told):
    """By Pythagoras the rear edge is 454 mm long: hypot(450, 60) = 453.98."""
    points = [[0, 0], [450, 0], [450, 420], [0, 480]]
    slanted = piece("Top", points, "front right rear left", TWO)
    assert len(cushion("front", tops=slanted, ease=ease)) == told


def test_a_shell_and_its_lining_are_counted_by_themselves():
    """Two of each cloth are no four of one."""

    def lined(part):
        cut = part[part.index("cut = [") : part.index("\n", part.index("cut = ["))]
        order = cut.removeprefix("cut = [").removesuffix("]")
        return part.replace(cut, f"cut = [{order}, {order.replace('self', 'lining')}]")

    parts = [lined(part) for part in (top(), LONG, ZIP)]
    seams = [
        seam("low", "Top left front right", "Strip low"),
        seam("high", "Top left front right", "Strip high"),
    ]
    assert asked(*parts, *seams, seam("rear", "Top rear", "Zip edge")) == []
    (note,) = asked(*parts, *seams, seam("rear", "Top front", "Zip edge"))
    assert "seams 'low' and 'high' take all that are cut, and 'rear'" in note
