"""What is told of a set before it is cut: sets made wrong on purpose, each fault by hand."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from garments import a_set, edge, rectangle

from plotout.errors import Place, UserError
from plotout.finish import finish
from plotout.pattern.findings import Trued
from plotout.pattern.model import (
    Area,
    Cut,
    Derivation,
    Derive,
    Drill,
    InternalLine,
    Notch,
    Piece,
    Seam,
    Side,
    Split,
)
from plotout.pattern.settings import Corner, Defaults, NotchStyle
from plotout.review.cloth_doubts import fusing_doubts
from plotout.review.doubts import doubts
from plotout.review.whole_set import review, with_bare_cards, with_cards
from plotout.tongue import Tongue

UP = np.array([[50.0, 10.0], [50.0, 40.0]])


def sound(name="Patch", **more):
    return rectangle(name, 100, 60, **{"grain": UP, **more})


def seam(first, second):
    sides = [Side(((piece, edge, False),)) for piece, edge in (first, second)]
    return Seam("side", *sides)


def test_a_sound_set_is_silent():
    found = review(a_set(sound()))
    assert (found.faults, found.notes, found.asked) == ((), (), 0)
    assert with_bare_cards(found, a_set(sound())) == found


@pytest.mark.parametrize(
    ("piece", "told"),
    [
        (sound(grain=None), "Patch: it has no grain line"),
        (sound(cuts=()), "Patch: nothing is cut with it"),
        (sound(notes=("pricks 3 and 4 are one",)), "Patch: pricks 3 and 4 are one"),
        (rectangle("Patch", 500, 900, 322.6, grain=UP), "is 322.6 mm: is its unit right?"),
        (rectangle("Patch", 500, 9000, 10, grain=UP), "9.0 m long: is its unit right?"),
    ],
)
def test_what_a_piece_lacks_is_told(piece, told):
    assert any(told in note for note in review(a_set(piece)).notes)


def test_cloths_that_differ_by_a_capital_are_told():
    pieces = (sound("A"), sound("B", cuts=(Cut("Self"),)), sound("C", cuts=(Cut("lining"),)))
    notes = review(a_set(*pieces)).notes
    assert notes == ("'self' and 'Self' are treated as different cloths: use one spelling",)


def test_what_is_nearly_called_fusing_is_asked_about():
    """It would be counted as sewn. Beside a cloth that is called so, the two are compared."""
    fused = sound("A", cuts=(Cut("self"), Cut("fussing")))
    (note,) = review(a_set(fused)).notes
    assert note.startswith("'fussing' is treated as a cloth that is sewn")
    both = a_set(fused, sound("B", cuts=(Cut("fusing"),)))
    assert [n.split(" are ")[0] for n in review(both).notes] == ["'fussing' and 'fusing'"]
    assert review(a_set(sound("A", cuts=(Cut("self"), Cut("fusing"))))).notes == ()


@pytest.mark.parametrize(
    ("ease", "told"),
    [((-20, 20), True), ((-10, 10), True), ((-2, 3), False), ((0, 300), False), ((-9, 40), False)],
)
def test_an_ease_that_allows_too_long_and_too_short_is_asked_about(ease, told):
    one = replace(seam(("A", "foot"), ("B", "foot")), ease=ease)
    notes = review(a_set(sound("A"), sound("B"), seams=(one,))).notes
    assert any("whether it is too short or too long" in note for note in notes) is told


@pytest.mark.parametrize(("fused", "told"), [(1, False), (2, False), (20, True)])
def test_more_fusing_than_cloth_is_asked_about(fused, told):
    """Each fusing is fused to one piece. What is only cut of fusing is for another piece."""
    stand = sound("A", cuts=(Cut("self", 2), Cut("fusing", fused)))
    only = sound("B", cuts=(Cut("fusing", 9),))
    asked = [note for note in review(a_set(stand, only)).notes if "of fusing" in note]
    assert asked == (["A: 20 are cut of fusing, but only 2 of cloth: is its count right?"] * told)


@pytest.mark.parametrize(
    ("parent", "fused", "told"),
    [
        (Cut("self", 2), Cut("fusing", 2), 0),
        (Cut("self", 1, pair=True), Cut("fusing", 2), 0),
        (Cut("self", 2), Cut("fusing", 8), 1),
        (Cut("self", 1, on_fold=True), Cut("fusing", 2), 0),  # its two halves
        (Cut("self", 1, on_fold=True), Cut("fusing", 2, on_fold=True), 1),
    ],
)
def test_more_fusing_than_the_cloth_of_the_piece_that_it_is_made_from(parent, fused, told):
    band = sound("Band", cuts=(parent,))
    fusing = replace(
        sound("Fusing", cuts=(fused,)), parent="Band", derive=Derivation(Derive.FUSING)
    )
    asked = list(fusing_doubts(a_set(band, fusing)))
    assert len(asked) == told
    assert all("of fusing for 'Band'" in note for note in asked)


@pytest.mark.parametrize(("cloth", "told"), [("self", True), ("canvas", False), ("fusing", False)])
def test_a_fusing_of_its_parents_own_cloth_is_asked_about(cloth, told):
    fusing = replace(
        sound("Stay", cuts=(Cut(cloth),)), parent="Band", derive=Derivation(Derive.FUSING)
    )
    asked = list(fusing_doubts(a_set(sound("Band", cuts=(Cut("self"),)), fusing)))
    words = "Stay: it is a fusing, but it is cut of 'self', as 'Band' is: is its cloth right?"
    assert asked == [words] * told


@pytest.mark.parametrize(("underlap", "told"), [(20.0, 0), (80.0, 0), (200.0, 1)])
def test_an_underlap_as_wide_as_a_card_is_asked_about(underlap, told):
    notes = review(a_set(sound(), defaults=Defaults(underlap=underlap))).notes
    assert len([note for note in notes if "the underlap is 200 mm wide" in note]) == told


@pytest.mark.parametrize(("tolerance", "told"), [(0.5, 0), (5.0, 0), (12.7, 1)])
def test_a_tolerance_that_lets_slips_pass_is_asked_about(tolerance, told):
    notes = review(a_set(sound(), defaults=Defaults(tolerance=tolerance))).notes
    assert len([note for note in notes if "the tolerance is 12.7 mm" in note]) == told


@pytest.mark.parametrize(
    ("long", "others", "told"),
    [(4200, (480,), True), (3000, (480,), False), (1400, (100,), False), (4200, (), False)],
)
def test_a_piece_out_of_all_proportion_is_asked_about(long, others, told):
    """A handle of 420 cm instead of mm; a binding may be six times as long as what it binds."""
    pieces = [rectangle(f"P{k}", size, 60, 10, grain=UP) for k, size in enumerate((long, *others))]
    notes = review(a_set(*pieces)).notes
    assert any("times as long as any other piece" in note for note in notes) is told


def test_faults_of_pieces_truings_and_seams_are_told_together():
    off = Trued("square", ("foot", "left"), 1.4, 1.4, 0.5)
    pieces = (
        sound("A", trued=(off,), faults=(UserError("no fold", place=Place(piece="A")),)),
        sound("B"),
    )
    made = a_set(*pieces, seams=(seam(("A", "foot"), ("B", "left")),))
    found = review(made)
    assert found.asked == 2
    assert [fault.split(":")[0] for fault in found.faults] == ["A", "A", "seam 'side'"]
    assert "40.0 mm too long: 100.0 mm of 'A' to 60.0 mm of 'B'" in found.faults[2]


def test_what_notching_changes_is_known_before_a_card_is_made():
    piece = replace(sound(), notches=(Notch("foot", 0.0, 2),))
    made = a_set(piece)
    (told,) = with_bare_cards(review(made), made).notes
    assert told.startswith("Patch: the double notch at 0 mm on 'foot' is moved 3.0 mm")


@pytest.mark.parametrize(
    ("wide", "told"),
    [
        ((6.0, 6.0), [("A", "C")]),  # the second half of the side is sewn to 10 mm
        ((6.0, 10.0), []),  # tapered as its partners are, within 3 mm
        ((10.0, 2.0), [("A", "B"), ("A", "C")]),  # 4 mm off at its start, 8 at its end
        ((10.0, 10.0), [("A", "B")]),
    ],
)
def test_allowances_are_compared_where_pieces_are_sewn_together(wide, told):
    """A foot of 200 mm, sewn to B's of 100 mm with 6 mm and C's of 100 mm with 10."""
    pieces = [
        rectangle(name, width, 60, 6, grain=UP)
        for name, width in zip("ABC", (200, 100, 100), strict=False)
    ]
    for index, widths in ((0, wide), (2, (10.0, 10.0))):
        foot = replace(pieces[index].edges[0], allowance=widths)
        pieces[index] = replace(pieces[index], edges=(foot, *pieces[index].edges[1:]))
    name = pieces[0].edges[0].name
    sides = [Side(((piece, name, False),)) for piece in "AB"]
    sides[1] = Side((("B", name, False), ("C", name, False)))
    notes = review(a_set(*pieces, seams=(Seam("foot", *sides),))).notes
    assert [note for note in notes if "allowance is" in note] == [
        note for note in notes if any(f"on '{a}'" in note and f"on '{b}'" in note for a, b in told)
    ]
    assert len([note for note in notes if "allowance is" in note]) == len(told)


@pytest.mark.parametrize(
    ("wide", "corner", "named", "told"),
    [
        ((3, 30), (Corner.TURNED, Corner.TURNED), "foot", True),
        ((3, 30), (Corner.TURNED, Corner.TURNED), "hem", True),
        ((3, 30), (Corner.MITRE, Corner.MITRE), "foot", True),  # both are called foot
        ((3, 30), (Corner.MITRE, Corner.TURNED), "hem", False),  # a collar's end at a facing
        ((28, 30), (Corner.TURNED, Corner.TURNED), "foot", False),
    ],
)
def test_hems_that_meet_at_a_seam_are_compared(wide, corner, named, told):
    """Two patches sewn together at their left edges; the foot of each begins there."""
    pieces = []
    for name, foot, depth, kind in zip("AB", ("foot", named), wide, corner, strict=True):
        piece = sound(name)
        hem = replace(piece.edges[0], name=foot, allowance=(depth, depth), corner=kind)
        pieces.append(replace(piece, edges=(hem, *piece.edges[1:])))
    notes = review(a_set(*pieces, seams=(seam(("A", "left"), ("B", "left")),))).notes
    text = f"seam 'side': at its end the allowance of 'foot' is {wide[0]} mm on 'A', but that of"
    assert [note.startswith(text) for note in notes if "at its" in note] == [True] * told


@pytest.mark.parametrize(
    ("swapped", "told"), [(False, []), (True, [" 0 mm from its start its allowance is 15 mm"])]
)
def test_a_tapered_allowance_that_is_turned_round_is_asked_about(swapped, told):
    """15 to 25 mm on both sides, of which one is walked backwards: as wide only half way."""
    pieces = []
    for name, widths in (("A", (15.0, 25.0)), ("B", (15.0, 25.0) if swapped else (25.0, 15.0))):
        piece = sound(name)
        foot = replace(piece.edges[0], allowance=widths)
        pieces.append(replace(piece, edges=(foot, *piece.edges[1:])))
    sides = Side((("A", "foot", False),)), Side((("B", "foot", True),))
    notes = review(a_set(*pieces, seams=(Seam("side", *sides),))).notes
    assert [note.split(":")[1][: len(told[0])] for note in notes if "allowance is" in note] == told


@pytest.mark.parametrize(
    ("corner", "wide", "told"),
    [
        ((Corner.TURNED, Corner.TURNED), 30.0, 0),
        ((Corner.TURNED, Corner.MITRE), 30.0, 1),
        ((Corner.MITRE, Corner.TURNED), 30.0, 1),
        ((Corner.TURNED, Corner.MITRE), 0.0, 0),  # nothing to turn back: bound, or another cloth
    ],
)
def test_a_hem_that_is_folded_over_on_one_piece_only_is_asked_about(corner, wide, told):
    pieces = []
    for name, kind in zip("AB", corner, strict=True):
        piece = sound(name)
        deep = 30.0 if kind is Corner.TURNED else wide
        foot = replace(piece.edges[0], allowance=(deep, deep), corner=kind)
        pieces.append(replace(piece, edges=(foot, *piece.edges[1:])))
    notes = review(a_set(*pieces, seams=(seam(("A", "left"), ("B", "left")),))).notes
    found = [note for note in notes if "is folded over, but 'foot' of" in note]
    assert len(found) == told


def test_a_wrong_unit_in_the_defaults_is_asked_about_once():
    wide = rectangle("Patch", 100, 60, 120.0, grain=UP)
    other = replace(wide.edges[0], allowance=(90.0, 90.0))
    made = a_set(replace(wide, edges=(other, *wide.edges[1:])))
    made = replace(made, defaults=replace(made.defaults, allowance=120.0, hole=40.0))
    notes = review(made).notes
    assert [note for note in notes if "unit" in note] == [
        "[defaults]: the allowance is 120 mm: is its unit right?",
        "[defaults]: the hanging hole is 40 mm wide: is its unit right?",
        "Patch: the allowance of 'foot' is 90 mm: is its unit right?",
    ]


@pytest.mark.parametrize(
    ("to", "told"),
    [((90, 14), "2.9 degrees off 'foot'"), ((90, 10), ""), ((90, 10.5), ""), ((60, 60), "")],
)
def test_a_grain_line_a_little_off_an_edge_is_asked_about(to, told):
    """From x 10, y 10: atan(4 / 80) = 2.9 degrees, atan(0.5 / 80) = 0.4, and 45 for a bias."""
    piece = sound(grain=np.array([(10.0, 10.0), to]))
    found = [note for note in review(a_set(piece)).notes if "degrees off" in note]
    assert [told in note for note in found] == ([True] if told else [])


@pytest.mark.parametrize(
    "corners",
    [
        [[0, 0], [100, 0], [80, 500], [20, 500]],  # a gore: its own mirror image
        [[0, 0], [95, 95], [60, 750], [-60, 870], [-95, 95]],  # a tie's blade: but for its end
    ],
)
def test_a_grain_line_halfway_between_two_edges_is_true(corners):
    """Its edges lie 2.3 and 3 degrees off, on either side; by 1 degree more, no longer so."""
    ring = np.array([*corners, corners[0]], float)
    edges = tuple(edge(f"{k}", ring[k : k + 2]) for k in range(len(corners)))
    asked = []
    for turned in (0.0, 1.0):
        lean = 400.0 * np.tan(np.radians(turned))
        x = ring[:2, 0].mean() if len(corners) == 4 else 0.0
        grain = np.array([[x, 100.0], [x + lean, 500.0]])
        made = a_set(Piece("Gore", edges, cuts=(Cut("self"),), grain=grain))
        asked.append([note for note in review(made).notes if "true to no edge" in note])
    assert not asked[0]
    assert len(asked[1]) == 1


@pytest.mark.parametrize(
    ("lean", "known_to", "told"), [(0.0, 0.0, False), (2.0, 0.0, True), (0.0, 0.3, True)]
)
def test_a_side_may_slope_beside_a_grain_line_that_is_drawn_upright(lean, known_to, told):
    """By 20 mm in 500, 2.3 degrees; pricks lie on the table as they lie."""
    ring = np.array([[0, 12], [100, 0], [80, 500], [30, 480], [0, 12]], float)
    edges = [replace(edge(f"{k}", ring[k : k + 2]), known_to=known_to) for k in range(4)]
    grain = np.array([[50.0, 100.0], [50.0 + lean, 400.0]])
    made = a_set(Piece("Panel", tuple(edges), cuts=(Cut("self"),), grain=grain))
    assert any("true to no edge" in note for note in review(made).notes) == told


@pytest.mark.parametrize(
    ("degrees", "corners", "told"),
    [
        *((degrees, 90.0, 1) for degrees in (5.0, 20.0, 40.0, 50.0)),
        *((degrees, 90.0, 0) for degrees in (0.0, 44.0, 45.0, 90.0)),
        (20.0, 75.0, 0),  # no right angle: a panel that leans
    ],
)
def test_a_grain_line_off_both_sides_of_a_right_angle_is_asked_about(degrees, corners, told):
    """A rectangle is cut along the threads, or at 45 degrees to them (common practice)."""
    lean = 400.0 / np.tan(np.radians(corners))
    ring = np.array([[0, 0], [300, 0], [300 + lean, 400], [lean, 400], [0, 0]], float)
    edges = tuple(edge(f"{k}", ring[k : k + 2]) for k in range(4))
    step = 100.0 * np.array([np.sin(np.radians(degrees)), np.cos(np.radians(degrees))])
    grain = np.array([150.0, 200.0]) + np.array([-step, step])
    made = a_set(Piece("Panel", edges, cuts=(Cut("self"),), grain=grain))
    assert sum("true to no edge" in note for note in review(made).notes) == told


def test_ends_of_one_name_of_which_one_is_sewn_are_no_hems():
    """A collar's free end at a back whose centre, of the same name, is sewn by a zip."""
    pieces = []
    for name, wide in (("Back", 20.0), ("Collar", 6.0)):
        piece = sound(name)
        centre = replace(piece.edges[0], name="centre", allowance=(wide, wide))
        pieces.append(replace(piece, edges=(centre, *piece.edges[1:])))
    neck = seam(("Back", "left"), ("Collar", "left"))
    zip_ = Seam("zip", *(Side((("Back", "centre", False),)),) * 2)
    for seams, told in (((neck,), 1), ((neck, zip_), 0)):
        notes = review(a_set(*pieces, seams=seams)).notes
        assert len([note for note in notes if "at its end the allowance" in note]) == told


