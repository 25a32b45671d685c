"""Sides of seams over several pieces, and edges divided where there is no corner: sums by hand."""

from __future__ import annotations

import numpy as np
import pytest

from plotout.errors import UserError
from plotout.geometry.polyline import length
from plotout.pattern.walk import walk

from .conftest import RECTANGLE, Build

NAMES = 'edges = ["hem", "side", "neck", "centre"]\n'
SET = (
    f'[[piece]]\nname = "Front"\nfrom = {{ file = "front" }}\n{NAMES}'
    'cut = [{ cloth = "self", pair = true }]\n'
    f'[[piece]]\nname = "Back"\nfrom = {{ file = "back" }}\n{NAMES}fold = "centre"\n'
    'cut = [{ cloth = "self", on-fold = true }]\n'
    f'[[piece]]\nname = "Collar"\nfrom = {{ file = "collar" }}\n{NAMES}fold = "centre"\n'
    'cut = [{ cloth = "self", on-fold = true }]\n'
    '[[seam]]\nname = "collar"\nfirst = { piece = "Collar", edges = ["-neck"] }\n'
    'second = [{ piece = "Back", edges = ["-neck"] }, { piece = "Front", edges = ["neck"] }]\n'
    "ease = [0, 6]\n[[seam.notch]]\nat = 220\nease = 4\n"
)


def box(wide: float, tall: float = 300.0) -> np.ndarray:
    return np.array([[0, 0], [wide, 0], [wide, tall], [0, tall], [0, 0]], dtype=float)


def test_a_side_goes_over_several_pieces(build: Build) -> None:
    """Back 90 and front 200 mm to a collar of 294, each twice; a notch 130 mm along the front."""
    made = build(SET, front=RECTANGLE, back=box(90.0), collar=box(294.0, 60.0))
    (result,) = walk(made)
    assert (result.first, result.second) == pytest.approx((588.0, 580.0))
    assert (result.first_piece, result.second_piece) == ("Collar", "Back and Front")
    (front,) = made.piece("Front").notches
    assert (front.edge, front.along) == ("neck", pytest.approx(130.0))
    (collar,) = made.piece("Collar").notches  # walked from the fold, with 4 mm of ease up to it
    assert (collar.edge, collar.along) == ("neck", pytest.approx(294.0 - 224.0))
    assert [(s.first, s.second) for s in result.stretches] == [(224.0, 220.0), (70.0, 70.0)]
    assert result.faults == (
        "2.0 mm too long: 588.0 mm of 'Collar' to 580.0 mm of 'Back and Front', ease at most 6 mm",
    )


@pytest.mark.parametrize(
    ("at", "fault"),
    [
        (204.0, ""),  # 90 mm from the fold, where back and front meet
        (200.0, ""),  # 94: 4 mm of ease
        (193.0, "notch 5.0 mm off where 'Back' and 'Front' meet: at 101.0 mm of 'Collar', at "),
        (208.0, "notch 4.0 mm off where 'Back' and 'Front' meet: at 86.0 mm of 'Collar', at "),
        (180.0, "notch 180.0 mm along 'neck' of 'Collar' has no partner"),  # 24 mm past it
    ],
)
def test_a_notch_is_matched_with_the_joint_of_two_pieces(
    build: Build, at: float, fault: str
) -> None:
    """A collar's notch shows the shoulder, though no piece is notched there: its seam is the mark.

    An ease of up to 6 mm may lie anywhere. The notch of the seam has its own partner.
    """
    text = SET.replace("[[seam]]", f'[[piece.notch]]\nedge = "neck"\nat = {at}\n[[seam]]')
    (result,) = walk(build(text, front=RECTANGLE, back=box(90.0), collar=box(294.0, 60.0)))
    told = [text for text in result.faults if "too long" not in text]
    assert [fault in text for text in told[:1]] == ([True] if fault else [])
    joined = [pair for pair in result.notches if pair.second == pytest.approx(90.0)]
    assert len(joined) == (0 if "no partner" in fault else 1)
    assert len(result.stretches) == len(result.notches) + 1


