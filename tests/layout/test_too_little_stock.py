"""Stock that can't hold a set: refused before the set is cut up for every small off-cut."""

import pytest

from plotout import job
from plotout.cli import plotout
from plotout.errors import UserError

STOCK = """
[[sheet]]
name = "card"
length = "600 mm"
width = "400 mm"
count = 1

[[off-cut]]
name = "square"
outline = [[0, 0], [350, 0], [350, 340], [0, 340]]

[[off-cut]]
name = "strip"
outline = [[0, 0], [560, 0], [560, 90], [0, 90]]

[[off-cut]]
name = "thin strip"
outline = [[0, 0], [560, 0], [560, 70], [0, 70]]
"""
PIECE = """
[[piece]]
name = "Panel {number}"
rectangle = ["300 mm", "320 mm"]
cut = {{ cloth = "self" }}
grain = {{ along = "left" }}
"""


def test_no_card_is_made_for_sheets_on_which_the_set_is_in_scraps(tmp_path, monkeypatch):
    """Four panels of 300 by 320 mm are four cards of three on the square, and 20 on a strip."""
    (tmp_path / "stock.toml").write_text(STOCK)
    pieces = "".join(PIECE.format(number=number) for number in range(4))
    (tmp_path / "set.toml").write_text(
        f'[set]\nname = "P"\nstyle = "P"\nsize = "M"\n[defaults]\nallowance = 0\n{pieces}'
    )
    windows = []
    finished = job.finished

    def counted(request):
        windows.append(min(request.stock.window))
        return finished(request)

    monkeypatch.setattr(job, "finished", counted)
    words = ["make", str(tmp_path / "set.toml"), "--machine", "svg-file", "--seconds", "0"]
    words += ["--stock", str(tmp_path / "stock.toml"), "--out", str(tmp_path / "out")]
    with pytest.raises(UserError, match="too few sheets"):
        plotout.main(words, standalone_mode=False)
    assert 90.0 in windows
    assert min(windows) > 80.0
