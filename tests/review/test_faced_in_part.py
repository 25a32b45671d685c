"""A neck that is faced at the back and left as cut at the front: common practice, from memory."""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam

BODY = (0, 0), (250, 0), (250, 560), (80, 590), (0, 500)
NAMES = "foot side shoulder neck fold"
SEAMS = seam("Front side", "Back side"), seam("Front shoulder", "Back shoulder")


def made_from(parent, how="facing"):
    along = ', along = ["neck"], width = "50 mm"' if how == "facing" else ""
    plan = f'{{ from = "{parent}", how = "{how}"{along} }}'
    return (
        f'[[piece]]\nname = "{parent} {how}"\nderive = {plan}\n'
        'cut = [{ cloth = "calico", on-fold = true }]\n'
    )


def asked(*parts, front="", seams=SEAMS):
    body = (
        piece("Front", BODY, NAMES, 90.0, f"{FOLD}\n{front}"),
        piece("Back", BODY, NAMES, 90.0, FOLD),
    )
    notes = review(read('[defaults]\nallowance = "10 mm"\n', *body, *parts, *seams)).notes
    return [note for note in notes if "does a facing run" in note]


def test_a_neck_faced_only_at_the_back_is_asked_about():
    assert asked(made_from("Back")) == [
        "seam 'Front shoulder': at its end 'neck' of 'Back' is faced, but 'neck' of 'Front' is "
        "not: does a facing run along that too?"
    ]


BIAS = piece("Binding", ((0, 0), (120.42, 0), (120.42, 40), (0, 40)), "near end far start", 0.0,
             "bias = true\n")  # fmt: skip


@pytest.mark.parametrize(
    ("parts", "front"),
    [
        ((), ""),
        ((made_from("Back"), made_from("Front")), ""),
        ((made_from("Back"),), 'edge.neck = { corner = "turned back" }\n'),
        ((made_from("Back"),), 'edge.neck = { allowance = "0 mm" }\n'),  # bound
        ((made_from("Back"), made_from("Front", "lining")), ""),
        ((made_from("Back"), BIAS), ""),
    ],
)
def test_a_neck_that_is_finished_otherwise_is_not(parts, front):
    assert asked(*parts, front=front) == []


@pytest.mark.parametrize(
    ("cuts", "told"),
    [
        ('{ cloth = "self", on-fold = true }', 1),
        ('{ cloth = "self", count = 2, on-fold = true }', 0),
        ('{ cloth = "self", on-fold = true }, { cloth = "lining", on-fold = true }', 0),
        ('{ cloth = "self", on-fold = true }, { cloth = "canvas", on-fold = true }', 1),
    ],
)
def test_the_back_of_a_waistcoat_is_doubled_and_has_no_facing(cuts, told):
    """Common practice, from memory: its outside and its inside are sewn together all round."""
    back = piece("Back", BODY, NAMES, 90.0, FOLD)
    before = 'cut = [{ cloth = "self", on-fold = true }]'
    assert before in back
    parts = piece("Front", BODY, NAMES, 90.0, FOLD), back.replace(before, f"cut = [{cuts}]")
    notes = review(read(*parts, made_from("Front"), *SEAMS)).notes
    assert len([note for note in notes if "does a facing run" in note]) == told


def test_a_collars_ends_are_turned():
    collar = piece("Collar", ((0, 0), (120.42, 0), (120.42, 60), (0, 60)), "near neck far fold",
                   90.0, FOLD)  # fmt: skip
    sewn = seam("Collar near", "Front foot")
    facing = made_from("Front").replace('"neck"', '"side"')
    assert asked(collar, facing, seams=(sewn,)) == []


LAPEL = (0, 0), (260, 0), (250, 420), (230, 640), (110, 690), (70, 600), (-23, 600)
EDGES = "hem side armhole shoulder neck lapel edge"


@pytest.mark.parametrize(
    ("along", "wide", "told"),
    [
        (("edge",), 75, 1),
        (("lapel", "edge"), 75, 0),
        (("edge",), 120, 0),  # as wide as the lapel is long
    ],
)
def test_a_facing_of_a_lapel_goes_along_its_top(along, wide, told):
    """The top of the lapel is 93 mm long, the facing along the front edge 75 mm wide, square to it:
    by hand 75 / cos(atan(23 / 600)) = 75.06.
    """
    facing = made_from("Front").replace('["neck"]', f"{list(along)}").replace("50 mm", f"{wide} mm")
    collar = piece("Collar", ((0, 0), (98.49, 0), (98.49, 80), (0, 80)), "neck end top back")
    front = piece("Front", LAPEL, EDGES)
    made = read(front, facing.replace("on-fold", "pair"), collar, seam("Collar neck", "Front neck"))
    found = [note for note in review(made).notes if "does it run along that too" in note]
    assert found == told * [
        "Front facing: it goes along 75 of the 93 mm of 'lapel' of 'Front', which is in no seam: "
        "does it run along that too?"
    ]


def test_the_neck_of_a_front_without_a_collar_may_be_bound():
    """Beyond the neck lies the shoulder, at which front and back are sewn as at their sides."""
    body = [(0, 0), (250, 0), (250, 560), (90, 590), (0, 500)]
    facing = made_from("Front").replace('["neck"]', '["open"]').replace("on-fold", "pair")
    back = piece("Back", BODY, NAMES, 90.0, FOLD)
    made = read(piece("Front", body, "foot side shoulder neck open"), facing, back, *SEAMS)
    assert not any("does it run along that too" in note for note in review(made).notes)
