"""Sleeves whose seam meets the shoulder: lengths and corners fit, common practice does not.

Each armhole is 200 mm long, by construction, and so is each half of the cap.
"""

import pytest

from plotout.review.closing_seams import closing_seams

from .test_tube_doubts import piece, read, seam, sewn_by

BODY = (0, 0), (240, 0), (240, 300), (240, 500), (120, 520), (0, 500)
CAP = (0, 0), (300, 0), (320, 200), (160, 320), (0, 200)  # 160 by 120: hypot is 200


def asked(cap, armhole, bias=False, joined=True, shape=CAP):
    """cap: its edges as walked. armhole: the pieces that it goes along, with a sign."""
    pieces = [{"+": "", "-": "-"}[one[0]] + one[1:] for one in armhole.split()]
    chain = ", ".join(
        f'{{ piece = "{name.lstrip("-")}", edges = ["{"-" * name.startswith("-")}arm"] }}'
        for name in pieces
    )
    edges = ", ".join(f'"{edge}"' for edge in cap.split())
    made = read(
        piece("Front", BODY, "foot side arm top neck centre"),
        piece("Back", BODY, "hem flank arm top neck middle", more="bias = true" * bias),
        piece("Sleeve", shape, "wrist front low high back"),
        seam("Front side", "Back flank"),
        *([seam("Front top", "Back top")] if joined else []),
        seam("Sleeve front", "Sleeve -back"),
        sewn_by("armhole", f'{{ piece = "Sleeve", edges = [{edges}] }}', f"[{chain}]"),
    )
    return list(closing_seams(made.seams, made))


@pytest.mark.parametrize(
    ("cap", "armhole"),
    [
        ("low high", "+Front -Back"),  # from the side over the shoulder
        ("-high -low", "+Back -Front"),
        ("-low -high", "-Front +Back"),  # from the shoulder round by the side
        ("high low", "-Back +Front"),
    ],
)
def test_a_sleeve_whose_seam_meets_the_side_is_right(cap, armhole):
    assert asked(cap, armhole) == []


@pytest.mark.parametrize("armhole", ["+Front -Back", "+Back -Front"])
@pytest.mark.parametrize("cap", ["-low -high", "high low"])
def test_one_whose_seam_meets_the_shoulder_is_asked_about(cap, armhole):
    (note,) = asked(cap, armhole)
    assert note.startswith(
        "seam 'armhole': the seam that closes 'Sleeve', 'Sleeve front', meets 'Front top', and "
        "not 'Front side', which runs along the grain as it does: walk edges = "
    )
    assert '["low", "high"], or the other way, ["-high", "-low"]' in note


@pytest.mark.parametrize("armhole", ["-Front +Back", "-Back +Front"])
def test_so_is_one_that_begins_at_its_seam_where_the_armhole_begins_at_the_shoulder(armhole):
    (note,) = asked("low high", armhole)
    assert "meets 'Front top', and not 'Front side'" in note
    assert note.endswith("name the pieces of the other side so that it begins at 'Front side'")


@pytest.mark.parametrize("how", [{"bias": True}, {"joined": False}])
def test_without_a_grain_along_the_seams_or_a_seam_to_meet_nothing_shows_it(how):
    assert asked("-low -high", "+Front -Back", **how) == []


def test_a_band_is_closed_wherever_one_likes():
    """Of 400 mm round, closed along 20 of them: a binding, whose seam goes to shoulder or side."""
    band = (0, 0), (300, 0), (320, 20), (160, 140), (0, 20)
    assert asked("-low -high", "+Front -Back", shape=band) == []
