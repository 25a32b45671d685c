"""Corners where two drawn lines meet, and curves, drawn anew as plane geometry says."""

import cv2
import numpy as np
import pytest

SCALE = 5.0  # pixels per mm


def picture(points):
    """A line through points, (n, 2) mm, 0.4 mm wide, uint8."""
    drawn = np.zeros((200, 200), np.uint8)
    cv2.polylines(drawn, [np.round(points * SCALE * 16).astype(np.int32)[:, None]], False, 120, 2,
                  cv2.LINE_AA, 4)  # fmt: skip
    return cv2.GaussianBlur(drawn, (0, 0), 0.8)


def arc(radius, turn, length=16.0):
    """Two arcs, or straights, that meet at 20, 20 with a turn, each bent to the same side."""
    along = np.linspace(0.0, length, 100)
    bent = along / radius
    half = radius * np.column_stack([np.sin(bent), np.cos(bent) - 1.0])
    lean = np.radians(turn / 2.0)
    right = half @ np.array([[np.cos(lean), -np.sin(lean)], [np.sin(lean), np.cos(lean)]])
    return np.vstack([right[::-1] * [-1.0, 1.0], right]) + 20.0, lean


def seen(points, lean):
    from plotout_photo.meeting import _meeting_at
    from plotout_photo.missing import Turn

    ways = np.array([np.cos(lean), np.sin(lean)])
    turn = Turn(np.array([20.0, 20.0]), ways, ways * [-1.0, 1.0])
    place = np.array([20.0, 19.6]) * SCALE
    at = _meeting_at(picture(points), place, SCALE, turn, lambda pixels: pixels / SCALE)
    return None if at is None else at / SCALE


@pytest.mark.parametrize("radius", [22.0, 27.0, 33.0])
def test_a_line_that_is_curved_meets_itself_at_no_corner(radius):
    points, _ = arc(radius, 0.0)
    assert seen(points, np.radians(10.0)) is None


@pytest.mark.parametrize("turn", [20.0, 45.0, 90.0])
@pytest.mark.parametrize("radius", [30.0, 80.0, 1e6])
def test_two_lines_meet_at_a_corner_however_they_are_bent(radius, turn):
    points, lean = arc(radius, turn)
    at = seen(points, lean)
    assert at is not None
    assert np.hypot(*(at - 20.0)) < 0.5
