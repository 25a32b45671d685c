"""A facing ends at the edges beside it, unless these hardly turn: then it doesn't reach them.

The corner's angle is that by which the shoulder is drawn; where a parallel at 45 mm meets it is
45 mm / sin(angle) along it.
"""

import numpy as np
import pytest
from shapely import LineString

from plotout.finish.derive import all_pieces
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.set_doubts import set_doubts
from plotout.tables import parse_toml

SET = """
[set]
name = "Smock"
style = "SM-1"
[[piece]]
name = "Front"
points = [[0, 0], [250, 0], [250, 380], [X, Y], [70, 600], [0, 570]]
edges = ["hem", "side", "armhole", "shoulder", "neck", "centre"]
grain = { along = "centre", inset = "60 mm" }
cut = { cloth = "self", pair = true }
[[piece]]
name = "Facing"
derive = { from = "Front", how = "HOW", along = "neck", width = "45 mm" }
cut = { cloth = "self", pair = true }
[[seam]]
name = "EDGE"
first = { piece = "Front", edges = "EDGE" }
second = { piece = "Front", edges = "EDGE" }
"""


def faced(angle, edge="shoulder", how="facing"):
    """Return the set. angle: between neck and shoulder, degrees; the neck runs from it to 0, 570"""
    way = np.arctan2(-30.0, -70.0) + np.radians(angle)
    x, y = 70.0 + 140.0 * np.cos(way), 600.0 + 140.0 * np.sin(way)
    text = SET.replace("X", str(x)).replace("Y", str(y)).replace("EDGE", edge).replace("HOW", how)
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    return made.with_pieces(all_pieces(made))


def asked(made):
    return [note for note in set_doubts(made) if "ends square" in note]


@pytest.mark.parametrize("angle", [151, 155, 160, 168])
def test_one_that_ends_short_of_a_seam_is_asked_about(angle):
    (note,) = asked(faced(angle))
    assert note.startswith("Facing: it ends square at the corner of 'neck' and 'shoulder' of ")
    assert f"meet at {angle} degrees" in note


@pytest.mark.parametrize("angle", [120, 140, 149])
def test_one_that_reaches_it_is_not(angle):
    made = faced(angle)
    assert asked(made) == []
    on_it = LineString(made.piece("Facing").edge("shoulder").points).length
    assert on_it == pytest.approx(45.0 / np.sin(np.radians(angle)), abs=0.01)


def test_past_what_goes_straight_on_it_needs_no_end():
    assert asked(faced(172)) == []


def test_an_edge_in_no_seam_needn_t_be_reached():
    assert asked(faced(155, edge="side")) == []


def test_a_fusing_may_end_short():
    assert asked(faced(155, how="fusing")) == []
