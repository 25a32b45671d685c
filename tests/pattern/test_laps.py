"""A piece that a seam takes several times, one after the other: panels along a visor or a band.

The reference is arithmetic on rectangles: two panels of 96 mm are as long as a visor of 192 mm.
"""

from __future__ import annotations

import numpy as np
import pytest

from plotout.pattern.walk import walk

from .conftest import Build


def rectangle(width: float, height: float = 60.0) -> np.ndarray:
    return np.array([[0, 0], [width, 0], [width, height], [0, height], [0, 0]], dtype=float)


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
    assert visor.faults == ("notch 14.0 mm off: at 150.0 mm of 'Visor', at 136.0 mm of 'Panel'",)


def test_a_visor_too_long_is_told_by_all_its_laps(build: Build) -> None:
    visor, _ = cap(build, long=198.0)
    assert visor.faults == (
        "6.0 mm too long: 198.0 mm of 'Visor' to 192.0 mm of 'Panel', ease at most 0 mm",
    )
