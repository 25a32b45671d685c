"""Pieces that are, or are not, the same turned over: by hand, rectangles of 200 x 100 mm."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, edge, rectangle

from plotout.finish.handed import ASKED, has_no_hand
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.pattern.model import Area, Cut, Drill, InternalLine, Notch
from plotout.review.hand_doubts import hand_doubts
from plotout.review.whole_set import review
from plotout.tables import parse_toml

UP = np.array([[100.0, 20.0], [100.0, 80.0]])
PLAIN = rectangle("Flap", 200, 100, 10.0, grain=UP, cuts=(Cut("self", 2),))


def with_allowance(name, wide):
    edges = [replace(e, allowance=(wide, wide)) if e.name == name else e for e in PLAIN.edges]
    return replace(PLAIN, edges=tuple(edges))


def line(*points):
    return replace(PLAIN, lines=(InternalLine("l", np.array(points, float)),))


@pytest.mark.parametrize(
    ("piece", "same"),
    [
        (PLAIN, True),
        (replace(PLAIN, notches=(Notch("right", 30),)), False),
        (replace(PLAIN, notches=(Notch("right", 50),)), True),  # turned head to foot
        (replace(PLAIN, notches=(Notch("right", 50),), one_way=True), False),
        (replace(PLAIN, notches=(Notch("foot", 60), Notch("foot", 140))), True),
        (replace(PLAIN, notches=(Notch("foot", 60), Notch("foot", 140, 2))), False),
        (replace(PLAIN, notches=(Notch("foot", 60), Notch("foot", 142))), True),
        (replace(PLAIN, drills=(Drill((30, 30)),)), False),
        (replace(PLAIN, drills=(Drill((30, 30)), Drill((170, 30)))), True),
        (replace(PLAIN, drills=(Drill((30, 30)), Drill((170, 30), 6.0))), False),
        (with_allowance("right", 20.0), True),  # turned head to foot
        (replace(with_allowance("right", 20.0), one_way=True), False),
        (line([60, 0], [60, 100]), True),  # likewise
        (line([60, 10], [60, 100]), False),
        (replace(PLAIN, areas=(Area("fusing", PLAIN.outline * 0.5),)), False),
        (replace(PLAIN, areas=(Area("fusing", PLAIN.outline * [1.0, 0.5]),)), True),
    ],
)
def test_marks_and_allowances_give_a_piece_its_hand(piece, same):
    assert has_no_hand(piece) == same
    told = sum("all cut the same way round" in note for note in review(a_set(piece)).notes)
    assert told == (not same)


@pytest.mark.parametrize(("count", "asked"), [(1, False), (2, True), (3, True)])
def test_several_of_one_hand_are_asked_about(count, asked):
    """A single one has a hand of its own; three can't be meant for left and right as they are."""
    piece = replace(PLAIN, drills=(Drill((30, 30)),), cuts=(Cut("self", count),))
    assert asked == any("all cut the same way round" in n for n in review(a_set(piece)).notes)


@pytest.mark.parametrize(
    ("other", "asked"),
    [
        (Cut("coutil", pair=True), True),  # whose two layers are right
        (Cut("blue", 2), False),  # the other hand of each
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_those_of_a_second_cloth_may_be_the_other_hand(other, asked, turned):
    cuts = Cut("self", 2, reversed=turned), replace(other, reversed=not turned and not other.pair)
    piece = replace(PLAIN, drills=(Drill((30, 30)),), cuts=cuts)
    assert asked == any("the 2 of self are all cut" in n for n in review(a_set(piece)).notes)


@pytest.mark.parametrize(("off", "same"), [(0.0, True), (1.5, True), (3.5, False)])
def test_an_edge_a_little_off_gives_no_hand(off, same):
    corners = np.array([[0, 0], [200, 0], [200 + off, 100], [0, 100 + off], [0, 0]], float)
    names = ("foot", "right", "top", "left")
    edges = tuple(edge(n, corners[k : k + 2], 10.0) for k, n in enumerate(names))
    assert has_no_hand(replace(PLAIN, edges=edges), ASKED) == same


def panels(places="", count=6, laps=6, seam_notches="", top="[[-50, 0], [50, 0], [0, 170]]"):
    """A cap of triangles, the same turned over, along a band of `laps` times their base."""
    text = f"""[set]
name = "Cap"
style = "C-1"
[[piece]]
name = "Panel"
points = {top}
edges = ["base", "right", "left"]
grain = {{ from = [0, 20], to = [0, 100] }}
cut = {{ cloth = "self", count = {count} }}
{places}
[[piece]]
name = "Band"
rectangle = [{100 * laps}, 30]
cut = {{ cloth = "self" }}
[[seam]]
name = "band"
first = {{ piece = "Panel", edges = "base", times = {laps} }}
second = {{ piece = "Band", edges = "bottom" }}
{seam_notches}
"""
    made = setfile.of(parse_toml(text, "set file"))
    found = review(read_drawings(made, lambda *_: None).in_size()).notes
    return [note for note in found if "all cut the same way round" in note]


def at(*places):
    return "".join(f"[[seam.notch]]\nat = {place}\n" for place in places)


@pytest.mark.parametrize("laps", [2, 3, 6])
@pytest.mark.parametrize("notches", [at(100), at(30), at(30, 130), at(100, 140)])
def test_what_a_seam_marks_on_panels_in_a_row_gives_them_no_hand(laps, notches):
    assert panels(count=laps, laps=laps, seam_notches=notches) == []


@pytest.mark.parametrize(
    ("along", "asked"), [(0, False), (1.5, False), (30, True), (150, True), (177.2, False)]
)
def test_a_notch_at_the_corner_of_an_edge_gives_no_hand(along, asked):
    """Both long sides are 177.2 mm: the square root of 50 squared and 170 squared."""
    notch = f'[[piece.notch]]\nedge = "right"\nat = {along}\n'
    assert bool(panels(notch, count=2, laps=1)) == asked


ASKEW = "[[-50, 0], [50, 0], [20, 170]]"


@pytest.mark.parametrize(("laps", "asked"), [(1, True), (2, True), (3, False), (4, False)])
def test_two_in_a_row_may_be_left_and_right_but_more_can_t_be(laps, asked):
    assert bool(panels(count=laps * 2, laps=laps, top=ASKEW)) == asked


@pytest.mark.parametrize(("count", "each"), [(2, "1"), (3, "1 or 2"), (6, "3"), (5, "2 or 3")])
def test_the_number_that_is_advised_makes_as_many_or_the_next_even_numbers(count, each):
    (note,) = panels(count=count, laps=1, top=ASKEW)
    assert note.endswith(f"write pair = true and count = {each}")


@pytest.mark.parametrize(
    ("off", "known_to", "asked"), [(5.0, 0.0, True), (5.0, 4.0, False), (12.0, 4.0, True)]
)
def test_a_pricked_piece_is_not_asked_about_for_what_its_pricks_may_be_off(off, known_to, asked):
    """One corner lies so many mm further out than the other; both are known to 4 mm."""
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0 + off, 100.0], [0.0, 100.0]])
    edges = tuple(
        replace(edge(name, corners[[n, (n + 1) % 4]]), known_to=known_to)
        for n, name in enumerate(("foot", "right", "top", "left"))
    )
    flap = replace(PLAIN, edges=edges)
    said = [note for note in hand_doubts(a_set(flap)) if "all cut the same way round" in note]
    assert bool(said) is asked
