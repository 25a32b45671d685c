"""Stock files: what they say is what there is, and every slip is told with its line."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout import UserError, job
from plotout.layout import load_stock, stock_for, stock_on
from plotout.layout.nesting.left_over import LeftOver, as_stock
from plotout.layout.stock.model import margins_for
from plotout.machine import Bed, Calibration, profile

GOOD = """
inside-cut-outs = true

[[sheet]]
name = "brown card"
length = "36 in"
width = "24 in"
count = 4
margins = "5 mm"
grain = "length"

[[off-cut]]
name = "left from BK-01"
outline = [[10, 0], [410, 0], [410, 180], [10, 300]]

[[roll]]
name = "plotter paper"
width = 610
longest = "20 m"
fold = "50 mm"
take-up = "150 mm"
"""


def _read(folder: Path, text: str) -> object:
    path = folder / "stock.toml"
    path.write_text(text)
    return load_stock(path)


def test_all_kinds(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    path.write_text(GOOD)
    sheet, off_cut, roll = load_stock(path).sheets
    assert (sheet.length, sheet.width, sheet.count) == pytest.approx((914.4, 609.6, 4))
    assert sheet.inner == pytest.approx((5, 5, 909.4, 604.6))
    assert sheet.angles == (90.0, 270.0)
    assert (off_cut.length, off_cut.width, off_cut.count) == (400, 300, 1)
    assert off_cut.free.area == pytest.approx(400 * 240)
    assert roll.roll
    assert roll.inner == (50, 0, 19_850, 610)
    assert load_stock(path).inside


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"36 in"', '"36 inn"', "line 6: .*length"),
        ("count = 4", "count = 0", "line 8: .*from 1"),
        ('margins = "5 mm"', 'margins = "320 mm"', "smaller than its margins"),
        ("width = 610", "width = 0", "line 18: .*more than 0"),
        ("[410, 180], [10, 300]", "[10, 300], [410, 180]", "crosses itself"),
        ("fold", "folded", "Did you mean 'fold'"),
        ('grain = "length"', 'grain = "up"', "Available: length, width"),
        ("[[sheet]]", "[[sheet]", "not TOML"),
    ],
)
def test_slips_are_told(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert old in GOOD
    with pytest.raises(UserError, match=words):
        _read(tmp_path, GOOD.replace(old, new, 1))


def test_no_stock_at_all(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no stock"):
        _read(tmp_path, "inside-cut-outs = false\n")
    with pytest.raises(UserError, match="can't read"):
        load_stock(tmp_path / "none.toml")


def test_on_a_machine_its_margins_hold(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    path.write_text('[[sheet]]\nname = "card"\nlength = 400\nwidth = 300\nmargins = [9, 0, 0, 0]\n')
    machine = profile.load("craft-cutter")
    sheet = stock_on(load_stock(path), machine).sheets[0]
    reach = 3 + 0.45  # its blade's pivot goes by its offset beyond a cut
    assert sheet.margins == pytest.approx((9, reach, reach, reach))
    path.write_text('[[sheet]]\nname = "card"\nlength = 400\nwidth = 306\n')
    with pytest.raises(UserError, match=r"card is 1\.2 mm too large in width"):
        stock_on(load_stock(path), machine)


def test_a_sheet_that_the_machine_cannot_hold_is_left_out(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    path.write_text(
        '[[sheet]]\nname = "small"\nlength = 400\nwidth = 300\n'
        '[[sheet]]\nname = "tall"\nlength = 300\nwidth = 500\n'
    )
    stock = stock_on(load_stock(path), profile.load("craft-cutter"))
    assert [sheet.name for sheet in stock.sheets] == ["small"]
    assert stock.unfit == ("tall is 195.2 mm too large in width for Craft cutter, 12 x 24 in mat",)
    path.write_text('[[sheet]]\nname = "tall"\nlength = 300\nwidth = 500\n')
    with pytest.raises(UserError, match=r"Turn it"):
        stock_on(load_stock(path), profile.load("craft-cutter"))


def test_every_shipped_machine_is_stock() -> None:
    for path in profile.shipped():
        machine = profile.load(path)
        window = stock_for(machine).window
        assert min(window) > 0
        assert max(window) <= max(machine.bed.length, machine.bed.width)


def test_left_over_goes_into_a_stock_file(tmp_path: Path) -> None:
    import numpy as np

    ring = np.array([[5, 5], [305, 5], [305, 205], [5, 205], [5, 5.0]])
    stock = _read(tmp_path, as_stock(LeftOver(ring, (5, 5, 300, 200)), 'of "today"'))
    assert (stock.sheets[0].length, stock.sheets[0].width) == (300, 200)  # type: ignore[attr-defined]


@settings(max_examples=100, deadline=None)
@given(
    st.floats(0.97, 1.03),
    st.floats(0.97, 1.03),
    st.floats(-3.0, 3.0),
    st.tuples(*[st.floats(0.0, 30.0)] * 4),
    st.tuples(st.floats(150.0, 3000.0), st.floats(150.0, 1500.0)),
)
def test_margins_follow_the_calibrated_bed_exactly(x, y, skew, margins, bed) -> None:
    """Sent through the inverse of the machine's own matrix (numpy's), no corner leaves the reach,
    and no side could be moved out by a hundredth of a mm."""
    machine = replace(
        job.load_machine("copy-shop"),
        bed=Bed(*bed, margins=margins),
        calibration=Calibration(x, y, skew),
    )
    lean = np.radians(skew)
    sends = np.linalg.inv([[x, y * np.sin(lean)], [0.0, y * np.cos(lean)]])
    left, bottom, right, top = margins_for(machine, *bed)
    low, high = np.array([left, bottom]), np.array(bed) - (right, top)

    def reached(low, high) -> bool:
        corners = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
        every = np.vstack([corners, corners @ sends.T])
        near = np.array(margins[:2]) - 1e-9
        far = np.array(bed) - margins[2:] + 1e-9
        return bool((every >= near).all() and (every <= far).all())

    assert reached(low, high)
    for axis in ([0.01, 0.0], [0.0, 0.01]):
        assert not reached(low - axis, high)
        assert not reached(low, high + np.array(axis))
