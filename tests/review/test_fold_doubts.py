"""Necks at the fold: Bezier curves, whose directions at their ends are those of their handles."""

from dataclasses import replace

import numpy as np
import pytest
from garments import edge, rectangle

from plotout.geometry.flatten import bezier_points
from plotout.pattern.model import Cut, Piece
from plotout.review.fold_doubts import fold_doubts


def front(handle, off, wide=70.0, drop=80.0):
    """Half a front whose neck ends at the fold, `off` degrees past square to it, as a peak."""
    low = np.array([0.0, 500.0 - drop])
    turned = handle * np.array([np.cos(np.radians(off)), -np.sin(np.radians(off))])
    tip = np.array([wide, 500.0])
    neck = bezier_points(np.array([tip, tip - (8.0, 0.6 * drop), low + turned, low]))
    corners = np.array([[0.0, 0.0], [260.0, 0.0], [240.0, 470.0], tip])
    edges = (
        edge("hem", corners[:2]),
        edge("side", corners[1:3]),
        edge("shoulder", corners[2:]),
        edge("neck", neck),
        edge("centre front", [neck[-1], [0.0, 0.0]], 0),
    )
    grain = np.array([[60.0, 60.0], [60.0, 300.0]])
    return Piece("Front", edges, (Cut("self", on_fold=True),), fold="centre front", grain=grain)


@pytest.mark.parametrize("handle", [15.0, 25.0, 42.0, 60.0])
@pytest.mark.parametrize("drop", [20.0, 70.0, 100.0])
def test_a_neck_that_ends_square_to_the_fold_is_not_asked_about(handle, drop):
    assert list(fold_doubts(front(handle, 0.0, drop=drop))) == []


@pytest.mark.parametrize("off", [1.0, 2.0, -1.5])
def test_a_neck_that_ends_nearly_square_is(off):
    (note,) = fold_doubts(front(42.0, off))
    assert f"it has a {'peak' if off > 0.0 else 'dip'} there" in note


@pytest.mark.parametrize(
    ("fold", "centre", "asked"),
    [
        ("hem", "centre front", True),
        ("lower hem", "Center", True),
        ("centre front", "centre front", False),
        ("hem", "front edge", False),  # folded up as its own lining
    ],
)
def test_a_hem_on_the_fold_is_asked_about_if_there_is_a_centre(fold, centre, asked):
    """A front or a back is mirrored at its centre: common practice."""
    made = rectangle("Front", 200.0, 400.0, grain=np.array([[60.0, 60.0], [60.0, 300.0]]))
    names = (fold if "hem" in fold else "hem", "side", "top", centre)
    edges = tuple(replace(one, name=name) for one, name in zip(made.edges, names, strict=True))
    notes = list(fold_doubts(replace(made, edges=edges, fold=fold)))
    assert len(notes) == asked
    assert all(f"'{fold}' lies on the fold, and '{centre}'" in note for note in notes)


def tie(low, high, wide=40.0, long=600.0):
    """Half a tie whose edges, low and high, open by so many mm from its fold to its end."""
    corners = np.array([[0.0, -low], [long, 0.0], [long, wide], [0.0, wide + high]])
    names = ("low", "fold", "high", "end")
    edges = tuple(
        edge(name, [corners[at], corners[(at + 1) % 4]], 0 if name == "fold" else 10)
        for at, name in enumerate(names)
    )
    grain = np.array([[50.0, 20.0], [500.0, 20.0]])
    return Piece("Tie", edges, (Cut("self", on_fold=True),), fold="fold", grain=grain)


@pytest.mark.parametrize(("low", "high"), [(15.0, 15.0), (-10.0, -10.0), (0.0, 0.0), (15.0, 14.0)])
def test_a_tie_that_tapers_evenly_is_not_asked_about(low, high):
    """15 mm over 600 are 1.43 degrees on either side, by hand; 14 are 1.34."""
    assert list(fold_doubts(tie(low, high))) == []


@pytest.mark.parametrize(
    ("low", "high", "asked"), [(15.0, 0.0, 1), (15.0, -15.0, 2), (15.0, 25.0, 2)]
)
def test_a_strip_that_opens_unevenly_is(low, high, asked):
    assert len(list(fold_doubts(tie(low, high)))) == asked


def test_a_piece_that_is_no_strip_is_too():
    assert len(list(fold_doubts(tie(15.0, 15.0, wide=400.0)))) == 2


@pytest.mark.parametrize(
    "name",
    [
        "fold",
        "centre fold",
        "Bruch",
        "Stoffbruch",
        "pliure",
        "わ",
        "vouw",
        "kat yeri",
        "Stoffold",
        "tygvikning",
        "vikkant",
        "taitereuna",
        "prehyb",
        "pregib",
        "îndoitură",
        "τσάκιση",
        "сгъвка",
    ],
)
@pytest.mark.parametrize(("fold", "words"), [(None, "cut as any other"), ("top", "'top' lies on")])
def test_an_edge_called_a_fold_that_is_none_is_asked_about(name, fold, words):
    """In any language; that of another name may be the slip."""
    made = rectangle("Fly", 60.0, 200.0, grain=np.array([[30.0, 20.0], [30.0, 180.0]]))
    names = ("foot", "side", "top", name)
    edges = tuple(replace(one, name=other) for one, other in zip(made.edges, names, strict=True))
    (note,) = fold_doubts(replace(made, edges=edges, fold=fold))
    assert f"'{name}' is called a fold, but" in note
    assert words in note
    assert list(fold_doubts(replace(made, edges=edges, fold=name))) == []


@pytest.mark.parametrize(
    "name", ["pli creux", "fold allowance", "fold-over edge", "turned fold hem"]
)
def test_a_name_with_another_word_beside_fold_is_no_folds(name):
    made = rectangle("Fly", 60.0, 200.0, grain=np.array([[30.0, 20.0], [30.0, 180.0]]))
    edges = (*made.edges[:3], replace(made.edges[3], name=name))
    assert list(fold_doubts(replace(made, edges=edges))) == []


@pytest.mark.parametrize("name", ["au pli", "milieu devant au pli", "linia złożenia", "前中心わ"])
def test_where_a_fold_is_may_stand_beside_the_word(name):
    made = rectangle("Fly", 60.0, 200.0, grain=np.array([[30.0, 20.0], [30.0, 180.0]]))
    edges = (*made.edges[:3], replace(made.edges[3], name=name))
    assert len(list(fold_doubts(replace(made, edges=edges)))) == 1