def test_an_area_too_shallow_to_mark_is_asked_about():
    """0.4 cm typed as 0.4 mm: a band of 100 x 0.4 mm."""
    band = np.array([[0, 59.6], [100, 59.6], [100, 60], [0, 60], [0, 59.6]], dtype=float)
    (note,) = review(a_set(sound(areas=(Area("fusing", band),)))).notes
    assert note == "Patch: its area 'fusing' is only 0.4 mm deep: is its unit right?"


def stripe(*points):
    return InternalLine("s", np.array(points, dtype=float), "stripe")


def folded_over(name):
    """Return the patch with an edge of which 70 mm are turned back."""
    wide = {"corner": Corner.TURNED, "allowance": (70.0, 70.0)}
    edges = (replace(e, **wide) if e.name == name else e for e in sound().edges)
    return replace(sound(), edges=tuple(edges))


@pytest.mark.parametrize(
    ("piece", "told"),
    [
        (sound(cuts=(Cut("self", pair=True, on_fold=True),), fold="left"), "its own mirror image"),
        (sound(lines=(stripe((10, 10), (40, 10), (70, 25)),)), "it bows"),
        (sound(lines=(stripe((10, 10), (40, 10.4), (70, 10)),)), ""),
        (sound(lines=(stripe((10, 10), (50, 14)),)), "lies 6 degrees off the threads"),
        (sound(lines=(stripe((10, 10), (50, 10.5)),)), ""),
        (sound(lines=(stripe((10, 10), (40, 40)),), bias=True), ""),
        (sound(lines=(stripe((10, 10), (40, 10)),), bias=True), "45 degrees off the threads"),
        (sound(drills=(Drill((50.0, 0.3)),)), "x 50.0, y 0.3 lies on the stitching line"),
        (sound(drills=(Drill((-6.0, 30.0)),)), "lies in the seam allowance"),
        (sound(drills=(Drill((50.0, 30.0)),)), ""),
        (sound(drills=(Drill((0.0, 30.0)),), fold="left", cuts=(Cut("self", on_fold=True),)), ""),
        (rectangle("Patch", 100, 4, 3, grain=np.array([[5.0, 2.0], [90.0, 2.0]])), "is only 4 mm"),
        (folded_over("foot"), "60 mm deep there"),
        (folded_over("left"), ""),
    ],
)  # fmt: skip
def test_what_is_seldom_meant_is_asked(piece, told):
    """A patch of 100 x 60 mm: on its fold half a hole is meant; 0.4 mm of bow is a hand's."""
    notes = review(a_set(piece)).notes
    assert [told in note for note in notes] == ([True] if told else [])


