"""Allowances that differ by 2 mm across a seam: meant where layers are graded, else a slip.

Common practice, from memory: the layers of a turned edge are cut a few mm narrower one after the
other; panels, and what closes a tube, are laid edge on edge.
"""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam
from .test_unlined import CHORDS, CROWN, bent, in_one

BOX = (0, 0), (200, 0), (200, 500), (0, 500)
NAMES = "hem right top left"


def asked(*parts, whole=read):
    head = '[defaults]\nallowance = "10 mm"\n'
    return [note for note in review(whole(head, *parts)).notes if "its allowance is" in note]


def narrower(edge, wide="8 mm"):
    return f'edge.{edge} = {{ allowance = "{wide}" }}\n'


@pytest.mark.parametrize(("wide", "told"), [("8 mm", 1), ("9 mm", 1), ("10 mm", 0), ("3/8 in", 0)])
def test_a_tubes_own_edges_have_one_allowance(wide, told):
    """A brim's or a sleeve's; 3/8 in are 9.525 mm."""
    sleeve = piece("Sleeve", BOX, NAMES, 90.0, narrower("left", wide))
    found = asked(sleeve, seam("Sleeve right", "Sleeve -left"))
    assert len(found) == told
    assert all("10 mm on 'right' of 'Sleeve', but " in note for note in found)


@pytest.mark.parametrize(
    ("other", "edges", "told"),
    [
        (BOX, NAMES, 1),
        (((0, 0), (60, 0), (60, 500), (0, 500)), NAMES, 0),  # a facing
    ],
)
def test_panels_side_by_side_have_one_allowance(other, edges, told):
    front = piece("Front", BOX, NAMES, 90.0)
    beside = piece("Back", other, edges, 90.0, narrower("left"))
    assert asked(front, beside, seam("Front right", "Back -left")) == told * [
        "seam 'Front right': its allowance is 10 mm on 'Front', but 8 mm on 'Back'"
    ]


def test_layers_that_are_sewn_to_each_other_past_their_seam_may_be_graded():
    """A belt and its inside."""
    belt = piece("Belt", BOX, NAMES), piece("Inside", BOX, NAMES, 90.0, narrower("left"))
    seams = seam("Belt right", "Inside -left"), seam("Belt top", "Inside top")
    assert asked(*belt, *seams) == []


def test_a_flaps_back_that_a_seam_goes_round_may_be_graded():
    """It begins and ends at the flap's top, along which its grain runs."""
    flap = piece("Flap", BOX, "top right end left", 0.0)
    inside = piece("Inside", BOX, "top right end left", 0.0, narrower("end"))
    assert asked(flap, inside, seam("Flap right end left", "Inside -left -end -right")) == []


@pytest.mark.parametrize(("deep", "told"), [(90, 1), (25, 0)])
def test_what_is_set_into_a_bend_has_one_allowance(deep, told):
    """A crown and its side; a casing, as narrow as a facing, may be of a narrower one."""
    box = (0, 0), (CROWN, 0), (CROWN, deep), (0, deep)
    side = piece("Side", box, "lower end upper start", 0.0, narrower("upper"), "pair = true")
    crown = bent("Crown", "pair = true")
    sewn = seam(f"Crown {' '.join(CHORDS)}", "Side -upper")
    found = asked(crown, side, sewn, whole=lambda *parts: in_one(read(*parts)))
    assert len(found) == told


def test_an_edge_on_the_fold_is_not_compared():
    front = piece("Front", BOX, "hem right top fold", 90.0, FOLD)
    assert asked(front, seam("Front right", "Front right")) == []
