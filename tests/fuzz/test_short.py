"""A short run of the fuzzer: whatever a door of plotout is given, it reads or refuses in words.

`tests/fuzz/long.py` is the same by hand, for hours. Seeds that went wrong once are kept in SEEDS.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fuzz.long import run
from fuzz.targets import TARGETS, Target
from plotout import PlotoutError

SEEDS = ("pricks/1/95", "pricks/1/36", "dxf block/1/17", "dxf block/1/21", "journal/1/3",
         "journal/1/15", "read hpgl2/1/75", "read gcode/1/31", "read laser/1/16", "read svg/1/9",
         "send hpgl/1/28", "send hpgl/1/89")  # fmt: skip


@pytest.mark.parametrize("target", TARGETS, ids=lambda each: each.name)
def test_sound_files_are_read(target: Target, tmp_path: Path) -> None:
    """Else nothing would be tried."""
    read = 0
    for nth, data in enumerate(target.sound()):
        folder = tmp_path / str(nth)
        folder.mkdir()
        try:
            target.take(data, folder)
            read += 1
        except PlotoutError:
            continue
    assert read


@pytest.mark.parametrize("target", TARGETS, ids=lambda each: each.name)
@settings(max_examples=25, deadline=None, derandomize=True, database=None,
          suppress_health_check=list(HealthCheck))  # fmt: skip
@given(number=st.integers(0, 10**9))
def test_any_variant_is_read_or_refused(target: Target, number: int) -> None:
    outcome, words = run(target, target.variant(f"{target.name}/ci/{number}"))
    assert outcome in ("read", "refused"), words


@pytest.mark.parametrize("seed", SEEDS)
def test_what_went_wrong_once(seed: str) -> None:
    target = next(each for each in TARGETS if each.name == seed.split("/", maxsplit=1)[0])
    outcome, words = run(target, target.variant(seed))
    assert outcome in ("read", "refused"), words


def test_a_fault_is_found() -> None:
    """The fuzzer's own check: what breaks is told as broken."""

    def breaks(_data: bytes, _folder: Path) -> None:
        raise KeyError("x")

    def hangs(_data: bytes, _folder: Path) -> None:
        raise MemoryError

    with tempfile.TemporaryDirectory():
        assert run(Target("a", lambda: [b""], breaks), b"")[0] == "FAULT"
        assert run(Target("a", lambda: [b""], hangs), b"")[0] == "MEMORY"
