"""Whatever the piece, its cards are sound or the user is told why not."""

import numpy as np
import pytest
from garments import a_set, edge
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from plotout.finish import finish
from plotout.finish.prepare import cut_line, ready
from plotout.geometry.polyline import length
from plotout.geometry.strokes import Mark, NotchKind
from plotout.pattern.model import Cut, Drill, Notch, Piece
from plotout.pattern.settings import Corner, Defaults, NotchStyle


@st.composite
def pieces(draw):
    """Star-shaped pieces with any allowances, corners and notches; some on a fold."""
    count = draw(st.integers(3, 8))
    gaps = np.array([draw(st.floats(0.6, 1.4)) for _ in range(count)])
    turn = np.cumsum(gaps) / gaps.sum() * 2 * np.pi
    reach = np.array([draw(st.floats(60.0, 300.0)) for _ in range(count)])
    ring = np.column_stack([np.cos(turn) * reach, np.sin(turn) * reach])
    ring = np.vstack([ring, ring[:1]])
    kinds = st.sampled_from(list(NotchKind))
    edges, notches = [], []
    for k in range(count):
        widths = draw(st.sampled_from([(12.7, 12.7), (0, 0), (40, 40), (6, 6), (8, 20), (1, 1)]))
        bow = draw(st.floats(-0.1, 0.1))
        share = np.linspace(0, 1, 12)[:, None]
        step = ring[k + 1] - ring[k]
        points = ring[k] + share * step
        points += bow * 4 * share * (1 - share) * np.array([step[1], -step[0]])
        points[-1] = ring[k + 1]
        corner = draw(st.sampled_from(list(Corner)))
        edges.append(edge(f"edge {k}", points, widths, corner=corner))
        if draw(st.booleans()):
            style = NotchStyle(draw(kinds), cut=draw(st.booleans()))
            along = draw(st.floats(0.0, 1.0)) * length(points)
            notches.append(Notch(f"edge {k}", along, draw(st.integers(1, 3)), style))
    grain = draw(st.sampled_from([None, np.array([[0.0, -50.0], [20.0, 50.0]])]))
    drills = (Drill((5.0, 5.0)),) if draw(st.booleans()) else ()
    return Piece("Any", tuple(edges), (Cut("self", 2, pair=True),), grain=grain,
                 notches=tuple(notches), drills=drills)  # fmt: skip


@settings(
    max_examples=40,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)
@given(pieces())
def test_any_piece_becomes_a_sound_card(piece):
    if not Polygon(piece.outline).is_valid:
        return
    card = finish(a_set(piece))[0]
    shape = Polygon(card.outline)
    assert shape.is_valid
    plain = Polygon(cut_line(ready(piece), Defaults()))
    inner = Polygon(ready(piece).outline)
    assert inner.difference(plain.buffer(0.01)).area < 0.01 * inner.area
    gone = inner.difference(shape).area  # by notches only
    assert gone <= 30.0 * sum(n.count for n in piece.notches) + 60.0 * len(piece.edges)
    letters = [s.points for s in card.strokes if s.mark is Mark.LETTERING]
    if letters:
        assert shape.contains(unary_union([LineString(p) for p in letters]))
    if card.hole:
        assert shape.exterior.distance(Point(card.hole)) >= 9.9
    else:
        assert card.warnings


@settings(
    max_examples=25,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)
@given(pieces(), st.floats(150.0, 400.0), st.floats(150.0, 400.0))
@pytest.mark.thorough
def test_any_piece_is_split_without_loss(piece, wide, tall):
    from plotout.errors import UserError

    if not Polygon(piece.outline).is_valid:
        return
    try:
        cards = finish(a_set(piece), (wide, tall))[:-1]
    except UserError:  # told: no straight line divides it, or the stock is too small
        return
    whole = Polygon(cut_line(ready(piece), Defaults()))
    joined = unary_union([Polygon(card.outline).buffer(1e-6) for card in cards])
    assert whole.difference(joined).area <= 40.0 * (sum(n.count for n in piece.notches) + 20)
    for card in cards:
        size = sorted(np.ptp(card.outline, axis=0))
        assert size[0] <= min(wide, tall) + 1e-6
        assert size[1] <= max(wide, tall) + 1e-6
