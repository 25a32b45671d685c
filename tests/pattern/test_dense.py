"""Outlines of very many points, as of a scan, against the closed forms of what they follow.

A circle's chord lies `t` within it where it spans 2 acos(1 - t / r) (its sagitta).
"""

import math

import numpy as np
import pytest
import shapely

PIECE = '[[piece]]\nname = "Long"\nfrom = { file = "long" }\n'
OFF = 0.004  # mm, as a curve may be off once it is flattened
RADIUS = 100.0


def _arc(centre, radius, start, end, count):
    turn = np.radians(np.linspace(start, end, count, endpoint=False))
    return np.asarray(centre) + radius * np.column_stack([np.cos(turn), np.sin(turn)])


def _closed(*parts):
    ring = np.vstack(parts).round(4)
    return np.vstack([ring, ring[:1]])


def test_a_circle_keeps_about_as_many_points_as_it_needs(build):
    drawn = _closed(_arc((0, 0), RADIUS, 0, 360, 60_000))
    (piece,) = build(PIECE, long=drawn).pieces
    needed = math.pi / math.acos(1.0 - OFF / RADIUS)
    assert needed * 0.9 < len(piece.outline) < needed * 4.0
    assert shapely.hausdorff_distance(*map(shapely.LineString, (piece.outline, drawn))) <= OFF
    assert shapely.Polygon(piece.outline).length == pytest.approx(math.tau * RADIUS, abs=0.01)


def test_corners_stay_where_they_are(build):
    corners = np.array([[0, 0], [200, 0], [200, 300], [0, 300]], float)
    shares = np.linspace(0.0, 1.0, 3_000, endpoint=False)[:, None]
    sides = [a + (b - a) * shares for a, b in zip(corners, np.roll(corners, -1, 0), strict=True)]
    (piece,) = build(PIECE, long=_closed(*sides)).pieces
    assert [edge.points.tolist() for edge in piece.edges] == [
        [a.tolist(), b.tolist()] for a, b in zip(corners, np.roll(corners, -1, 0), strict=True)
    ]


def test_a_bend_too_tight_for_its_few_points_is_no_corner(build):
    """Each quarter turns by 90 degrees in four chords, but it was drawn round."""
    centres = ((199.9, 0.1), (199.9, 299.9), (0.1, 299.9), (0.1, 0.1))
    quarters = [
        _arc(centre, 0.1, 90.0 * at - 90.0, 90.0 * at, 2_000) for at, centre in enumerate(centres)
    ]
    drawn = np.vstack([*quarters, quarters[0][:1]])
    (piece,) = build(PIECE, long=drawn).pieces
    assert len(piece.edges) == 1
    assert len(piece.outline) < 50


def test_few_points_stay_as_they_are_drawn(build):
    drawn = np.vstack([_arc((0, 0), RADIUS, 0, 360, 2_000), [[RADIUS, 0.0]]])
    (piece,) = build(PIECE, long=drawn).pieces
    assert len(piece.outline) == len(drawn)
