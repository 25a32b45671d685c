"""Seams of the same two pieces agree on how these lie beside one another: topology, by making."""

import numpy as np
import pytest

from plotout.pattern.meetings import sewn_of
from plotout.pattern.model import Cut, Edge, PatternSet, Piece, Seam, Side
from plotout.review.hands_met import hands_met

from .test_joined_ways import RIGHT, a_set


def asked(made):
    return list(hands_met(sewn_of(made.seams, made.piece), made))


@pytest.mark.parametrize("name", RIGHT)
def test_sets_that_are_right_are_silent(name):
    assert asked(a_set(RIGHT[name])) == []


TOP = """Front fold cf: hem side arm shoulder neck cf; Back fold cb: hem side arm shoulder neck cb |
    side: Front side = Back side; shoulder: Front shoulder = Back shoulder"""
WRAP = TOP.replace("Front fold cf", "Front")
TOTE = """A: foot right top left; B: foot left top right |
    foot: A foot = B -foot; right: A right = B -right; left: A left = B -left"""


@pytest.mark.parametrize(
    ("text", "old", "new", "seam", "other"),
    [
        (TOP, "Front shoulder", "Front -shoulder", "side", "'shoulder'"),
        (WRAP, "Front shoulder", "Front -shoulder", "side", "'shoulder'"),
        (TOP, "Back side", "Back -side", "shoulder", "'side'"),
        (TOTE, "B -right", "B right", "right", "'foot' and 'left'"),
    ],
)
def test_a_seam_that_turns_a_piece_over_is_asked_about(text, old, new, seam, other):
    """Sewn at the side as left to left, front and back can't be left to right at the shoulder."""
    assert asked(a_set(text)) == []
    (note,) = asked(a_set(text.replace(old, new)))
    assert note.startswith(f"seam '{seam}': ")
    assert f"compared with seam {other}: " in note


def test_a_band_folded_over_an_edge_is_no_contradiction():
    """Both long edges of a binding go to one edge of its piece, from both sides of the cloth."""
    text = "Band: low end top start; Panel: foot right top left | out: Band low = Panel -top"
    assert asked(a_set(f"{text}; in: Band top = Panel top")) == []


def test_a_strap_may_be_twisted():
    """40 by 400 mm, by hand: which way round its ends are sewn, nothing says."""

    def made(wide):
        ring = np.array([[0, 0], [wide, 0], [wide, 400], [0, 400], [0, 0]], float)
        pieces = [
            Piece(name, [Edge(n, points[k : k + 2], (8.0, 8.0)) for k, n in enumerate("abcd")],
                  cuts=(Cut("self", 1),))
            for name, points in (("Bib", ring * [400.0 / wide, 1.0]), ("Strap", ring))
        ]  # fmt: skip
        sides = ((("Strap", "a", False), ("Bib", "a", False)),
                 (("Strap", "c", False), ("Bib", "c", True)))  # fmt: skip
        seams = tuple(Seam(one[1], Side((one,)), Side((other,))) for one, other in sides)
        return PatternSet("Apron", "A-1", "M", "", tuple(pieces), seams=seams)

    assert asked(made(40.0)) == []
    assert len(asked(made(300.0))) == 1