@pytest.mark.parametrize(
    ("at", "cross", "over"), [((-12.0, 30.0), False, "0.8"), ((-12.0, 30.0), True, ""),
                              ((-11.0, 30.0), False, "")],
)  # fmt: skip
def test_a_hole_through_the_cards_edge_is_a_fault(at, cross, over):
    """The cutting line lies 12.7 mm out; a hole of 3 mm reaches 1.5 mm further than its centre."""
    made = a_set(sound(drills=(Drill(at, 3.0, cross=cross),)))
    faults = with_bare_cards(review(made), made).faults
    assert [f"goes {over} mm over it" in fault for fault in faults] == ([True] if over else [])


@pytest.mark.parametrize(
    ("cloths", "told"),
    [
        (("self", "sefl"), True),
        (("lining", "linnig"), True),
        (("felt", "fel"), True),
        (("self", "felt"), False),
        (("cotton 12", "cotton 21"), False),
        (("wool", "wolo twill"), False),
    ],
)
def test_two_letters_swapped_are_told(cloths, told):
    pieces = [sound(name, cuts=(Cut(cloth),)) for name, cloth in zip("AB", cloths, strict=True)]
    assert bool(review(a_set(*pieces)).notes) is told


def test_two_seams_of_the_same_edges_are_told():
    sides = [Side(((name, "foot", turned),)) for name, turned in (("A", False), ("B", True))]
    seams = (Seam("one", *sides), Seam("two", *sides[::-1]), Seam("three", *sides))
    other = Seam("four", Side((("A", "top", False),)), sides[1])
    notes = review(a_set(sound("A"), sound("B"), seams=(*seams, other))).notes
    assert notes == (
        "seam 'two': it sews the same edges as seam 'one'",
        "seam 'three': it sews the same edges as seam 'one'",
    )


