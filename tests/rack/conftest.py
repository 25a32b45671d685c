"""Racks and small sets to put on them."""

import shutil
from pathlib import Path

import pytest
from entries import entry

from plotout.rack import record
from plotout.rack.store import opened

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock"


@pytest.fixture
def rack(tmp_path):
    with opened(tmp_path / "rack.sqlite", create=True) as connection:
        yield connection


@pytest.fixture
def sample(tmp_path):
    """A copy of the sample set that may be changed."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "smock")) / "set.toml"


@pytest.fixture
def put(rack):
    return lambda **more: record.put(rack, entry(**more))
