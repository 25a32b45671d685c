"""Notches so near to one another that they read as a double: each distance by hand."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, arc, edge, rectangle

from plotout.finish.prepare import bare_card
from plotout.pattern.model import Cut, Notch, Piece, Seam, Side
from plotout.pattern.settings import Defaults
from plotout.review.whole_set import review, with_bare_cards

from .test_review import UP, sound


@pytest.mark.parametrize(("along", "told"), [(205.0, True), (190.0, False)])
def test_slits_that_meet_at_an_inner_corner_are_asked_about(along, told):
    """A square of 300 mm with a dart to its middle, cut 6 mm within: 212.13 mm to the corner.

    By hand: a slit at 205 mm begins 7.13 mm before the corner, and 6 mm out to the side; the
    corner's own, between both sides, begins 6 x sqrt 2 = 8.49 mm out. In the directions along and
    across, that is (7.13, 6) and (6, 6): 1.13 mm apart.
    """
    ring = np.array([[0, 0], [300, 0], [300, 300], [0, 300], [150, 150], [0, 0]], float)
    names = ("foot", "right", "top", "upper", "lower")
    edges = tuple(edge(n, ring[k : k + 2], 6.0) for k, n in enumerate(names))
    piece = Piece("Gore", edges, cuts=(Cut("self"),), notches=(Notch("upper", along),))
    notes = with_bare_cards(review(a_set(piece)), a_set(piece)).notes
    assert any("is only 1.1 mm from the seam notch" in note for note in notes) is told


@pytest.mark.parametrize(("along", "told"), [(96.0, True), (50.0, False), (90.0, False)])
def test_a_notch_beside_a_seams_end_reads_as_a_double(along, told):
    """The foot's own seam notch stands at its end, 100 mm along; doubles are 6 mm apart."""
    made = a_set(replace(sound(), notches=(Notch("foot", along),)))
    notes = with_bare_cards(review(made), made).notes
    assert notes == (
        ("Patch: the notch at 96 mm on 'foot' is only 4.0 mm from the seam notch at the start of "
         "'right': they read as a double",)
        if told else ()
    )  # fmt: skip


@pytest.mark.parametrize(
    ("count", "along", "size", "places"),
    [(3, 4.5, 9.0, [2.25, 4.5, 6.75]), (2, 1.0, 5.0, [5 / 3, 10 / 3])],
)
def test_a_double_on_a_short_edge_keeps_its_number(count, along, size, places):
    """Its notches stand evenly on the edge; none goes to a corner, where a seam's end stands."""
    piece = rectangle("Tab", size, 100, 6, grain=UP, notches=(Notch("foot", along, count),))
    card = bare_card(piece, Defaults())
    found = [float(n.at[0]) for n in card.notches if n.what.startswith("the ") and not n.seam]
    assert found == pytest.approx(places)
    assert any("mm apart, not 6 mm: the edge is only" in text for text in card.warnings)


def test_a_double_told_of_is_told_once():
    """Both notches of a double stand where a bend of 8 mm has no room for 12.7 mm."""
    bite = arc(100, 60, 8.0, 270, 180)
    corners = [[0, 0], [100, 0], [100, 52], [92, 60], [0, 60], [0, 0]]
    edges = (
        edge("foot", corners[:2]),
        edge("side", corners[1:3]),
        edge("neck", bite),
        edge("top", corners[3:5]),
        edge("left", corners[4:]),
    )
    notch = Notch("neck", 6.0, 2)
    piece = replace(sound(), edges=edges, notches=(notch,))
    told = [text for text in bare_card(piece, Defaults()).warnings if "double notch" in text]
    assert len(told) == 1


@pytest.mark.parametrize(
    ("wide", "sewn", "off", "told"),
    [(12.0, True, True, 1), (5.0, True, True, 1), (14.0, True, True, 0), (12.0, False, True, 0),
     (12.0, True, False, 0)],
)  # fmt: skip
def test_seam_notches_at_both_ends_of_a_short_sewn_edge_read_as_a_double(wide, sewn, off, told):
    """At right corners they stand as far apart as the edge is long; a double's lie 6 mm apart. That
    a double notch means a back is common practice.
    """
    strap = rectangle("Strap", wide, 300.0)
    right = replace(strap.edge("right"), seam_notches=off)
    strap = replace(strap, edges=(strap.edges[0], right, *strap.edges[2:]))
    body = rectangle("Body", 200.0, 300.0)
    first, second = Side((("Strap", "foot", False),)), Side((("Body", "top", False),))
    seams = (Seam("strap", first, second),) if sewn else ()
    made = a_set(strap, body, seams=seams)
    notes = [note for note in with_bare_cards(review(made), made).notes if "double notch" in note]
    assert len(notes) == told
    assert all(f"only {wide:.1f} mm apart on 'foot'" in note for note in notes)
