"""Properties of halves and parts: unfolding doubles, splitting adds just the underlap."""

import numpy as np
from garments import edge
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from plotout.finish.prepare import bare_card, cut_line
from plotout.finish.split import parts
from plotout.finish.unfold import unfolded
from plotout.geometry.polyline import length
from plotout.pattern.model import Notch, Piece, Split
from plotout.pattern.settings import Corner, Defaults


@st.composite
def halves(draw):
    """A half piece on its fold, x = 0, with bowed edges; its fold meets its ends square."""
    count = draw(st.integers(1, 4))
    reach = [draw(st.floats(80.0, 250.0)) for _ in range(count)]
    level = np.linspace(-150.0, 150.0, count) if count > 1 else np.array([0.0])
    corners = np.vstack(
        [[0, -250], [90, -250], np.column_stack([reach, level]), [90, 250], [0, 250]]
    )
    edges = []
    for k in range(len(corners) - 1):
        bow = draw(st.floats(-0.1, 0.1)) if 0 < k < len(corners) - 2 else 0.0
        share = np.linspace(0, 1, 12)[:, None]
        step = corners[k + 1] - corners[k]
        points = corners[k] + share * step
        points += 4 * bow * share * (1 - share) * np.array([step[1], -step[0]])
        points[-1] = corners[k + 1]
        widths = draw(st.sampled_from([(12.7, 12.7), (6.0, 6.0), (25.0, 25.0), (8.0, 14.0)]))
        corner = draw(st.sampled_from([Corner.MITRE, Corner.BLUNT]))
        edges.append(edge(f"edge {k}", points, widths, corner=corner))
    edges.append(edge("fold", [[0, 250], [0, -250]], 0))
    notches = tuple(
        Notch(e.name, draw(st.floats(0.1, 0.9)) * length(e.points)) for e in edges[1:-1]
    )
    return Piece("Half", tuple(edges), fold="fold", notches=notches)


@settings(max_examples=60, deadline=None)
@given(halves())
def test_unfolding_doubles_every_area_and_length(half):
    whole = unfolded(half)
    assert len(whole.notches) == 2 * len(half.notches)
    assert np.isclose(Polygon(whole.outline).area, 2 * Polygon(half.outline).area)
    free = sum(length(e.points) for e in half.edges if e.name != "fold")
    assert np.isclose(sum(length(e.points) for e in whole.edges), 2 * free)
    one, two = Polygon(cut_line(half, Defaults())), Polygon(cut_line(whole, Defaults()))
    assert np.isclose(two.area, 2 * one.area)
    assert one.difference(two).area < 1e-6 * one.area


@settings(max_examples=60, deadline=None)
@given(halves(), st.floats(-120.0, 120.0), st.floats(-0.3, 0.3), st.floats(5.0, 40.0))
def test_splitting_adds_just_the_underlap(half, height, slope, lap):
    line = ((-100.0, height - 100 * slope), (300.0, height + 300 * slope))
    made = bare_card(half, Defaults())
    whole = Polygon(made.outline)
    way = np.array([1.0, slope]) / np.hypot(1.0, slope)
    down = np.array([way[1], -way[0]]) * lap
    strip = Polygon([*line, line[1] + down, line[0] + down]).intersection(whole)
    assume(strip.geom_type == "Polygon")
    upper, lower = (Polygon(p.outline) for p in parts(made, (Split(line, lap),), None, lap))
    assert np.isclose(upper.area + lower.area, whole.area + strip.area, rtol=1e-9)
    assert np.isclose(upper.intersection(lower).area, strip.area, rtol=1e-6)
    assert upper.union(lower).symmetric_difference(whole).area < 1e-6 * whole.area
