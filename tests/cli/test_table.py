"""Tables on narrow terminals. Widths of letters: Unicode Annex 11, as rich reckons them."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from plotout.cli.table import columns_of, table

HEAD = ("", "edge", "mm", "known to", "from x, y", "to x, y", "allowance")
ROWS = [
    ("1", "centre front of the veil collar", "301.5", "± 0.3", "0.0, 1.0", "0.0, 302.5", "12.7"),
    ("2", "前中心", "1.5", "", "0.0, 1.0", "0.0, 2.5", "0"),
]


@pytest.mark.parametrize("width", [24, 40, 60, 80, 200])
def test_a_table_fits_its_terminal_and_loses_nothing(width):
    told = table(HEAD, ROWS, width)
    assert max(cell_len(line) for line in told.splitlines()) <= width
    squeezed = "".join(told.split())
    for row in ROWS:
        for cell in row:
            if width >= 60 and " " not in cell:
                assert cell in told
            assert all(word in squeezed for word in cell.split())


@pytest.mark.parametrize("width", [0, 1, 2, 9])
def test_a_terminal_of_hardly_any_width_is_no_fault(width):
    assert "301.5" in table(HEAD, ROWS, width)


def test_columns_stand_under_one_another():
    lines = table(("a", "mm"), [("前中心", "1"), ("hem", "22")]).splitlines()
    assert len({cell_len(line) for line in lines}) == 1


@pytest.mark.parametrize("text", ["abc", "前中心", "e\u0301", "الأمام"])
def test_columns_of_letters(text):
    assert columns_of(text) == cell_len(text)
