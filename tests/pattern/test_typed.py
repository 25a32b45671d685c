"""Pieces typed into the set file; their sizes by hand."""

from __future__ import annotations

import pytest

from plotout.errors import UserError
from plotout.geometry.polyline import length

from .conftest import Build


def test_a_gusset_needs_one_line(build: Build) -> None:
    (piece,) = build('[[piece]]\nname = "Gusset"\nrectangle = ["120 mm", "1/2 in"]\n').pieces
    assert [edge.name for edge in piece.edges] == ["bottom", "right", "top", "left"]
    sizes = [length(edge.points) for edge in piece.edges]
    assert sizes == pytest.approx([120.0, 12.7, 120.0, 12.7])
    assert all(edge.known_to == 0.0 for edge in piece.edges)


@pytest.mark.parametrize("turned", [False, True])
def test_sides_keep_their_names_whichever_way_the_corners_go(build: Build, turned: bool) -> None:
    corners, names = [[0, 0], [30, 0], [0, 40]], ["three", "five", "four"]
    if turned:
        corners, names = [corners[0], corners[2], corners[1]], ["four", "five", "three"]
    text = f'[[piece]]\nname = "A"\npoints = {corners}\nedges = {names}\n'.replace("'", '"')
    (piece,) = build(text).pieces
    sizes = {edge.name: length(edge.points) for edge in piece.edges}
    assert sizes == pytest.approx({"three": 30.0, "four": 40.0, "five": 50.0})


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("rectangle = [120, 80]\npoints = [[0, 0], [1, 0], [0, 1]]", "needs one outline"),
        ("", "needs one outline"),
        ("rectangle = [120, 0]", "rectangle"),
        ("rectangle = [120]", "rectangle"),
        ("points = [[0, 0], [100, 0]]", "points"),
        ('rectangle = [120, 80]\nedges = ["a", "b"]', "2 edges are named, but it has 4 sides"),
        ("points = [[0, 0], [100, 100], [100, 0], [0, 100]]", "its outline crosses itself"),
        ("points = [[0, 0], [100, 0], [100, 0], [0, 100]]", "given twice"),
        ("points = [[0, 0], [50, 0], [100, 0]]", "has no area"),
        ("points = [[0, 0], [50, 25], [100, 50]]", "has no area"),
        ("points = [[0, 0], [0.2, 0], [0.2, 0.3], [0, 0.3]]", "is only 0.2 x 0.3 mm"),
    ],
)
def test_what_can_not_be_a_piece_is_told(build: Build, text: str, told: str) -> None:
    with pytest.raises(UserError, match=told):
        build(f'[[piece]]\nname = "A"\n{text}\n')


def test_every_field_of_an_edge_reaches_the_piece(build: Build) -> None:
    """A facing that is folded over, a corner, no seam notches: each as the set file has it."""
    text = (
        '[[piece]]\nname = "Flap"\nrectangle = ["120 mm", "50 mm"]\n'
        '[piece.edge.top]\nfacing = true\nallowance = "30 mm"\n'
        '[piece.edge.left]\ncorner = "square"\nseam-notches = false\n'
    )
    (piece,) = build(text).pieces
    top, left, right = (piece.edge(name) for name in ("top", "left", "right"))
    assert (top.facing, top.corner.value, top.allowance) == (True, "turned back", (30.0, 30.0))
    assert (left.facing, left.corner.value, left.seam_notches) == (False, "square", False)
    assert (right.facing, right.corner.value, right.seam_notches) == (False, "mitre", True)
    assert {edge.known_to for edge in piece.edges} == {0.0}
