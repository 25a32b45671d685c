"""Edges of one piece in a side of a seam follow each other as they lie: topology, by hand."""

from __future__ import annotations

import pytest

from plotout.pattern.walk import walk

from .conftest import Build

# counter-clockwise: hem, hip, arm, waist side, dart up and down, waist centre, centre
SKIRT = """
[[piece]]
name = "Skirt"
points = [[0, 0], [200, 0], [200, 300], [180, 400], [130, 400], [120, 300], [110, 400], [0, 400]]
edges = ["hem", "hip", "arm", "waist side", "down", "up", "waist centre", "centre"]
cut = CUT
[[piece]]
name = "Band"
rectangle = ["402 mm", "50 mm"]
[[seam]]
name = "band"
first = { piece = "Band", edges = ["bottom"] }
second = { piece = "Skirt", edges = EDGES }
ease = [-400, 400]
"""
DART = """
[[seam]]
name = "dart"
first = { piece = "Skirt", edges = ["down"] }
second = { piece = "Skirt", edges = ["-up"] }
"""
SINGLE, PAIR = '{ cloth = "self" }', '{ cloth = "self", pair = true }'


def said(build: Build, edges: str, more: str = "", cut: str = SINGLE) -> list[str]:
    made = build(SKIRT.replace("EDGES", edges).replace("CUT", cut) + more)
    return [fault for seam in walk(made) for fault in seam.faults if "follow each other" in fault]


@pytest.mark.parametrize("edges", ['["arm", "hip"]', '["-hip", "-arm"]', '["hip", "-arm"]'])
def test_edges_that_lie_side_by_side_are_walked_in_turn(build: Build, edges: str) -> None:
    (fault,) = said(build, edges)
    assert 'edges = ["hip", "arm"], or the other way, ["-arm", "-hip"]' in fault
    assert ("mirrored" in fault) == (edges != '["hip", "-arm"]')


@pytest.mark.parametrize(
    "edges",
    [
        '["hip", "arm"]',
        '["-arm", "-hip"]',
        '["centre", "hem", "hip"]',  # past the first edge
        '["waist side", "waist centre"]',  # over a dart, or a pleat
        '["waist centre", "waist side"]',  # which, nothing says
        '["hip", "-hip"]',  # of two pieces
    ],
)
def test_edges_that_follow_each_other_or_lie_apart_are_silent(build: Build, edges: str) -> None:
    assert said(build, edges) == []


def test_edges_on_both_sides_of_a_dart_lie_side_by_side(build: Build) -> None:
    assert said(build, '["waist side", "waist centre"]', DART) == []
    assert len(said(build, '["waist centre", "waist side"]', DART)) == 1


def test_a_twin_may_follow_where_another_seam_joins_it(build: Build) -> None:
    """Where the 'waist side' of one is sewn to the 'hip' of the other, its 'arm' ends at that."""
    joint = DART.replace("down", "waist side").replace("-up", "hip") + "ease = [-400, 400]\n"
    assert len(said(build, '["arm", "hip"]', cut=PAIR)) == 1
    assert said(build, '["arm", "hip"]', joint, PAIR) == []