def test_a_side_does_not_run_over_a_fold(build: Build) -> None:
    text = SET.replace(
        '[{ piece = "Back", edges = ["-neck"] }, { piece = "Front", edges = ["neck"] }]',
        '[{ piece = "Back", edges = ["neck"] }, { piece = "Front", edges = ["neck"] }]',
    )
    with pytest.raises(UserError, match="runs over the fold of 'Back', 'centre'") as refused:
        walk(build(text, front=RECTANGLE, back=box(90.0), collar=box(294.0, 60.0)))
    for way in (
        "in another order",
        "the other way",
        "another edge as the fold",
        '["neck", "-neck"]',
    ):
        assert way in refused.value.fix


GORED = """
[[piece]]
name = "Left"
points = [[0, 0], [160, 0], [150, 300], [0, 300]]
edges = ["hem", "inner", "waist", "outer"]
[[piece]]
name = "Gore"
points = [[0, 0], [80, 0], [70, 300], [0, 300]]
edges = ["hem", "side", "waist", "centre"]
fold = "centre"
cut = { cloth = "self", on-fold = true }
[[piece]]
name = "Right"
points = [[-10, 0], [100, 0], [100, 300], [0, 300]]
edges = ["hem", "outer", "waist", "inner"]
[[piece]]
name = "Band"
rectangle = ["390 mm", "60 mm"]
edges = ["sewn", "end", "free", "start"]
[[seam]]
name = "waist"
first = { piece = "Band", edges = ["sewn"] }
second = [{ piece = "Left", edges = ["-waist"] }, { piece = "Gore", edges = GORE }, \
{ piece = "Right", edges = ["-waist"] }]
"""


def test_a_side_goes_over_a_fold_from_half_to_half(build: Build) -> None:
    """By hand: 150 mm of Left, twice 70 of the half gore, 100 of Right, to a band of 390 mm.

    Notches of the band at both joints and at the fold meet those of the card, which is one half.
    """
    notched = GORED + "".join(f"[[seam.notch]]\nat = {at}\n" for at in (150, 220, 290))
    (result,) = walk(build(notched.replace("GORE", '["waist", "-waist"]')))
    assert result.second == pytest.approx(390.0)
    assert (result.faults, result.notes) == ((), ())
    assert [pair.second for pair in result.notches] == pytest.approx([150.0, 220.0, 290.0])


def test_a_notch_on_one_half_of_a_gore_is_on_the_other_too(build: Build) -> None:
    """Cut on the fold, both halves have it: 190 mm along the band there is one, at 250 none."""
    notched = GORED + "[[seam.notch]]\nat = 190\n"
    (result,) = walk(build(notched.replace("GORE", '["waist", "-waist"]')))
    (note,) = result.notes
    assert note == "notch 40.0 mm along 'waist' of 'Gore' has a partner on one half of 'Gore' only"


@pytest.mark.parametrize("edges", ['["waist"]', '["-waist"]', '["-waist", "waist"]'])
def test_half_a_gore_between_panels_is_told_how_to_go_on(build: Build, edges: str) -> None:
    """The drawn half begins at its seam and ends at the fold: so it is walked first."""
    with pytest.raises(UserError, match="runs over the fold of 'Gore', 'centre'") as refused:
        walk(build(GORED.replace("GORE", edges)))
    assert 'edges = ["waist", "-waist"]' in refused.value.fix


DIVIDED = (
    f'[[piece]]\nname = "Front"\nfrom = {{ file = "front" }}\n{NAMES}'
    '[[piece.divide]]\nedge = "neck"\nat = PLACE\ninto = ["neck front", "neck back"]\n'
)