def test_a_truing_that_fails_is_told_once():
    off = Trued("square", ("foot", "left"), 1.4, 1.4, 0.5)
    found = review(a_set(sound("A", trued=(off,), notes=(str(off),))))
    assert (len(found.faults), found.notes) == (1, ())


@pytest.mark.parametrize(
    ("at", "cross", "told"),
    [
        ((60, 30), False, "the drill hole at x 60.0, y 30.0 lies in the cut-out 'window'"),
        ((60, 30), True, "lies in the cut-out 'window': nothing is left there to drill"),
        ((39, 30), False, "the drill hole at x 39.0, y 30.0 runs into the cut-out 'window'"),
        ((39, 30), True, ""),
        ((20, 30), False, ""),
    ],
)
def test_a_hole_in_a_cut_out_is_a_fault(at, cross, told):
    window = np.array([[40, 20], [80, 20], [80, 40], [40, 40], [40, 20]], float)
    lines = (InternalLine("window", window, "cut-out"),)
    made = a_set(sound(drills=(Drill(at, 3.0, cross),), lines=lines))
    faults = [fault for fault in with_bare_cards(review(made), made).faults if "cut-out" in fault]
    assert len(faults) == bool(told)
    assert all(told in fault for fault in faults)


def test_what_lettering_shows_is_known_before_a_card_is_made():
    made = a_set(rectangle("Tab", 12, 30))
    told = {text: card.title for card in finish(made) for text in card.warnings}
    common = {text for text in told if "the hanging hole" in text}
    assert common < set(told)
    notes = with_cards(review(made), made).notes
    assert {f"{title}: {text}" for text, title in told.items() if text not in common} <= set(notes)
    for text in common:  # of both cards, once
        assert [note for note in notes if text in note] == [f"Tab; Contents: {text}"]


