"""A piece that a seam takes several times, one after the other: panels along a visor or a band.

The reference is arithmetic on rectangles: two panels of 96 mm are as long as a visor of 192 mm.
"""

from __future__ import annotations

import pytest

from plotout.pattern.walk import walk

from .conftest import Build, rectangle

CAP = """
[[piece]]
name = "Panel"
from = { file = "panel" }
edges = ["base", "right", "top", "left"]
cut = { cloth = "self", count = 6 }
PANEL
[[piece]]
name = "Visor"
from = { file = "visor" }
edges = ["inner", "end", "outer", "start"]
cut = { cloth = "self", count = 2 }
VISOR
[[piece]]
name = "Band"
from = { file = "band" }
edges = ["crown", "back", "free", "front"]
fold = "front"
cut = { cloth = "self", count = 1, on-fold = true }
BAND
[[seam]]
name = "visor"
first = { piece = "Visor", edges = "inner" }
second = { piece = "Panel", edges = "base", times = 2 }
SEAM
[[seam]]
name = "band"
first = { piece = "Panel", edges = "base", times = 6 }
second = { piece = "Band", edges = "crown", times = 2 }
"""


def cap(build: Build, long: float = 192.0, **more: str):
    """Return the walked seams of a cap of six panels of 96 mm, and notches on its pieces."""
    text = CAP
    for name in ("PANEL", "VISOR", "BAND", "SEAM"):
        text = text.replace(name, more.get(name.lower(), ""))
    return walk(build(text, panel=rectangle(96), visor=rectangle(long), band=rectangle(288)))


def at(edge: str, *places: float) -> str:
    return "".join(f'[[piece.notch]]\nedge = "{edge}"\nat = "{place} mm"\n' for place in places)


def test_each_lap_is_walked_and_its_number_cut_is_right(build: Build) -> None:
    visor, band = cap(build)
    assert (visor.first, visor.second, band.first, band.second) == pytest.approx(
        (192, 192, 576, 576)
    )
    assert [(*seam.faults, *seam.notes) for seam in (visor, band)] == [(), ()]


def test_a_notch_may_show_where_two_laps_meet(build: Build) -> None:
    visor, band = cap(build, visor=at("inner", 96), band=at("crown", 96, 192))
    assert [(*seam.faults, *seam.notes) for seam in (visor, band)] == [(), ()]
    assert [(s.first, s.second) for s in visor.stretches] == [(96.0, 96.0)] * 2
    (off,) = cap(build, visor=at("inner", 92))[0].faults
    assert off == (
        "notch 4.0 mm off where 'Panel' and the next 'Panel' meet: at 92.0 mm of 'Visor', "
        "at 96.0 mm of 'Panel'"
    )


def test_each_lap_has_the_notches_of_its_piece(build: Build) -> None:
    visor, _ = cap(build, panel=at("base", 40), visor=at("inner", 40, 96 + 40))
    assert (visor.faults, visor.notes) == ((), ())
    visor, _ = cap(build, panel=at("base", 40), visor=at("inner", 40, 150))
    assert visor.faults == ("notch 150.0 mm along 'inner' of 'Visor' has no partner",)


def test_a_visor_too_long_is_told_by_all_its_laps(build: Build) -> None:
    visor, _ = cap(build, long=198.0)
    assert visor.faults == (
        "6.0 mm too long: 198.0 mm of 'Visor' to 192.0 mm of 'Panel', ease at most 0 mm",
    )


def at_seam(*places: float) -> str:
    return "".join(f'[[seam.notch]]\nat = "{place} mm"\n' for place in places)


@pytest.mark.parametrize("places", [(40,), (40, 150), (30, 96, 180)])
def test_a_seams_notches_are_on_every_lap_and_need_one_partner(build: Build, places) -> None:
    """All panels are cut from one card: a notch that the first lap needs is in the second, too."""
    visor, band = cap(build, seam=at_seam(*places))
    assert (visor.faults, band.faults) == ((), ())


FRILL = """
[[piece]]
name = "Frill"
from = { file = "frill" }
edges = ["gathered", "right", "hem", "left"]
cut = { cloth = "self", count = 3 }
[[piece]]
name = "Skirt"
from = { file = "skirt" }
edges = ["hem", "right", "waist", "fold"]
fold = "fold"
cut = { cloth = "self", count = 1, on-fold = true }
[[seam]]
name = "frill"
first = { piece = "Frill", edges = "gathered", times = 3 }
second = { piece = "Skirt", edges = "hem", times = 2 }
ease = ["600 mm", "600 mm"]
"""


@pytest.mark.parametrize("notches", ["", at_seam(300), at_seam(300, 900)])
def test_an_odd_number_of_lengths_goes_round_a_piece_on_the_fold(build: Build, notches) -> None:
    """Three lengths of 600 mm to twice 600: 1,800 to 1,200 mm, by hand."""
    (frill,) = walk(build(FRILL + notches, frill=rectangle(600), skirt=rectangle(600)))
    assert (frill.first, frill.second) == (1800.0, 1200.0)
    assert frill.faults == ()
    assert not [note for note in frill.notes if "compared past" in note]


def eased(*places: tuple[float, float]) -> str:
    return "".join(f"[[seam.notch]]\nat = {at}\nease = {ease}\n" for at, ease in places)


@pytest.mark.parametrize(
    "places",
    [
        [(200, 100)],
        [(200, 100), (300, 150)],  # mirrored, these are at 1000 and 900 of 1200 mm
        [(200, 100), (300, 150), (900, 450), (1000, 500)],
        [(700, 350), (1100, 550)],
    ],
)
def test_a_notch_with_half_its_length_in_ease_meets_the_place_for_which_it_was_made(
    build: Build, places
) -> None:
    """1,800 mm to 1,200, evenly: 1.5 mm to each 1, so that a notch at 200 mm has 100 mm more."""
    text = FRILL + eased(*places)
    (frill,) = walk(build(text, frill=rectangle(600), skirt=rectangle(600)))
    assert frill.faults == ()
    met = {(round(pair.first), round(pair.second)) for pair in frill.notches}
    assert {(at + ease, at) for at, ease in places} <= met
    assert all(first * 2 == second * 3 for first, second in met)


@pytest.mark.parametrize("places", [[(400, 200), (800, 400)], [(300, 0), (500, 100), (900, 590)]])
def test_a_seam_s_own_notches_meet_though_its_ease_is_uneven(build: Build, places) -> None:
    """Where a notch of one length ends up in another's, all lengths have it, and one is meant."""
    text = FRILL + eased(*places)
    (frill,) = walk(build(text, frill=rectangle(600), skirt=rectangle(600)))
    assert frill.faults == ()
    met = {(round(pair.first), round(pair.second)) for pair in frill.notches}
    assert {(at + ease, at) for at, ease in places} <= met
