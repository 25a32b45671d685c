"""What lies opposite each edge of a seam, by lengths along it that can be added up by hand."""

import pytest

from plotout.finish.derive import all_pieces
from plotout.finish.partners import partners

from .test_tube_doubts import FOLD, piece, read, seam


def wide(name, size, *tops, more=""):
    """A box with its upper edge, right to left, in parts of these lengths: t0, t1 ..."""
    at, points = float(size), []
    for top in tops:
        points.append((at, 100.0))
        at -= top
    names = " ".join(f"t{k}" for k in range(len(tops)))
    return piece(
        name, [(0, 0), (size, 0), *points, (0, 100)], f"foot right {names} left", more=more
    )


def met(*parts):
    whole = read(*parts)
    found = partners(whole.with_pieces(all_pieces(whole)))
    return {
        f"{name} {edge}": [" ".join(other) for other in others]
        for (name, edge), others in found.items()
        if others
    }


def to_body(*tops):
    """A sleeve's cap in two parts, sewn to a front, a yoke and a back of these lengths."""
    body = [wide(name, size, size) for name, size in zip("FYB", tops, strict=True)]
    walked = ", ".join(f'{{ piece = "{name}", edges = ["-t0"] }}' for name in "BYF")
    joined = (
        '[[seam]]\nname = "arm"\nfirst = { piece = "Sleeve", edges = ["t0", "t1"] }\n'
        f"second = [{walked}]\n"
    )
    return met(wide("Sleeve", 400, 200, 200), *body, joined)


def test_only_what_lies_opposite_is_met():
    """From 0 to 200 and on to 400; against 160, then to 240, then to 400."""
    assert to_body(160, 80, 160) == {
        "Sleeve t0": ["B t0", "Y t0"],
        "Sleeve t1": ["Y t0", "F t0"],
        "B t0": ["Sleeve t0"],
        "Y t0": ["Sleeve t0", "Sleeve t1"],
        "F t0": ["Sleeve t1"],
    }


@pytest.mark.parametrize(
    ("tops", "first"),
    [
        ((120, 80, 200), ["B t0"]),
        ((118, 80, 202), ["B t0"]),  # the yoke begins 2 mm before the first part ends
        ((80, 80, 160), ["B t0"]),  # eased by 80 mm: 25 mm of 100 may lie anywhere
        ((100, 50, 100), ["B t0", "Y t0"]),  # of 50 mm, half
        ((90, 50, 110), ["B t0"]),  # of 50 mm, 15
        ((50, 100, 100), ["B t0"]),
    ],
)
def test_a_few_mm_past_a_joint_or_within_the_ease_are_no_partner(tops, first):
    assert to_body(*tops)["Sleeve t0"] == first


def test_what_is_on_the_fold_meets_both_its_halves_partners():
    """A band of 400 on the fold, half of it drawn, to fronts of 150 and half a back of 50."""
    band = piece("Band", [(0, 0), (200, 0), (200, 60), (0, 60)], "foot right top fold", more=FOLD)
    back = piece("Back", [(0, 0), (50, 0), (50, 60), (0, 60)], "foot right top fold", more=FOLD)
    joined = (
        '[[seam]]\nname = "neck"\nfirst = { piece = "Band", edges = ["foot"] }\n'
        'second = [{ piece = "Back", edges = ["-top"] }, { piece = "Front", edges = ["-t0"] }]\n'
    )
    found = met(band, back, wide("Front", 150, 150), joined)
    assert found["Band foot"] == ["Back top", "Front t0"]
    assert found["Front t0"] == ["Band foot"]


def test_a_left_sewn_to_its_right_and_another_edge_of_the_same_piece():
    found = met(
        wide("Sleeve", 200, 200),
        seam("Sleeve t0", "Sleeve t0"),
        seam("Sleeve right", "Sleeve -left"),
    )
    assert found == {"Sleeve right": ["Sleeve left"], "Sleeve left": ["Sleeve right"]}


def derived(name, parent, how, rest=""):
    return (
        f'[[piece]]\nname = "{name}"\nderive = {{ from = "{parent}", how = "{how}"{rest} }}\n'
        'cut = [{ cloth = "silk", pair = true }]\n'
    )


def test_linings_are_sewn_to_linings_and_facings_to_facings():
    """A facing goes into its edge's seam, too, but not to what its parent is sewn to elsewhere."""
    faced = ', along = ["t0"], width = "40 mm"'
    body = (
        wide("Front", 200, 200), wide("Back", 200, 200), wide("Collar", 200, 200),
        seam("Front right", "Back -left"), seam("Front t0", "Collar t0"),
    )  # fmt: skip
    one = met(*body, derived("Inner front", "Front", "lining"))
    assert one["Inner front right"] == ["Back left"]
    both = met(
        *body, derived("Inner front", "Front", "lining"), derived("Inner back", "Back", "lining")
    )
    assert both["Inner front right"] == ["Inner back left"]
    assert both["Inner back left"] == ["Inner front right"]
    assert both["Front right"] == ["Back left"]
    single = met(*body, derived("Facing", "Front", "facing", faced))
    assert single["Facing t0"] == ["Collar t0"]
    assert "Facing right" not in single
    pair = met(
        *body,
        derived("Facing", "Front", "facing", faced),
        derived("Other", "Back", "facing", faced),
    )
    assert pair["Facing right"] == ["Other left"]
    assert "Fused right" not in met(*body, derived("Fused", "Front", "fusing"))


def test_a_piece_without_a_card_is_named_too():
    marked = derived(
        "Facing", "Front", "facing", ', along = ["t0"], width = "40 mm", marked = true'
    )
    assert met(wide("Front", 200, 200), marked, seam("Front t0", "Facing t0")) == {
        "Front t0": ["Facing t0"],
        "Facing t0": ["Front t0"],
    }