def test_a_name_that_no_font_can_draw_is_a_fault_before_a_card_is_made():
    made = a_set(sound("Patch \U00013000"))  # an Egyptian hieroglyph
    (fault,) = with_cards(review(made), made).faults
    assert fault == (
        "Patch \U00013000: no font on this computer has \U00013000, of 'Patch \U00013000'. "
        "Install a font for that script, or name one: PLOTOUT_FONT=/folder/font.ttf."
    )


def test_a_language_without_a_font_is_named_in_plain_words(monkeypatch):
    """No letter but ASCII's is there, as on a computer without further fonts."""
    lacking = lambda text: "".join(sign for sign in text if not sign.isascii())  # noqa: E731
    monkeypatch.setattr("plotout.finish.every_card.undrawable", lacking)
    made = a_set(sound("Patch"), say=Tongue("ja"))
    (fault,) = with_cards(review(made), made).faults
    assert fault.startswith(
        'no font on this computer has all the letters that language = "ja" needs'
    )
    assert "\\u" not in fault
    assert len(fault) < 300
    many = "".join(map(chr, range(0x3042, 0x3052)))
    (fault,) = with_cards(review(a_set(sound(many))), a_set(sound(many))).faults
    assert f"no font on this computer has {', '.join(many[:8])}, ..., of '{many}'" in fault


