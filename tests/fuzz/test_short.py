"""A short run of the fuzzer: whatever a door of plotout is given, it reads or refuses in words.

`tests/fuzz/long.py` is the same by hand, for hours. What went wrong once is kept in `found/`.
"""

from __future__ import annotations

import tempfile
import zlib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fuzz.targets import TARGETS, Target, named
from fuzz.worker import GOOD, run
from plotout import PlotoutError

FOUND = sorted((Path(__file__).parent / "found").glob("*.zlib"))


@pytest.mark.parametrize("target", TARGETS, ids=lambda each: each.name)
def test_sound_files_are_read(target: Target, tmp_path: Path) -> None:
    """Else nothing would be tried."""
    read = 0
    for nth, data in enumerate(target.sound()[:3]):
        folder = tmp_path / str(nth)
        folder.mkdir()
        try:
            target.take(data, folder)
            read += 1
        except PlotoutError:
            continue
    assert read


@pytest.mark.parametrize("target", TARGETS, ids=lambda each: each.name)
@settings(max_examples=8, deadline=None, derandomize=True, database=None,
          suppress_health_check=list(HealthCheck))  # fmt: skip
@given(number=st.integers(0, 10**9))
def test_any_variant_is_read_or_refused(target: Target, number: int) -> None:
    outcome, words = run(target, target.variant(f"{target.name}/ci/{number}"))
    assert outcome in GOOD, words


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.stem)
def test_what_went_wrong_once(path: Path) -> None:
    target = named(path.name.split("-")[0].replace("_", " "))
    outcome, words = run(target, zlib.decompress(path.read_bytes()))
    assert outcome in GOOD, words


def test_a_fault_is_found() -> None:
    """The fuzzer's own check: what breaks is told as broken."""

    def breaks(_data: bytes, _folder: Path) -> None:
        raise KeyError("x")

    def hangs(_data: bytes, _folder: Path) -> None:
        raise MemoryError

    with tempfile.TemporaryDirectory():
        assert run(Target("a", lambda: [b""], breaks), b"")[0] == "FAULT"
        assert run(Target("a", lambda: [b""], hangs), b"")[0] == "MEMORY"
