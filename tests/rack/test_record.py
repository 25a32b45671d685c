"""Putting, finding, lending: what SQLite itself promises is checked through it (sqlite.org)."""

import sqlite3

import pytest

from plotout.errors import MachineError, UserError
from plotout.rack import care, loans, record
from plotout.rack.store import kept, opened


def test_same_set_is_the_same_version_and_a_changed_one_is_new(rack, put):
    first = put()
    assert put().id == first.id
    changed = put(files={"set.toml": b"[set]\n# changed\n"})
    assert (first.number, changed.number) == (1, 2)
    assert record.files_of(rack, record.named(rack, "BK-01:M:1"))["set.toml"] == b"[set]\n"
    assert record.named(rack, "BK-01").number == 2


@pytest.mark.parametrize("words", ["smock", "BK-01", "sleeve body", "hook 12", "mesh", "2026-04-11",
                                   "slee", "béekeeper's"])  # fmt: skip
def test_found_by_any_of_its_words(rack, put, words):
    put()
    put(style="AP-02", name="Apron", pieces=("Bib",), place="shelf", notes="", date="2025-01-01")
    assert [found.style for found in record.find(rack, words)] == ["BK-01"]


@pytest.mark.parametrize("words", ['"', "AND OR", "a*b(", "NEAR(", "; DROP TABLE version"])
def test_search_words_are_never_commands(rack, put, words):
    put()
    assert record.find(rack, words) == []
    assert record.listed(rack)


def test_sizes_must_be_told_apart(rack, put):
    put(size="M")
    put(size="L")
    with pytest.raises(UserError, match="several sizes"):
        record.named(rack, "BK-01")
    assert record.named(rack, "BK-01:L").size == "L"
    with pytest.raises(UserError) as told:
        record.named(rack, "BK-10:L")
    assert "BK-01" in told.value.fix


def test_out_once_and_back_once(rack, put):
    found = put()
    loans.take_out(rack, [found], "cutting room", "2026-05-01")
    with pytest.raises(UserError, match="is out"):
        loans.take_out(rack, [record.named(rack, "BK-01")], "somebody", "2026-05-02")
    assert record.named(rack, "BK-01").who == "cutting room"
    loans.bring_back(rack, [found], "2026-05-03")
    with pytest.raises(UserError, match="not out"):
        loans.bring_back(rack, [found], "2026-05-04")


def test_the_version_that_is_out_is_told(rack, put):
    for count in range(30):
        put(files={"set.toml": b"[set]\n", "body.csv": b"%d" % count})
    third = record.named(rack, "BK-01:M:3")
    loans.take_out(rack, [third], "cutting room", "2026-05-01")
    (newest,) = record.listed(rack)
    assert newest.number == 30
    assert newest.loan == "cutting room has version 3 since 2026-05-01"
    assert record.named(rack, "BK-01:M:3").loan == "cutting room has it since 2026-05-01"
    with pytest.raises(UserError, match="is out: cutting room has version 3"):
        loans.take_out(rack, [newest], "somebody", "2026-05-02")


def test_damage_is_found_and_named(rack, put, tmp_path):
    put()
    assert care.damage(rack) == []
    rack.execute("UPDATE content SET packed = zeroblob(5)")
    faults = care.damage(rack)
    assert len(faults) == 2
    assert any("body.csv of BK-01:M:1" in fault for fault in faults)
    digest = rack.execute("SELECT hash FROM content").fetchone()[0]
    with pytest.raises(MachineError, match="damaged"):
        kept(rack, digest)


def test_backup_while_in_use_is_a_whole_rack(rack, put, tmp_path):
    put()
    rack.execute("BEGIN IMMEDIATE")  # a writer in the middle of something
    rack.execute("ROLLBACK")
    care.back_up(rack, tmp_path / "copy.sqlite")
    with opened(tmp_path / "copy.sqlite") as copy:
        assert record.named(copy, "BK-01").name == "Beekeeper's smock"
        assert care.damage(copy) == []


def test_other_databases_and_newer_racks_are_refused(tmp_path):
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE t (x)")
    with pytest.raises(UserError, match="not a rack"), opened(other):
        pass
    mine = tmp_path / "mine.sqlite"
    with opened(mine, create=True) as connection:
        connection.execute("PRAGMA user_version = 99")
    with pytest.raises(UserError, match="newer plotout"), opened(mine):
        pass
    with pytest.raises(UserError, match="no rack here"), opened(tmp_path / "none.sqlite"):
        pass
    garbage = tmp_path / "garbage.sqlite"
    garbage.write_bytes(b"not a database at all" * 100)
    with pytest.raises(UserError, match="not a rack"), opened(garbage):
        pass
