"""What is compiled is kept whole and up to date, or done without."""

from __future__ import annotations

import errno
import logging
import os
import shutil
import subprocess
import sys
from importlib import metadata
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from plotout.route import cache
from plotout.route.compiled import compiled


def doubled(number: int) -> int:
    return number * 2


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    return cache.cache_folder()


def used_again():
    """Return whether the loop works in a process that has no compiler."""
    code = "import sys; sys.modules['numba'] = None; import test_cache as here\n"
    code += "sys.exit(here.compiled(here.doubled)(21) != 42)"
    return subprocess.run([sys.executable, "-c", code], cwd=Path(__file__).parent).returncode == 0


def kept(folder):
    return sorted(folder.glob("doubled-*"))


def test_what_is_kept_is_used_again(folder):
    assert compiled(doubled)(21) == 42
    assert used_again()


@pytest.mark.parametrize("harm", [
    lambda whole: whole[: len(whole) // 2],
    lambda whole: b"",
    lambda whole: whole[:-9] + bytes(9),
    lambda whole: bytes(32) + whole[32:],
])  # fmt: skip
def test_what_is_damaged_is_compiled_anew_with_a_word(folder, harm, caplog):
    compiled(doubled)(1)
    (file,) = kept(folder)
    whole = file.read_bytes()
    file.write_bytes(harm(whole))
    with caplog.at_level(logging.WARNING):
        assert compiled(doubled)(21) == 42
    assert "damaged" in caplog.text
    assert used_again()


@pytest.mark.parametrize("step", ["replace", "fdopen"])
def test_a_full_disk_is_done_without_with_a_word(folder, step, monkeypatch, caplog):
    def full(*_given, **_named):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, step, full)
    with caplog.at_level(logging.WARNING):
        assert compiled(doubled)(21) == 42
    assert "No space left on device" in caplog.text
    assert list(folder.iterdir()) == []


def test_a_user_without_a_home_folder_is_served(monkeypatch, caplog):
    monkeypatch.setattr(cache, "cache_folder", lambda: None)
    with caplog.at_level(logging.WARNING):
        assert compiled(doubled)(21) == 42
    assert "home folder" in caplog.text


def test_a_change_in_any_file_of_the_room_makes_another_version(tmp_path):
    room = Path(cache.__file__).parent
    for nth, name in enumerate(sorted(file.name for file in room.glob("*.py"))):
        copy = tmp_path / str(nth)
        shutil.copytree(room, copy, ignore=shutil.ignore_patterns("__pycache__"))
        assert cache.version(copy) == cache.version(room)
        other = tmp_path / f"{nth} changed"
        shutil.copytree(copy, other)
        (other / name).write_text((copy / name).read_text() + "\n")
        assert cache.version(other) != cache.version(room), name


@pytest.mark.parametrize("package", ["numba", "llvmlite", "numpy"])
def test_another_version_of_a_library_makes_another_version(package, monkeypatch):
    before, version = cache.version.__wrapped__(), metadata.version
    monkeypatch.setattr(metadata, "version", lambda name: "0" if name == package else version(name))
    assert cache.version.__wrapped__() != before


class Pair(NamedTuple):
    """Arrays of every kind, as loops get them."""

    table: np.ndarray
    some: np.ndarray


def filled(count: int, pair: Pair, scale: float, state: np.ndarray) -> float:
    total = 0.0
    for row in range(len(pair.table)):
        for column in range(pair.table.shape[1]):
            if pair.some[row]:
                pair.table[row, column] = np.log(scale) + row * count + column
            total += pair.table[row, column]
    state[0] += np.uint64(3)
    return total


def test_a_loop_works_on_arrays_and_tuples_as_python_does(folder):
    """Tables of 3 x 4, empty ones, flags and unsigned numbers; the reference is Python itself."""
    loop = compiled(filled)
    for rows in (3, 0, 1):
        some = np.arange(rows) % 2 == 0
        given = [(Pair(np.ones((rows, 4)), some), np.full(1, 2**63, np.uint64)) for _ in range(2)]
        got, wanted = (
            function(7, pair, np.float64(2.5), state)
            for function, (pair, state) in zip((loop, filled), given, strict=True)
        )
        assert got == wanted
        assert (given[0][0].table == given[1][0].table).all()
        assert given[0][1] == given[1][1] == 2**63 + 3


@pytest.mark.parametrize("given", [
    (1, Pair(np.ones((4, 3)).T, np.ones(3, bool)), 1.0, np.zeros(1, np.uint64)),
    ("1", Pair(np.ones((3, 4)), np.ones(3, bool)), 1.0, np.zeros(1, np.uint64)),
    (1, Pair(np.ones((3, 4), np.float32), np.ones(3, bool)), 1.0, np.zeros(1, np.uint64)),
    (1, Pair(np.ones((3, 4)), np.ones(3, bool)), True, np.zeros(1, np.uint64)),
])  # fmt: skip
def test_what_a_loop_does_not_take_is_refused(folder, given):
    """Memory in another order or size would be misread: numba's own loops compile for it anew."""
    with pytest.raises(TypeError, match="compiled functions"):
        compiled(filled)(*given)


def test_only_the_latest_versions_stay(folder):
    for nth in range(5):
        other = folder.parent / f"old {nth}"
        other.mkdir(parents=True)
        os.utime(other, (nth, nth))
    compiled(doubled)(21)
    assert {each.name for each in folder.parent.iterdir()} == {folder.name, "old 4", "old 3"}
