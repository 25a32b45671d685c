"""Racks and small sets to put on them."""

import re
import shutil
from pathlib import Path

import pytest
from entries import entry

from plotout.rack import putting
from plotout.rack.store import opened

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock"
FEW = {"Body", "Gusset", "Elbow patch", "Loop", "Neck facing", "side", "gusset to front"}


@pytest.fixture
def rack(tmp_path):
    with opened(tmp_path / "rack.sqlite", create=True) as connection:
        yield connection


@pytest.fixture
def few(tmp_path):
    """Some pieces of the sample set, from each kind of drawing, that may be changed."""
    path = Path(shutil.copytree(SAMPLE, tmp_path / "smock")) / "set.toml"
    head, *parts = re.split(r"\n(?=\[\[(?:piece|seam)\]\])", path.read_text("utf-8"))
    kept = [part for part in parts if re.search(r'^name = "(.*)"', part, re.M)[1] in FEW]
    assert len(kept) == len(FEW)
    path.write_text("\n".join([head, *kept]), "utf-8")
    return path


@pytest.fixture
def put(rack):
    return lambda **more: putting.put(rack, entry(**more))
