"""Slits whose two sides do not lie on each other: by geometry, angles from the sides' slopes."""

import numpy as np
import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam


def asked(front, back, edges="foot slit side waist fold"):
    """A skirt with a slit of 200 mm past its side seams, at these angles to them in degrees."""
    parts = []
    for name, angle in (("Front", front), ("Back", back)):
        out = 200.0 * np.tan(np.radians(angle))
        points = (0, 0), (240 + out, 0), (240, 200), (240, 700), (0, 700)
        parts.append(piece(name, points, edges, 90.0, FOLD))
    notes = review(read(*parts, seam("Front side", "Back side"))).notes
    return [note for note in notes if "sides of a slit" in note]


@pytest.mark.parametrize(("front", "back"), [(2.0, 0.0), (0.0, -2.0), (3.0, 1.0)])
def test_a_slit_that_is_two_degrees_off_on_one_side_is_asked_about(front, back):
    (note,) = asked(front, back)
    assert note == (
        f"seam 'Front side': past its start 'slit' of 'Front' lies at {180.0 + front:.1f} degrees "
        f"to it, but 'slit' of 'Back' at {180.0 + back:.1f}: closed, these sides of a slit "
        "would not lie on each other: is one off?"
    )


@pytest.mark.parametrize(
    ("front", "back"),
    [(0.0, 0.0), (2.0, 2.0), (0.5, 0.0), (25.0, 0.0)],  # the last one has an extension for a vent
)
def test_slits_that_fit_and_vents_are_not(front, back):
    assert asked(front, back) == []
