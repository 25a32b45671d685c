"""How many are cut, against how many the seams take: whole garments counted by hand.

What is right is common practice in sewing rooms: two layers of a collar, cuff, yoke or pocket bag
to one of what they are sewn to; a pair to both edges of one strip; a frill of several lengths.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from plotout.pattern.model import Cut, Edge, PatternSet, Piece, Seam, Side
from plotout.pattern.walk import walk

SQUARE = np.array([[0, 0], [100, 0], [100, 100], [0, 100], [0, 0]], dtype=float)
NAMES = ("hem", "side", "neck", "centre")
ONE, PAIR, FOLD = Cut("self"), Cut("self", pair=True), Cut("self", on_fold=True)
TWO, PAIRS = Cut("self", 2), Cut("self", 2, pair=True)


def piece(name: str, *cuts: Cut) -> Piece:
    """Return a square of 100 mm, its centre on the fold where it is cut on one."""
    fold = "centre" if any(cut.on_fold for cut in cuts) else None
    edges = (Edge(n, SQUARE[k : k + 2], (10.0, 10.0)) for k, n in enumerate(NAMES))
    return Piece(name, tuple(edges), cuts, fold)


def side(text: str, times: int | None = None) -> Side:
    """Return a side from "Back -neck, Front neck"."""
    edges = [one.split() for one in text.split(", ")]
    return Side(tuple((p, edge.lstrip("-"), edge.startswith("-")) for p, edge in edges), times)


def told(
    pieces: list[Piece], *seams: tuple[Side, Side], ease: tuple[float, float] = (-900.0, 900.0)
) -> tuple[list[str], list[str]]:
    """Return faults and notes of the numbers cut."""
    named = tuple(Seam(f"seam {k}", *sides, ease=ease) for k, sides in enumerate(seams))
    results = walk(PatternSet("T", "T", "M", "", tuple(pieces), seams=named))
    return [f for r in results for f in r.faults], [n for r in results for n in r.notes]


SIDES = (side("Front side"), side("Back side"))
WAIST = (side("Back -neck, Front neck"), side("Band -neck"))
RIGHT = {
    "fold to pair": ([piece("Front", PAIR), piece("Back", FOLD)], SIDES),
    "two single for left and right": ([piece("Front", TWO), piece("Back", FOLD)], SIDES),
    "two layers on the fold": ([piece("Front", Cut("self", 2, on_fold=True)), piece("Back", FOLD)],
                               (side("Front -neck"), side("Back -neck"))),
    "two pairs to a pair": ([piece("Front", PAIRS), piece("Back", PAIR)], SIDES),
    "self and lining to self": (
        [piece("Front", PAIR, Cut("lining", pair=True)), piece("Back", PAIR)], SIDES),
    "as drawn and reversed": (
        [piece("Front", ONE, Cut("self", reversed=True)), piece("Back", PAIR)], SIDES),
    "a single piece to two layers": ([piece("Front", ONE), piece("Back", TWO)], SIDES),
    "five loops to one": ([piece("Front", Cut("self", 5)), piece("Back", ONE)], SIDES),
    "fusing beside self": (
        [piece("Front", PAIR, Cut("fusing", 1)), piece("Back", FOLD)], SIDES),
    "fold asked for and not named": (
        [piece("Front", PAIR), replace(piece("Back", FOLD), fold=None)], SIDES),
    "nothing cut yet": ([piece("Front"), piece("Back", PAIR)], SIDES),
    "chain to a band on the fold": (
        [piece("Front", PAIR), piece("Back", FOLD), piece("Band", FOLD)], WAIST),
    "a frill of three lengths": ([piece("Front", Cut("self", 3)), piece("Back", FOLD)],
                                 (side("Front -neck", 3), side("Back -neck"))),
    "six panels": ([piece("Front", Cut("self", 6))], (side("Front side"), side("Front -centre"))),
}  # fmt: skip


@pytest.mark.parametrize("name", RIGHT)
def test_a_right_set_is_not_blamed(name: str) -> None:
    pieces, sides = RIGHT[name]
    assert told(pieces, sides) == ([], [])


def test_a_pair_may_be_sewn_to_both_edges_of_one_strip() -> None:
    hood, strip = piece("Hood", PAIR), piece("Strip", ONE)
    both = [(side("Strip side"), side("Hood neck")), (side("Strip centre"), side("Hood neck"))]
    assert told([hood, strip], *both) == ([], [])
    assert len(told([hood, strip], both[0])[1]) == 1


def test_a_chain_of_which_there_are_not_two_is_a_fault() -> None:
    """A waist of two halves takes two fronts: one is cut."""
    pieces = [piece("Front", ONE), piece("Back", PAIR), piece("Band", FOLD)]
    faults, _ = told(pieces, WAIST[::-1], SIDES)
    assert faults == ["it takes 2 of 'Front', but only 1 is cut"]


def test_a_band_of_too_few_lengths_is_a_fault() -> None:
    """Four lengths on the fold are eight halves: nine halves need five."""
    pieces = [piece("Frill", Cut("self", 4, on_fold=True)), piece("Back", PAIR)]
    faults, _ = told(pieces, (side("Frill hem", 9), side("Back hem")))
    assert faults == ["it takes 5 of 'Frill', but only 4 are cut"]


@pytest.mark.parametrize(
    ("front", "back", "note"),
    [
        ((ONE,), (PAIR,), "2 cut of 'Back' are enough to sew it twice, but the 1 of 'Front' only"),
        ((ONE,), (FOLD,), "1 cut of 'Back' is enough to sew it twice, but the 1 of 'Front' only"),
        ((Cut("self", 3),), (PAIR,), "3 cut of 'Front' are enough to sew it 3 times"),
        ((Cut("self", 3),), (FOLD,), "3 cut of 'Front' are enough to sew it 3 times"),
    ],
)
def test_what_is_left_over_is_asked(front, back, note) -> None:
    faults, notes = told([piece("Front", *front), piece("Back", *back)], SIDES)
    assert not faults
    assert [note in one for one in notes] == [True]


@pytest.mark.parametrize(
    ("shell", "lining", "asked"),
    [(6, 6, 0), (3, 3, 0), (2, 4, 0), (12, 6, 0), (6, 0, 0), (5, 5, 1), (8, 8, 1), (7, 6, 1)],
)
def test_a_row_of_two_cloths_has_a_like_share_of_both(shell, lining, asked) -> None:
    """Six sections to a band, by hand: 5 + 5 are one row and 4 left over; 3 + 3 alternate, and so
    may 2 + 4; 7 + 6 are two rows and one left over.
    """
    cuts = [Cut(cloth, count) for cloth, count in (("self", shell), ("lining", lining)) if count]
    pieces = [piece("Section", *cuts), piece("Band", Cut("self", 2))]
    assert len(told(pieces, (side("Section hem", 6), side("Band hem")))[1]) == asked


@pytest.mark.parametrize(
    ("cuts", "asked"),
    [
        ((ONE, Cut("lining")), 1),
        ((ONE, Cut("lining", reversed=True)), 0),  # a left of one cloth, a right of the other
        ((PAIR, Cut("lining", pair=True)), 0),
    ],
)
def test_a_left_and_a_right_of_two_cloths_are_two_layers_of_one_half(cuts, asked) -> None:
    """A centre back sews a right half to a left one: of one each, as drawn, there is no other."""
    faults, notes = told([piece("Back", *cuts)], (side("Back centre"), side("Back centre")))
    assert not faults
    assert ["is 'pair' missing?" in note for note in notes] == [True] * asked


FLIES = (  # from memory: English, German, French, Spanish, then ten languages more
    "Zip guard", "Placket", "Schlitzbeleg", "Schlitzuntertritt", "Schlitzbesatz",
    "Reißverschlussblende", "Sous-pont", "Patte de boutonnage", "Tapeta", "Vista de cierre",
    "Gulp", "Gylf", "Patta", "Rozporek", "Halkio", "Gylp", "Braguilha", "Poklopec", "Slicc",
)  # fmt: skip


@pytest.mark.parametrize(
    ("name", "cut", "asked"),
    [
        ("Fly facing", ONE, 0),
        ("Fly facing", Cut("self", 3), 1),
        ("Front facing", ONE, 1),
        ("Butterfly", ONE, 1),
        ("Hosenschlitz", ONE, 0),
        ("Patte de braguette", ONE, 0),
        *((name, ONE, 0) for name in FLIES),
        *((name, Cut("self", 3), 1) for name in FLIES),
    ],
)
def test_a_fly_is_on_one_front_of_two(name: str, cut: Cut, asked: int) -> None:
    """Trousers, shorts: a facing for the left front only (common practice)."""
    sides = side("Front centre"), Side(((name, "centre", False),))
    faults, notes = told([piece("Front", PAIR), piece(name, cut)], sides)
    assert (faults, len(notes)) == ([], asked)


@pytest.mark.parametrize(
    ("turn", "cut", "crotch", "asked"),
    [(0, ONE, 1, 0), (20, ONE, 1, 0), (90, ONE, 1, 1), (0, Cut("self", 3), 1, 1), (0, ONE, 0, 1)],
)
def test_a_fly_is_known_by_the_slit_that_it_is_in(turn, cut, crotch, asked) -> None:
    """A slit goes on into the crotch, left sewn to right, whatever it is called: no waist does."""
    ahead = np.radians(90.0 + turn)
    ways = (SQUARE[:2], np.array([[100, 0], [100, 50]]), [[100, 50]], [[0, 100], [0, 0]])
    end = np.array([100, 50]) + 40.0 * np.array([np.cos(ahead), np.sin(ahead)])
    lines = [ways[0], ways[1], np.vstack([ways[2], end]), np.vstack([end, ways[3]])]
    names = ("inseam", "crotch", "slit", "outseam")
    edges = tuple(
        Edge(n, np.asarray(line, dtype=float), (10.0, 10.0))
        for n, line in zip(names, lines, strict=True)
    )
    pieces = [Piece("Ön", edges, (PAIR,), None), piece("Patlet", cut)]
    seams = [(side("Ön slit"), side("Patlet side")), (side("Ön crotch"), side("Ön crotch"))]
    faults, notes = told(pieces, *seams[: 1 + crotch])
    assert (faults, len(notes)) == ([], asked)


@pytest.mark.parametrize("name", ["Placket", "Tapeta", "Schlitzbeleg"])
@pytest.mark.parametrize("sleeve", ["Sleeve", "Manga", "Ärmel", "Oberärmel"])
def test_a_sleeves_placket_is_on_both(name: str, sleeve: str) -> None:
    sides = side(f"{sleeve} centre"), Side(((name, "centre", False),))
    faults, notes = told([piece(sleeve, PAIR), piece(name, ONE)], sides)
    assert (faults, len(notes)) == ([], 1)


@pytest.mark.parametrize(("cut", "said"), [(3, "and 1 is left over"), (4, ""), (5, "and 1 is")])
def test_what_is_sewn_in_twos_leaves_an_odd_one_over(cut: int, said: str) -> None:
    """Of three cuffs two make one, inside and outside, along the same edges."""
    edge = side("Cuff hem")
    _, notes = told([piece("Cuff", Cut("self", cut))], (edge, edge))
    assert len(notes) == bool(said)
    assert all(said in note and "but the" not in note for note in notes)


@pytest.mark.parametrize(("cut", "asked"), [(4, 0), (8, 0), (5, 1), (6, 1)])
def test_of_lengths_on_the_fold_an_odd_one_is_left_over_too(cut: int, asked: int) -> None:
    """A frill of four lengths, each on the fold, to a body on the fold: eight halves."""
    sides = side("Frill neck", 8), side("Front -hem")
    _, notes = told([piece("Frill", Cut("self", cut, on_fold=True)), piece("Front", FOLD)], sides)
    assert len(notes) == asked
    assert all("left over" in note for note in notes)


def test_both_halves_of_a_godet_are_counted_where_each_is_sewn_to_another_piece() -> None:
    """Two godets on the fold, one a side: a half each to front and back, both on the fold."""
    pieces = [
        piece("Front", FOLD),
        piece("Back", FOLD),
        piece("Godet", Cut("self", 2, on_fold=True)),
    ]
    seams = [(side(f"{name} side"), side("Godet neck", 1)) for name in ("Front", "Back")]
    assert told(pieces, *seams) == ([], [])
    whole = side("Front side"), side("Godet neck")
    (fault,), _ = told(pieces, whole, ease=(0.0, 0.0))
    assert "times = 1 for 'Godet' is right in length" in fault


def test_each_piece_of_a_chain_is_counted() -> None:
    """Of three pieces sewn side by side one is cut single: both others are left over."""
    pieces = [piece("Front", ONE), piece("Pocket", PAIR), piece("Back", PAIR)]
    _, notes = told(pieces, (side("Back side"), side("Front side, Pocket side")))
    assert notes[0].startswith("the 2 cut of each of 'Back' and 'Pocket' are enough")
    assert len(notes) == 1


CLOSED = [
    (side("Front side"), side("Back centre")),
    (side("Front centre"), side("Front centre")),
    (side("Back side"), side("Back side")),
]


@pytest.mark.parametrize(
    ("waist", "centres", "asked"),
    [
        (side("Front -neck, Back -neck"), CLOSED, True),
        (side("Front -neck, Back -neck", 2), CLOSED, False),
        (side("Front -neck, Back -neck"), CLOSED[:1], False),
    ],
)
def test_a_band_folded_lengthwise_is_sewn_once(waist, centres, asked) -> None:
    """Two fronts and two backs, closed by centre seams, take a band all round them.

    The fold runs along the band. Without the centre seams it is a strip between left and right,
    as between the sides of a hood.
    """
    pieces = [piece("Front", PAIR), piece("Back", PAIR), piece("Band", FOLD)]
    faults, notes = told(pieces, (side("Band side"), waist), *centres)
    assert not faults
    said = ["the 1 of 'Band', folded along it, only once" in note for note in notes]
    assert said == [True] * asked


def test_a_band_folded_lengthwise_goes_over_the_fold_of_what_it_is_sewn_to() -> None:
    pieces = [piece("Front", FOLD), piece("Band", FOLD)]
    assert told(pieces, (side("Band side"), side("Front neck"))) == ([], [])


def test_a_fold_that_is_sewn_is_a_fault() -> None:
    faults, _ = told([piece("Front", PAIR), piece("Band", FOLD)],
                     (side("Front side"), side("Band centre")))  # fmt: skip
    assert [fault for fault in faults if fault.startswith("'centre' of 'Band' lies on the fold")]


def lined(count: int, lining: int, **how: bool) -> tuple[Cut, Cut]:
    """Return orders for a shell and its lining, cut alike."""
    return Cut("self", count, **how), Cut("lining", lining, **how)


@pytest.mark.parametrize(
    ("front", "back", "told_of"),
    [
        (lined(1, 1, pair=True), lined(1, 1, on_fold=True), []),
        (lined(1, 1), lined(1, 1, on_fold=True), ["self", "lining"]),  # the pair is forgotten
        (lined(1, 1), lined(1, 1, pair=True), ["self", "lining"]),
        ((PAIR, Cut("lining")), (ONE, Cut("lining", pair=True)), ["self", "lining"]),
        ((ONE, Cut("lining", reversed=True)), lined(1, 1), []),  # a left and a right, unlike
        ((ONE, Cut("lining", reversed=True)), (FOLD,), []),
        (lined(1, 1), (FOLD,), []),  # a back without lining: left and right of two cloths
        (lined(2, 2), lined(1, 1), []),  # two layers
    ],
)
def test_shell_and_lining_are_counted_apart(front, back, told_of) -> None:
    """A whole back takes a left and a right front of its own cloth. Counted by hand."""
    faults, notes = told([piece("Front", *front), piece("Back", *back)], SIDES)
    assert faults == []
    assert len(notes) == bool(told_of)
    assert all(note.startswith(f"of {told_of[0]}, the") for note in notes)


def test_panels_of_two_colours_in_a_row_are_no_shell_and_lining() -> None:
    """A cap of six panels, three red and three blue, its visor and band red above, blue below."""
    red, blue = Cut("red", 3), Cut("blue", 3)
    pieces = [
        piece("Panel", red, blue),
        *(piece(name, Cut("red"), Cut("blue")) for name in ("Visor", "Band")),
    ]
    seams = [
        (side("Panel side"), side("Panel centre")),
        (side("Panel hem", 2), side("Visor neck")),
        (side("Panel hem", 6), side("Band neck")),
    ]
    faults, notes = told(pieces, *seams)
    assert faults == []
    assert not [note for note in notes if note.startswith("of ")]


INTERFACINGS = ("fusing", "interfacing", "Interlining", "entoilage", "Vlieseline", "Bügeleinlage",
                "entretela", "teletta", "флизелин", "接着芯")  # fmt: skip


@pytest.mark.parametrize("cloth", INTERFACINGS)
def test_an_interfacing_is_no_layer_whatever_the_sets_language(cloth: str) -> None:
    """One cuff and its interfacing are not two cuffs, as one of two cloths would be."""

    def cuffs(*cuts: Cut) -> tuple[list[str], list[str]]:
        return told(
            [piece("Sleeve", PAIR), piece("Cuff", *cuts)], (side("Sleeve hem"), side("Cuff hem"))
        )

    assert cuffs(ONE, Cut("velvet")) == ([], [])
    assert "but the 1 of 'Cuff' only once" in "".join(cuffs(ONE, Cut(cloth))[1])
    assert cuffs(TWO, Cut(cloth)) == ([], [])


def test_a_stay_that_is_cut_of_interfacing_alone_is_sewn() -> None:
    pieces = [piece("Front", PAIR), piece("Stay", Cut("interfacing", pair=True))]
    assert told(pieces, (side("Front side"), side("Stay side"))) == ([], [])