@pytest.mark.parametrize(("place", "first"), [('"40 %"', 80.0), ('60\nfrom = "end"', 140.0)])
def test_an_edge_is_divided_on_a_straight(build: Build, place: str, first: float) -> None:
    piece = build(DIVIDED.replace("PLACE", place), front=RECTANGLE).piece("Front")
    assert [edge.name for edge in piece.edges] == [
        "hem", "side", "neck front", "neck back", "centre"
    ]  # fmt: skip
    assert length(piece.edge("neck front").points) == pytest.approx(first)
    assert length(piece.edge("neck back").points) == pytest.approx(200.0 - first)
    assert (piece.edge("neck front").points[-1] == piece.edge("neck back").points[0]).all()


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (("PLACE", "200"), "can't be divided at 200.0 mm"),
        (('"neck"\nat = PLACE', '"nek"\nat = 50'), "there is no edge 'nek'"),
        (('PLACE\ninto = ["neck front"', '50\ninto = ["hem"'), "would be called 'hem'"),
    ],
)
def test_what_cant_be_divided_is_told(build: Build, change: tuple[str, str], problem: str) -> None:
    with pytest.raises(UserError, match=problem):
        build(DIVIDED.replace(*change), front=RECTANGLE)


@pytest.mark.parametrize(
    "text",
    [
        'notch = [{ edge = "neck", at = 20 }]\n',
        '[[piece.divide]]\nedge = "neck"\nat = 20\ninto = ["a", "b"]\n',
        '[[piece.divide]]\nedge = "neck back"\nat = 20\ninto = ["a", "b"]\n'
        "[piece.edge.neck]\nallowance = 9\n",
        '[[piece]]\nname = "Facing"\ncut = [{ cloth = "self" }]\n'
        'derive = { from = "Front", how = "facing", along = ["neck"], width = 30 }\n',
        '[[seam]]\nname = "s"\nfirst = { piece = "Front", edges = ["neck"] }\n'
        'second = { piece = "Front", edges = ["hem"] }\n',
    ],
    ids=["notch", "divide", "twice", "facing", "seam"],
)
def test_an_edge_that_was_divided_is_told_with_its_parts(build: Build, text: str) -> None:
    """The name is right, and was used: no other is meant."""
    divided = DIVIDED.replace("PLACE", "50")
    at = len(divided) if text.startswith("[") else divided.index("[[piece.divide]]")
    with pytest.raises(UserError, match="no edge 'neck'") as caught:
        walk(build(divided[:at] + text + divided[at:], front=RECTANGLE))
    parts = "'neck front' and 'a' and 'b'" if "neck back" in text[:50] else None
    told = parts or "'neck front' and 'neck back'"
    assert f"'neck' was divided into {told}: name one of them, or both." in caught.value.fix


FRONT, BACK = ("Front", "hem"), ("Back", "-hem")


@pytest.mark.parametrize("begin", range(4))
def test_a_ring_may_begin_at_the_fold_of_a_piece_whose_halves_are_both_named(
    build: Build, begin: int
) -> None:
    """A hem of twice 200 and twice 90 mm to a band of 500: the same from every joint of it."""
    halves = [FRONT, BACK, ("Back", "hem"), ("Front", "-hem")]
    ring = halves[begin:] + halves[:begin]
    named = ", ".join(f'{{ piece = "{piece}", edges = "{edge}" }}' for piece, edge in ring)
    text = SET[: SET.index("[[seam]]")]
    text = text.replace('cut = [{ cloth = "self", pair = true }]',
                        'fold = "centre"\ncut = [{ cloth = "self", on-fold = true }]')  # fmt: skip
    text = text[: text.index('[[piece]]\nname = "Collar"')]
    text += '[[piece]]\nname = "Band"\nrectangle = [500, 60]\ncut = [{ cloth = "self" }]\n'
    text += f'[[seam]]\nname = "ring"\nfirst = [{named}]\n'
    text += 'second = { piece = "Band", edges = "bottom" }\nease = [80, 80]\n'
    (result,) = walk(build(text, front=RECTANGLE, back=box(90.0)))
    assert (result.first, result.second) == pytest.approx((580.0, 500.0))
    assert (result.first_times, result.second_times) == (1, 1)
    assert result.faults == ()
