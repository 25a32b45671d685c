"""Two unlike fronts, one for each side of the body: by making, of paper.

Drawn as one lies on the other, the left front has to be cut reversed; drawn as its mirror image, as
drawn. So it is with a back on the fold, a pair of backs, and a whole one.
"""

import numpy as np
import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import read

HALF = [(0, 0), (220, 0), (215, 420), (175, 600), (70, 640), (0, 625)]
NAMES = ["hem", "side", "armhole", "shoulder", "neck", "centre"]
RIGHT = [(0, 0), (220, 0), (215, 420), (175, 600), (70, 640), (0, 540)]
LEFT = [(0, 0), (220, 0), (215, 420), (175, 600), (70, 640), (-60, 500)]
WHOLE = [*HALF[1:], *((-x, y) for x, y in HALF[4:0:-1])]
EASY = 'ease = ["-500 mm", "500 mm"]\n'
WHOLE_NAMES = [
    *("side a", "armhole a", "shoulder a", "neck a", "neck b"),
    *("shoulder b", "armhole b", "side b", "hem"),
]


def piece(name, points, names, cut, more=""):
    """The grain runs up the middle."""
    named = ", ".join(f'"{edge}"' for edge in names)
    x, y = np.mean(points, axis=0).tolist()
    return (
        f'[[piece]]\nname = "{name}"\npoints = {[list(map(float, at)) for at in points]}\n'
        f"edges = [{named}]\ngrain = {{ from = [{x}, {y - 10.0}], to = [{x}, {y + 10.0}] }}\n"
        f'cut = [{{ cloth = "self", {cut} }}]\n{more}\n'
    )


def over(points, names):
    """Return a piece's mirror image, and the names of its edges."""
    there = [(-x, y) for x, y in points[::-1]]
    return there, [names[(len(names) - 2 - index) % len(names)] for index in range(len(names))]


def seam(name, first, second, rest=""):
    sides = [
        f'{{ piece = "{whole}", edges = ["{edge}"]{more} }}'
        for whole, edge, more in (first, second)
    ]
    return f'[[seam]]\nname = "{name}"\nfirst = {sides[0]}\nsecond = {sides[1]}\n{rest}'


BACKS = {
    "fold": piece("Back", HALF, NAMES, "on-fold = true", 'fold = "centre"'),
    "pair": piece("Back", HALF, NAMES, "pair = true"),
    "whole": piece("Back", WHOLE, WHOLE_NAMES, "count = 1"),
}


def blouse(back, *, mirrored, turned):
    """A blouse whose left front is drawn as its mirror image, or cut reversed, or both or none."""
    left = over(LEFT, NAMES) if mirrored else (LEFT, NAMES)
    cut = f"count = 1, reversed = {str(turned).lower()}"
    parts = [BACKS[back], piece("Right", RIGHT, NAMES, "count = 1"), piece("Left", *left, cut)]
    for edge in ("side", "shoulder"):
        there = f"{edge} a", f"-{edge} b"
        to = there if back == "whole" else (edge, edge)
        for name, its, own in zip(("Right", "Left"), to, ("", "-" * mirrored), strict=True):
            side = ("Back", its, "" if back == "whole" else ", times = 1")
            parts.append(seam(f"{edge} {name}", (name, f"{own}{edge}", ""), side))
    return [note for note in review(read(*parts)).notes if "reversed" in note]


@pytest.mark.parametrize("back", BACKS)
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_left_front_is_drawn_or_cut_the_other_way_than_the_right(back, mirrored):
    assert blouse(back, mirrored=mirrored, turned=not mirrored) == []
    (note,) = blouse(back, mirrored=mirrored, turned=mirrored)
    assert note == (
        "Right: as it is drawn and cut it is for the same side of 'Back' as 'Left', but seams "
        "'side Right' and 'side Left' sew them to its two sides: is reversed = true missing, or "
        "wrong, in one of them?"
    )


def skirt(turned, *, steep=40):
    """A wrap skirt of two fronts of unlike widths, on a waistband."""
    parts = [
        piece("Over", [(0, 0), (420, 0), (420 - steep, 600), (0, 600)], "abcd", "count = 1"),
        piece("Under", [(0, 0), (300, 0), (300 - steep, 600), (0, 600)], "abcd", turned),
        piece("Band", [(0, 0), (640, 0), (640, 40), (0, 40)], "abcd", "count = 1"),
        '[[seam]]\nname = "waist"\nfirst = [{ piece = "Over", edges = ["-c"] }, '
        '{ piece = "Under", edges = ["c"] }]\nsecond = { piece = "Band", edges = ["a"] }\n'
        'ease = ["-80 mm", "80 mm"]\n',
    ]
    return [note for note in review(read(*parts)).notes if "reversed" in note]


def test_so_are_pieces_side_by_side_along_a_band():
    assert skirt("count = 1, reversed = true") == []
    assert skirt("count = 1", steep=0) == []  # oblongs, which have no hand
    (note,) = skirt("count = 1")
    assert "Over: as it is drawn and cut it lies wrong side out beside 'Under' in seam" in note


@pytest.mark.parametrize(
    ("long", "shield", "asked"),
    [(90, "-b", False), (90, "b", True), (600, "-b", False), (600, "b", False)],
)
def test_a_facing_that_is_turned_in_lies_beside_its_edge_when_it_is_sewn(long, shield, asked):
    """A fly has its facing at the left, its shield at the right; ties may be twisted."""
    tip = [(0, 0), (60, -20), (60, long), (0, long)]
    sewn = zip(("Facing", "Shield"), ("c", shield.replace("b", "c")), strict=True)
    parts = [
        piece("Front", HALF, NAMES, "pair = true"),
        piece("Facing", tip, "abcd", "count = 1"),
        piece("Shield", tip, "abcd", "count = 1"),
        *(
            seam(name, ("Front", "shoulder", ", times = 1"), (name, edge, ""), EASY)
            for name, edge in sewn
        ),
    ]
    notes = [note for note in review(read(*parts)).notes if "reversed" in note]
    assert bool(notes) == asked
