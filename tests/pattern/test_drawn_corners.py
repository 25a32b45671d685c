"""The kinds of corners that a drawn cutting line shows: those with which it was made, no others."""

from dataclasses import replace

import numpy as np
import pytest

from plotout.geometry.offset import cutting_line
from plotout.pattern.borders import borders, cornered
from plotout.pattern.settings import Corner

from garments import edge  # isort: skip

SLEEVE = {
    "hem": [[40, 0], [180, 0]],
    "front seam": [[180, 0], [150, 420]],
    "cap": [[150, 420], [90, 500], [20, 440]],
    "back seam": [[20, 440], [40, 0]],
}
"""The front seam leans by 4 degrees at the hem: turned back, this is cut unlike a mitre."""


def sleeve(first):
    names = list(SLEEVE)
    at = names.index(first)
    return [edge(name, SLEEVE[name], 40.0 if name == "hem" else 10.0)
            for name in (*names[at:], *names[:at])]  # fmt: skip


@pytest.mark.parametrize("first", SLEEVE)
@pytest.mark.parametrize(
    "made",
    [
        {"hem": Corner.TURNED},
        {"hem": Corner.TURNED, "cap": Corner.SQUARE},
        {"cap": Corner.SQUARE},
        {},
    ],
)
def test_corners_are_recognised_whichever_edge_is_first(first, made):
    """The first edge that came nearer was kept, though the corner was its neighbour's."""
    plain = sleeve(first)
    drawn = [replace(one, corner=made.get(one.name, one.corner)) for one in plain]
    notes = []
    found = cornered(plain, cutting_line(borders(drawn, None)), None, (), 2.5, notes)
    assert {one.name: one.corner for one in found if one.corner is not Corner.MITRE} == made
    assert len(notes) == len(made)
    assert np.allclose(cutting_line(borders(found, None)), cutting_line(borders(drawn, None)))
