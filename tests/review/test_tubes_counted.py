"""How many of a tube's pieces are cut, if several seams close it, or it goes round two pieces.

A body with two armholes takes two of each part of a sleeve; a pair of mittens takes two cuffs, each
round a palm and a back. Collars, cuffs and yokes are cut in two layers. Common practice.
"""

import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review
from plotout.tables import parse_toml

PIECE = """
[[piece]]
name = "{name}"
rectangle = [{wide}, {tall}]
edges = ["foot", "right", "top", "left"]
grain = {{ along = "left" }}
cut = {{ cloth = "self", count = {count}{pair} }}
"""


def a_set(pieces, seams):
    text = '[set]\nname = "Test"\nstyle = "T-1"\n'
    for name, (wide, tall, count, pair) in pieces.items():
        way = ", pair = true" if pair else ""
        made = PIECE.format(name=name, wide=wide, tall=tall, count=count, pair=way)
        text += made.replace('"top"', '"head"') if name == "Under" else made  # no hem of one name
    for number, (first, second) in enumerate(seams, 1):
        text += f'[[seam]]\nname = "seam {number}"\nfirst = {first}\nsecond = {second}\n'
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    return [note for note in review(made).notes if "count right" in note]


def side(piece, edges, times=0):
    more = f", times = {times}" if times else ""
    return f'{{ piece = "{piece}", edges = {edges}{more} }}'.replace("'", '"')


@pytest.mark.parametrize(
    ("upper", "under", "cuffs", "asked"),
    [
        (1, 1, 4, []),  # the cuffs in two layers
        (2, 2, 4, []),  # all double
        (1, 2, 4, ["Under: seams make a tube of it and 'Upper', but of 4 cut of it they take"]),
        (2, 1, 4, ["Upper: seams make a tube of it and 'Under', but of 4 cut of it they take"]),
    ],
)
def test_a_sleeve_in_two_takes_as_many_of_both_parts(upper, under, cuffs, asked):
    pieces = {
        "Upper": (200, 500, upper, True),
        "Under": (120, 500, under, True),
        "Cuff": (320, 60, cuffs, False),
    }
    edge = side("Cuff", ["right", "top", "left"])
    seams = [
        (side("Upper", ["right"]), side("Under", ["-left"])),
        (side("Upper", ["left"]), side("Under", ["-right"])),
        (f"[{side('Upper', ['foot'])}, {side('Under', ['foot'])}]", side("Cuff", ["foot"])),
        (edge, edge),
    ]
    found = a_set(pieces, seams)
    assert len(found) == len(asked), found
    assert all(words in note for words, note in zip(asked, found, strict=True))


@pytest.mark.parametrize(("hands", "cuffs", "asked"), [(2, 2, 0), (2, 1, 1), (4, 4, 0), (4, 2, 1)])
def test_two_mittens_take_two_cuffs(hands, cuffs, asked):
    pieces = {"Hand": (90, 200, hands, True), "Cuff": (180, 120, cuffs, False)}
    hand = side("Hand", ["right", "top", "left"])
    seams = [
        (hand, hand),
        (side("Hand", ["foot"], 2), side("Cuff", ["top"])),
        (side("Cuff", ["right"]), side("Cuff", ["-left"])),
    ]
    found = a_set(pieces, seams)
    assert len(found) == asked, found
    words = f"Cuff: seam 'seam 2' takes only {hands} of {2 * hands} 'Hand', but seam 'seam 1' all"
    assert all(note.startswith(words) for note in found)


@pytest.mark.parametrize(("hands", "cuffs", "asked"), [(2, 2, 0), (2, 1, 1), (4, 4, 0), (4, 2, 1)])
@pytest.mark.parametrize("thumbs", [True, False])
def test_a_band_closed_to_a_ring_is_counted_where_another_piece_shows_it(
    hands, cuffs, asked, thumbs
):
    """What is only sewn to itself may be in two layers of which the band takes one: a waistband."""
    pieces = {"Hand": (90, 200, hands, True), "Cuff": (180, 60, cuffs, False)}
    seams = [
        (side("Hand", ["right"]), side("Hand", ["right"])),
        (side("Hand", ["foot"], 2), side("Cuff", ["top"])),
        (side("Cuff", ["right"]), side("Cuff", ["-left"])),
    ]
    if thumbs:
        pieces["Thumb"] = (180, 70, hands, False)
        seams.append((side("Hand", ["top"], 2), side("Thumb", ["foot"])))
    found = a_set(pieces, seams)
    assert len(found) == (asked if thumbs else 0), found
    assert all(f"of {2 * hands} 'Hand', but seam 'seam 4' all" in note for note in found)


def test_a_cuff_in_two_layers_may_be_sewn_all_round():
    """Both layers are sewn to each other; the sleeve, a tube, is sewn to one of them."""
    pieces = {"Sleeve": (200, 500, 1, True), "Cuff": (200, 60, 4, False)}
    edge = side("Cuff", ["right", "top", "left"])
    seams = [
        (side("Sleeve", ["right"]), side("Sleeve", ["-left"])),
        (side("Sleeve", ["foot"]), side("Cuff", ["-foot"])),
        (edge, edge),
    ]
    assert a_set(pieces, seams) == []
