"""Turned-back edges that meet the fold, or have no allowance: a half card against the whole one."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from garments import arc, edge
from shapely.geometry import Polygon, box

from plotout.finish.prepare import cut_line, ready
from plotout.pattern.model import Cut, Piece
from plotout.pattern.settings import Corner, Defaults


def half(foot, top, hem_allowance=30.0, neck_allowance=10.0, **kinds):
    """Half a front; its hem and neck, (n, 2), end and begin on the fold, x = 0."""
    foot, top = np.asarray(foot, float), np.asarray(top, float)
    edges = (
        edge("hem", foot, hem_allowance, corner=kinds.get("hem", Corner.MITRE)),
        edge("side", [foot[-1], [200, 400]], 12),
        edge("shoulder", [[200, 400], top[0]], 30, corner=kinds.get("shoulder", Corner.MITRE)),
        edge("neck", top, neck_allowance, corner=kinds.get("neck", Corner.MITRE)),
        edge("centre", [top[-1], foot[0]], 0),
    )
    return Piece("Front", edges, (Cut("self", on_fold=True),), fold="centre")


def cards(piece):
    """Return the areas of the half's card, and of the whole one's right half."""
    whole = replace(piece, whole=True, cuts=(Cut("self"),))
    lines = [cut_line(ready(one), Defaults()) for one in (piece, whole)]
    right = Polygon(lines[1]).intersection(box(0.0, -1e3, 1e3, 1e3))
    return Polygon(lines[0]), right


NECK = [[80, 450], [0, 400]]
ROUND = arc(0, 450, 80, 0, -90)


@pytest.mark.parametrize("rise", [-60.0, -25.0, -5.0, 0.0, 12.0, 60.0])
@pytest.mark.parametrize("neck", [NECK, ROUND])
def test_a_turned_back_hem_meets_its_mirror_image_at_the_fold(rise, neck):
    """Its point is where both parallels meet: 30 mm / cos of the hem's slope below the corner."""
    piece = half([[0, rise], [220, 0]], neck, hem=Corner.TURNED)
    one, other = cards(piece)
    assert one.symmetric_difference(other).buffer(-0.05).area < 0.5
    lowest = shapely.intersection(one, box(-1.0, -1e3, 0.01, 1e3)).bounds[1]
    assert lowest == pytest.approx(rise - 30.0 / np.cos(np.arctan(rise / 220.0)), abs=0.1)


@pytest.mark.parametrize("shoulder", [Corner.BLUNT, Corner.MITRE])
@pytest.mark.parametrize("neck", [NECK, ROUND])
def test_of_an_edge_without_allowance_nothing_is_turned_back(neck, shoulder):
    """Its cutting line is its stitching line, whatever its corners."""
    plain = half([[0, 0], [220, 0]], neck, 20.0, 0.0, shoulder=shoulder)
    turned = half([[0, 0], [220, 0]], neck, 20.0, 0.0, shoulder=shoulder, neck=Corner.TURNED)
    for one, other in zip(cards(plain), cards(turned), strict=True):
        assert one.symmetric_difference(other).area < 1e-6
    assert cards(turned)[1].boundary.distance(shapely.points(neck)).max() < 0.02


@pytest.mark.parametrize("deep", [8.0, 15.0, 24.0, 29.0, 31.0, 60.0])
@pytest.mark.parametrize("wide", [40.0, 80.0, 130.0])
def test_an_allowance_deeper_than_a_v_leaves_it_open(wide, deep):
    """Turned back, both its ends would meet over the V and close it: of a half and of the whole."""
    neck = [[wide, 400], [0, 400 - deep]]
    piece = half([[0, 0], [220, 0]], neck, 20.0, 0.0, shoulder=Corner.TURNED)
    one, other = cards(piece)
    assert one.symmetric_difference(other).area < 0.5
    assert one.intersection(Polygon([*neck, [0, 400]])).area < 0.01


@pytest.mark.parametrize("steps", [1, 3])
def test_a_half_is_turned_back_past_its_fold_as_the_whole_is(steps):
    """An 80 mm shoulder facing reaches the other half past a neck that rises to the fold."""
    neck = np.array([[60, 400], [45, 340], [20, 300], [0, 290]], float)[:: 3 // steps]
    piece = half([[0, 0], [220, 0]], neck[:2], 20.0, 10.0, shoulder=Corner.TURNED)
    further = [edge(f"neck {k}", neck[k : k + 2], 10.0) for k in range(1, steps)]
    *others, centre = piece.edges
    centre = replace(centre, points=np.vstack([neck[-1], centre.points[-1]]))
    shoulder = replace(others[2], allowance=(80.0, 80.0))
    piece = replace(piece, edges=(*others[:2], shoulder, others[3], *further, centre))
    one, other = cards(piece)
    assert one.symmetric_difference(other).area < 0.5