def darted(leg):
    """Return a piece with a dart in its top, whose legs are 150 mm and `leg` mm long."""
    up = np.array([14.0, (150.0**2 - 14.0**2) ** 0.5])
    tip = np.array([200.0, 300.0 - up[1]])
    mouth = tip + up * leg / 150.0
    ends = [(0, 0), (400, 0), (400, 300), mouth, tip, (186, 300), (0, 300), (0, 0)]
    edges = (edge(f"e{n}", [a, b]) for n, (a, b) in enumerate(pairwise(ends)))
    return replace(sound(), edges=tuple(edges), grain=np.array([[60.0, 50.0], [60.0, 250.0]]))


KITE = [edge(f"e{n}", [a, b]) for n, (a, b) in enumerate(
    [((0, 0), (300, -29)), ((300, -29), (360, 0)), ((360, 0), (300, 29)), ((300, 29), (0, 0))]
)]  # fmt: skip


def hemmed(wide: float, corner: Corner = Corner.TURNED) -> Piece:
    foot, *others = sound().edges
    return replace(sound(), edges=(replace(foot, corner=corner, allowance=(wide, wide)), *others))


@pytest.mark.parametrize(
    ("piece", "told"),
    [
        (sound(splits=(Split(((50.0, 0.0), (50.0, 60.0)), 450.0),)), "450 mm wide: is its unit"),
        (sound(splits=(Split(((50.0, 0.0), (50.0, 60.0)), 40.0),)), ""),
        (sound(drills=(Drill((50.0, 30.0), 30.0),)), "x 50.0, y 30.0 is 30 mm wide: is its unit"),
        (sound(drills=(Drill((50.0, 30.0), 10.0),)), ""),
        (sound(notches=(Notch("foot", 40.0, style=NotchStyle(width=40.0)),)), "'foot' is 40 mm"),
        (sound(notches=(Notch("foot", 40.0, style=NotchStyle(width=9.0)),)), ""),
        (sound(derive=Derivation(Derive.COPY, smaller=20.0)), "it is 20 mm smaller on all sides"),
        (sound(derive=Derivation(Derive.COPY, smaller=2.0)), ""),
        (sound(derive=Derivation(Derive.FUSING, inset=30.0)), "its inset is 30 mm on all sides"),
        (sound(derive=Derivation(Derive.FUSING, inset=12.0)), ""),
        (replace(sound(), edges=(replace(sound().edges[0], facing=True), *sound().edges[1:])),
         "along 'foot' is only 12.7 mm deep"),
        (hemmed(4.0), "turned back along 'foot' is only 4 mm: is its unit right?"),
        (hemmed(2.0), "turned back along 'foot' is only 2 mm: is its unit right?"),
        (hemmed(1.0), "the allowance of 'foot' is 1 mm: is its unit right?"),
        (hemmed(6.0), ""),  # a rolled hem, common practice
        (hemmed(4.0, Corner.MITRE), ""),
        (replace(sound(), edges=tuple(KITE), grain=np.array([[100.0, 0.0], [300.0, 0.0]])),
         "has only 11 degrees: is a point wrong?"),
        (darted(150.0), ""),
        (darted(110.0), "has only 11 degrees: is a point wrong?"),
    ],
)  # fmt: skip
def test_parts_of_a_size_or_shape_that_is_seldom_meant_are_asked_about(piece, told):
    """A kite 58 mm wide and 300 from its point: 2 atan(29 / 300) = 11.04 degrees.

    A dart with
    legs of 150 mm, 28 mm apart: 2 asin(14 / 150) = 10.7.
    """
    notes = list(doubts(piece, Defaults()))
    assert [told in note for note in notes] == ([True] if told else [])


def folded_at(name: str, fold: str) -> Piece:
    return replace(sound(name), fold=fold)


def test_the_missing_allowance_of_a_fold_is_not_told_beside_the_fold_that_is_sewn():
    """A fold has no allowance: it is wrong to sew it, which is told, not how wide it is."""
    right = folded_at("B", "right")
    edges = [
        replace(edge, allowance=(0.0, 0.0)) if edge.name == "right" else edge
        for edge in right.edges
    ]
    pieces = sound("A"), replace(right, edges=tuple(edges))
    found = review(a_set(*pieces, seams=(seam(("A", "right"), ("B", "right")),)))
    assert [note for note in found.notes if "allowance" in note] == []
    assert any("'right' of 'B' lies on the fold" in fault for fault in found.faults)
