"""A band of which too few are cut for a front and its back, in a seam each: counted by hand."""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam


def box(wide, tall):
    return (0, 0), (wide, 0), (wide, tall), (0, tall)


def counted(text, count):
    return text.replace("pair = true", f"count = {count}").replace(
        "on-fold = true", f"on-fold = true, count = {count}"
    )


def asked(*parts):
    return [note for note in review(read(*parts)).notes if "count right" in note]


def skirt(band, *seams, around=(FOLD, FOLD), deep=500):
    return asked(
        *(counted(piece(name, box(300, deep), "rim side waist fold", 90.0, more), 1)
          for name, more in zip(("Front", "Back"), around, strict=True)),
        band,
        seam("Front side", "Back side"),
        *seams,
    )  # fmt: skip


@pytest.mark.parametrize(("count", "told"), [(1, 1), (2, 0), (3, 1), (4, 0)])
@pytest.mark.parametrize("folded", [True, False])
def test_a_band_of_no_whole_layers_for_front_and_back_is_asked_about(count, told, folded):
    """Whole or half on the fold; its ends are sewn to each other, as the sides of the skirt are."""
    band = piece("Band", box(300 if folded else 600, 70), "waist end top fold", 0.0, FOLD * folded)
    found = skirt(
        counted(band, count),
        seam("Front waist", "Band -waist"),
        seam("Back waist", "Band -waist"),
        seam("Band end", "Band end" if folded else "Band -fold"),
    )
    assert len(found) == told, found
    cut = "only 1 is" if count == 1 else "3 are"
    assert all(
        note == "Band: its 'waist' goes to 'Front' and then 'Back', in seams 'Front waist' and "
        f"'Back waist', but {cut} cut: is its count right?"
        for note in found
    )


def test_a_band_with_free_ends_is_not():
    """A collar between a front and its facing ends at their edge."""
    band = counted(piece("Band", box(300, 70), "waist end top fold", 0.0, FOLD), 1)
    found = skirt(band, seam("Front waist", "Band -waist"), seam("Back waist", "Band -waist"))
    assert found == []


def test_a_cuff_and_its_facing_at_the_end_of_a_sleeve_are_not():
    """Both lie on one edge of the sleeve, which its own seam closes; their ends meet there."""
    found = asked(
        piece("Sleeve", box(300, 450), "wrist right cap left"),
        piece("Cuff", box(300, 70), "foot end top other", 0.0),
        piece("Facing", box(300, 70), "foot end top other", 0.0),
        seam("Sleeve right", "Sleeve -left"),
        seam("Cuff top", "Sleeve -wrist"),
        seam("Facing top", "Sleeve -wrist"),
        seam("Cuff end", "Facing end"),
        seam("Cuff other", "Facing other"),
    )
    assert found == []
