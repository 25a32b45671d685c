"""A single collar on the fold that is sewn to itself round its outer edge: topology.

That collars are cut twice, and hats, mittens and hoods may be closed so, is common practice, from
memory.
"""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam

BODY = (0, 0), (250, 0), (250, 320), (200, 520), (80, 550), (0, 480)
NAMES = "foot side armhole shoulder neck edge"
HALF = (0, 0), (203, 0), (220, 80), (0, 80)


def asked(*parts):
    return [note for note in review(read(*parts)).notes if "sews its left half" in note]


def shirt(count, *more, closed=("end", "outer"), edges="neck end outer fold"):
    """Half a back on the fold and a front, open in front; round the neck half a collar."""
    back = piece("Back", BODY, NAMES.replace("edge", "fold"), 90.0, FOLD)
    collar = piece("Collar", HALF, edges, 90.0, FOLD)
    shut = ", ".join(f'"{edge}"' for edge in closed)
    return asked(
        piece("Front", BODY, NAMES),
        back,
        collar.replace("on-fold = true", f"on-fold = true, count = {count}"),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        '[[seam]]\nname = "neck"\nfirst = { piece = "Collar", edges = ["neck"] }\n'
        'second = [{ piece = "Back", edges = ["-neck"] }, { piece = "Front", edges = ["neck"] }]\n',
        f'[[seam]]\nname = "shut"\nfirst = {{ piece = "Collar", edges = [{shut}] }}\n'
        f'second = {{ piece = "Collar", edges = [{shut}] }}\n',
        *more,
    )


@pytest.mark.parametrize(("count", "told"), [(1, 1), (2, 0)])
def test_one_collar_sewn_to_itself_is_asked_about(count, told):
    assert shirt(count) == told * [
        "Collar: one is cut of it, so that seam 'shut' sews its left half to its right one, but "
        "seam 'neck' goes along both, to open ends: is its count right?"
    ]


def test_a_hood_is_closed_above_and_open_at_the_face():
    assert shirt(1, closed=("outer",)) == []


def test_a_pouch_closed_up_to_a_closed_front_is_not():
    assert shirt(1, seam("Front edge", "Front edge")) == []


def test_a_hat_on_a_band_of_which_no_seam_is_listed_is_not():
    band = piece("Band", ((0, 0), (406, 0), (406, 60), (0, 60)), "low end top start", 0.0)
    hat = piece("Hat", HALF, "brim back crown fold", 90.0, FOLD)
    shut = '{ piece = "Hat", edges = ["back", "crown"] }'
    closing = f'[[seam]]\nname = "shut"\nfirst = {shut}\nsecond = {shut}\n'
    assert asked(band, hat, closing, seam("Hat brim", "Band top")) == []
