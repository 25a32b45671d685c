"""Racks and small sets to put on them."""

import shutil
from pathlib import Path

import pytest

from plotout.rack import record
from plotout.rack.record import Entry
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


def entry(style="BK-01", size="M", **more):
    told = {
        "style": style, "size": size, "name": "Beekeeper's smock", "date": "2026-04-11",
        "put_at": "2026-04-12 09:00:00", "set_file": "set.toml",
        "files": {"set.toml": b"[set]\n", "body.csv": b"x,y,run,kind\n"},
        "pieces": ("Body", "Sleeve"),
        "place": "hook 12", "notes": "veil mesh: the fine one",
    }  # fmt: skip
    return Entry(**{**told, **more})


@pytest.fixture
def put(rack):
    return lambda **more: record.put(rack, entry(**more))
