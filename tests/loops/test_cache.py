"""What is compiled is kept whole and up to date, or done without."""

from __future__ import annotations

import errno
import logging
import os
import shutil
from pathlib import Path

import pytest

from plotout.loops import cache
from plotout.loops.compiled import compiled


def doubled(number: int) -> int:
    return number * 2


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    return cache.cache_folder()


def kept(folder):
    return sorted(folder.glob("doubled-*"))


def test_what_is_kept_is_used_again(folder):
    assert compiled(doubled)(21) == 42
    again = compiled(doubled)
    assert again(21) == 42
    assert sum(again.stats.cache_hits.values()) == 1


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
    again = compiled(doubled)
    again(21)
    assert sum(again.stats.cache_hits.values()) == 1


def test_what_a_package_was_built_with_is_used_where_the_user_has_none(folder, monkeypatch):
    compiled(doubled)(1)
    package = folder.parent / "package"
    shutil.move(folder, package / folder.name)
    monkeypatch.setattr(cache, "SHIPPED", package)
    again = compiled(doubled)
    assert again(21) == 42
    assert sum(again.stats.cache_hits.values()) == 1
    assert not folder.exists()


def test_what_was_kept_for_another_processor_is_left_alone(monkeypatch):
    here = cache.version.__wrapped__()
    monkeypatch.setattr("llvmlite.binding.get_host_cpu_name", lambda: "another")
    assert cache.version.__wrapped__() != here


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


def test_a_change_in_any_file_with_loops_makes_another_version(tmp_path):
    package = Path(cache.__file__).parents[1]
    files = [file for some in cache.MADE_FROM for file in package.glob(some)]
    assert len(files) > 15
    for file in files:
        copy = tmp_path / file.relative_to(package)
        copy.parent.mkdir(exist_ok=True)
        shutil.copyfile(file, copy)
    assert cache.version(tmp_path) == cache.version(package)
    for file in files:
        copy = tmp_path / file.relative_to(package)
        copy.write_text(file.read_text() + "\n")
        assert cache.version.__wrapped__(tmp_path) != cache.version(package), file
        copy.write_text(file.read_text())


def test_every_file_with_loops_is_among_those():
    package = Path(cache.__file__).parents[1]
    known = {file for some in cache.MADE_FROM for file in package.glob(some)}
    using = {file for file in package.rglob("*.py") if "loops.compiled import" in file.read_text()}
    assert {file for file in using if "@compiled" in file.read_text()} <= known


@pytest.mark.parametrize("package", ["numba", "numpy"])
def test_another_version_of_a_library_makes_another_version(package, monkeypatch):
    before = cache.version.__wrapped__()
    monkeypatch.setattr(f"{package}.__version__", "0")
    assert cache.version.__wrapped__() != before


def test_only_the_latest_versions_stay(folder):
    for nth in range(5):
        other = folder.parent / f"old {nth}"
        other.mkdir(parents=True)
        os.utime(other, (nth, nth))
    compiled(doubled)(21)
    assert {each.name for each in folder.parent.iterdir()} == {folder.name, "old 4", "old 3"}
