"""An edge sewn to itself, though a ring goes from it to another: topology, as of a tube cut open.

All edges of one of these pieces are equally long.
"""

from dataclasses import replace

import pytest

from plotout.pattern.meetings import sewn_of
from plotout.review.open_rings import open_rings
from plotout.review.whole_set import review

from .test_front_doubts import PAIRED
from .test_joined_ways import a_set, wrong

TUNIC = """Front fold cf: hem side armhole shoulder neck cf;
    Back fold cb: hem side armhole shoulder neck cb; Sleeve pair: hem front cap back;
    Cuff x2: top end foot start | side: Front side = Back side;
    shoulder: Front shoulder = Back shoulder; under: Sleeve front = Sleeve -back;
    armhole: Sleeve cap = Front armhole, Back -armhole; cuff: Sleeve hem = Cuff top;
    end: Cuff end = Cuff -start"""
UNDER = ("Sleeve front = Sleeve -back", "Sleeve {0} = Sleeve {0}")
END = ("Cuff end = Cuff -start", "Cuff {0} = Cuff {0}")


def asked_of(made):
    return list(open_rings(made.seams, sewn_of(made.seams, made.piece), made))


def asked(text):
    return asked_of(a_set(text))


@pytest.mark.parametrize("name", PAIRED)
def test_sets_that_are_right_are_not_asked(name):
    assert asked(PAIRED[name]) == []


@pytest.mark.parametrize(
    ("slip", "edge", "seam", "ring", "other"),
    [
        (UNDER, "front", "under", "armhole", "back"),
        (UNDER, "back", "under", "armhole", "front"),
        (END, "end", "end", "cuff", "start"),
        (END, "start", "end", "cuff", "end"),
    ],
)
def test_a_tube_that_is_sewn_up_on_one_side_only_is_asked_about(slip, edge, seam, ring, other):
    assert asked(TUNIC) == []
    text = wrong(slip[0], slip[1].format(edge), TUNIC)
    (note,) = asked(text)
    assert note.startswith(f"seam '{seam}': it sews '{edge}' of ")
    assert f"seam '{ring}' goes all the way round from it to '{other}'" in note
    assert note in review(a_set(text)).notes


@pytest.mark.parametrize("sides", ["left, Panel foot, Panel right", "left"])
def test_a_flat_bag_is_open_at_its_top(sides):
    """Its foot is as long as its mouth, and nothing goes round from one to the other."""
    sewn = f"Panel {sides}"
    text = f"Panel x2: foot right top left; Strap: a b c d | round: {sewn} = {sewn}"
    assert asked(text) == []
    apart = "; ".join(f"{edge}: Panel {edge} = Panel {edge}" for edge in ("left", "foot", "right"))
    assert asked(f"Panel x2: foot right top left | {apart}") == []


def test_what_is_open_in_front_is_sewn_to_itself_behind():
    """A cape of two pieces: the neck goes from the centre back to the open front, not round."""
    text = """Cape pair: hem front neck back; Collar fold f: neck end top f |
        back: Cape back = Cape back; neck: Collar -neck = Cape neck"""
    assert asked(text) == []


@pytest.mark.parametrize(
    ("end", "count"), [("Cuff end = Cuff -start", 0), ("Cuff end = Cuff end", 1)]
)
def test_a_cuff_goes_round_both_hands_of_a_mitten(end, count):
    made = a_set(f"""Hand x4: foot right top left; Cuff x2: top end foot start |
        round: Hand right, Hand top, Hand left = Hand right, Hand top, Hand left;
        cuff: Hand foot = Cuff top; end: {end}""")
    round_it, cuff, closed = made.seams
    both = replace(cuff, first=replace(cuff.first, times=2))
    sewn = replace(made, seams=(round_it, both, closed))
    assert len(asked_of(sewn)) == count
