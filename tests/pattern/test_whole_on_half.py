"""A whole piece sewn to a half on the fold, or to a pair: it needs a notch for both halves.

The references are worked out by hand: a half of 500 mm that has a notch 200 mm from its end has it,
unfolded, 200 and 800 mm from the end of the whole, and so has a right piece with its left.
"""

from __future__ import annotations

import pytest

from plotout.pattern.walk import walk

from .conftest import Build, rectangle

SET = """
[[piece]]
name = "Skirt"
from = { file = "skirt" }
edges = ["waist", "fold", "hem", "side"]
HALF
NOTCH
[[piece]]
name = "Band"
from = { file = "band" }
edges = ["sewn", "right", "free", "left"]
cut = { cloth = "self", count = 1 }
BAND
[[seam]]
name = "waist"
first = { piece = "Band", edges = "sewn" }
second = { piece = "Skirt", edges = "WAYwaist", times = 2 }
ease = [EASE, EASE]
"""
FOLD = 'fold = "fold"\ncut = { cloth = "self", on-fold = true }'
PAIR = 'cut = { cloth = "self", pair = true }'


def sewn(build: Build, half: str, skirt=(), band=(), seam: str = "", ease: float = 0.0, way=""):
    """Return the walked seam and the set. skirt, band: mm along their edges of drawn notches."""
    text = SET.replace("HALF", half).replace("WAY", way).replace("EASE", str(ease))
    for key, edge, places in (("NOTCH", "waist", skirt), ("BAND", "sewn", band)):
        notches = "".join(f'[[piece.notch]]\nedge = "{edge}"\nat = "{at} mm"\n' for at in places)
        text = text.replace(f"\n{key}\n", f"\n{notches}\n")
    made = build(text + seam, skirt=rectangle(500), band=rectangle(1000 + ease))
    return walk(made)[0], made


def at(made, piece: str) -> list[float]:
    return sorted(notch.along for notch in made.piece(piece).notches)


@pytest.mark.parametrize(
    ("half", "way", "places", "words"),
    [
        (FOLD, "", (200, 800), "one half of 'Skirt' only"),
        (FOLD, "-", (200, 800), "one half of 'Skirt' only"),
        (PAIR, "", (200, 800), "one of the pair only"),
        (PAIR, "-", (300, 700), "one of the pair only"),  # joined where the edge begins
    ],
)
def test_a_drawn_notch_of_both_halves_is_asked_about_if_the_band_has_one(
    build: Build, half, way, places, words
) -> None:
    for lone in places:
        seam, _ = sewn(build, half, [200], [lone], way=way)
        note = f"notch 200.0 mm along 'waist' of 'Skirt' has a partner on {words}"
        assert (seam.faults, seam.notes) == ((), (note,))
    seam, _ = sewn(build, half, [200], places, way=way)
    assert (seam.faults, seam.notes) == ((), ())
    assert len(seam.notches) == 2


@pytest.mark.parametrize("half", [FOLD, PAIR])
@pytest.mark.parametrize(
    "seam",
    ["at = 200", "at = 800", 'at = 200\nfrom = "end"', 'at = "20 %"', "at = 200\nease = 0"],
)
def test_a_seam_s_notch_is_drawn_for_both_halves(build: Build, half, seam) -> None:
    walked, made = sewn(build, half, seam=f"[[seam.notch]]\n{seam}\n")
    assert (walked.faults, walked.notes) == ((), ())
    assert at(made, "Band") == pytest.approx([200, 800])
    assert at(made, "Skirt") == pytest.approx([200])


@pytest.mark.parametrize("half", [FOLD, PAIR])
def test_both_notches_may_be_written(build: Build, half) -> None:
    """Each with its own ease: 5 mm of 20 up to the first, 12 up to the second."""
    seam = "[[seam.notch]]\nat = 200\nease = 5\n[[seam.notch]]\nat = 800\nease = 12\n"
    _, made = sewn(build, half, seam=seam, ease=20)
    assert at(made, "Band") == pytest.approx([205, 812])
    assert at(made, "Skirt") == pytest.approx([200])


def test_the_mirror_image_has_as_much_ease_from_the_other_end(build: Build) -> None:
    walked, made = sewn(build, FOLD, seam="[[seam.notch]]\nat = 200\nease = 5\n", ease=20)
    assert at(made, "Band") == pytest.approx([205, 1020 - 205])
    assert (walked.faults, walked.notes) == ((), ())


@pytest.mark.parametrize("ease", [0, 15])
def test_a_notch_at_the_fold_is_its_own_mirror_image(build: Build, ease) -> None:
    _, made = sewn(build, FOLD, seam=f"[[seam.notch]]\nat = 500\nease = {ease}\n", ease=20)
    assert at(made, "Band") == pytest.approx([500 + ease])
    assert at(made, "Skirt") == pytest.approx([500])


def test_stretches_are_counted_with_both_halves_notches(build: Build) -> None:
    stretches = "".join(f"[[seam.stretch]]\nease = [{ease}, {ease}]\n" for ease in (5, 10, 5))
    notch = "[[seam.notch]]\nat = 200\nease = 5\n"
    text = SET.replace("HALF", FOLD).replace("WAY", "").replace("ease = [EASE, EASE]", "")
    text = text.replace("\nNOTCH\n", "\n").replace("\nBAND\n", "\n")
    made = build(text + stretches + notch, skirt=rectangle(500), band=rectangle(1020))
    assert walk(made)[0].faults == ()
    made = build(
        text + stretches.rsplit("[[", 1)[0] + notch, skirt=rectangle(500), band=rectangle(1015)
    )
    assert walk(made)[0].faults[0] == (
        "its notches make 3 stretches, both halves taken together, but the set file gives the ease "
        "of 2"
    )
