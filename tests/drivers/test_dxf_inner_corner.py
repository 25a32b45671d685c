"""A notch at an inner corner, drawn at the stitching line, is read back as one notch.

The slit runs square to its edge, so that it lies along the next one, 5 mm from both ends: by hand.
"""

import numpy as np
import pytest
from plotout_dxf.notches import known_once

from plotout import Role, Shape

AT, FOOT = np.array([[150.0, 150.0]]), np.array([[150.0, 155.0]])


def notch(at, angle, depth=5.0, kind="slit"):
    return Shape(np.asarray(at, dtype=float), Role.NOTCH, "4", kind, depth, angle)


@pytest.mark.parametrize("drawn", [notch(AT, 90.0), notch(FOOT, -90.0), notch(FOOT, 270.0)])
def test_a_slit_is_that_of_its_record_whichever_end_is_taken_for_its_mouth(drawn):
    record = notch(AT, 90.0, kind="")
    (found,) = known_once([drawn], [record])
    assert (found.text, found.angle) == ("slit", 90.0)
    assert (found.points == AT).all()


@pytest.mark.parametrize("off", [(0.0, 8.0), (8.0, 0.0)])
def test_a_slit_elsewhere_is_another(off):
    drawn = notch(AT + np.array(off), 90.0)
    assert len(known_once([drawn], [notch(AT, 90.0, kind="")])) == 2
