"""What keeps a rack from harm: sound back-ups, what is left out stays, two alike sets."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest
from entries import entry

from plotout.errors import MachineError, UserError
from plotout.rack import bundle, care, putting, store


def test_a_damaged_rack_leaves_the_back_up_as_it_was(rack, put, tmp_path):
    put()
    target = tmp_path / "copy.sqlite"
    care.back_up(rack, target)
    good = target.read_bytes()
    rack.execute("UPDATE content SET packed = zeroblob(9)")
    with pytest.raises(MachineError, match="nothing was backed up"):
        care.back_up(rack, target)
    assert target.read_bytes() == good


def test_a_rack_begun_anew_leaves_the_back_up_of_the_old_one(rack, put, tmp_path):
    """Nothing is ever taken off a rack, so its own back-ups hold no version that it lacks."""
    put()
    put(place="hook 7")
    target = tmp_path / "copy.sqlite"
    care.back_up(rack, target)
    good = target.read_bytes()
    with store.opened(tmp_path / "new.sqlite", create=True) as anew:
        putting.put(anew, entry())
        with pytest.raises(UserError, match=r"holds 1 version .* such as BK-01:M:2"):
            care.back_up(anew, target)
    assert target.read_bytes() == good
    put(place="hook 8")
    care.back_up(rack, target)
    assert target.read_bytes() != good


def test_a_linked_back_up_stays_a_link(rack, put, tmp_path):
    put()
    (tmp_path / "link").symlink_to(tmp_path / "copy.sqlite")
    care.back_up(rack, tmp_path / "link")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "copy.sqlite").is_file()
    (tmp_path / "loop").symlink_to("loop")
    with pytest.raises(UserError, match="leads nowhere"):
        care.back_up(rack, tmp_path / "loop")


def test_a_damaged_page_is_called_damage(rack, put, tmp_path):
    """Not "run rack check", which could only say the same."""
    put()
    rack.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = (tmp_path / "rack.sqlite").read_bytes()
    torn = tmp_path / "torn.sqlite"
    torn.write_bytes(data[: len(data) // 2])
    with pytest.raises(MachineError, match="the rack is damaged"), store.opened(torn) as other:
        care.damage(other)


def test_what_a_broken_back_up_left_is_cleared(rack, put, tmp_path):
    put()
    old, new = tmp_path / ".copy.sqlite.abc", tmp_path / ".copy.sqlite.def"
    for each in (old, new):
        each.write_bytes(b"half")
    os.utime(old, (0, 0))
    care.back_up(rack, tmp_path / "copy.sqlite")
    assert not old.exists()
    assert new.exists()  # another may be at it now


def test_what_is_left_out_stays_as_it_was(rack, put):
    put(maker="Ada", place="hook 3", stock="brown card", notes="a note")
    again = put(place="", notes="")
    assert (again.number, again.maker, again.place, again.stock) == (
        1,
        "Ada",
        "hook 3",
        "brown card",
    )
    moved = put(place="hook 4", notes="")
    assert (moved.number, moved.maker, moved.place, moved.notes) == (2, "Ada", "hook 4", "a note")


def test_another_set_of_the_same_style_and_size_is_not_taken_for_a_version(rack, put):
    found = put(profile=b"scale-x = 1.0")
    entry = bundle.brought(bundle.export(rack, found))
    same = replace(entry, place="their hook", machine="theirs", profile=None)
    assert putting.with_record_of(rack, found, same) == entry  # nothing of theirs replaces ours
    other = replace(entry, files={name: data + b" " for name, data in entry.files.items()})
    with pytest.raises(UserError, match="is on the rack already") as caught:
        putting.with_record_of(rack, found, other)
    assert "--newest" in caught.value.fix


@pytest.mark.parametrize(
    ("table", "column", "value", "found"),
    [
        ("pattern", "style", b"\xff\x00", "blob, not text"),
        ("version", "number", "one", "text, not integer"),
        ("version", "details", b"{}", "blob, not text"),
        ("version", "maker", b"Ada", "blob, not text"),
    ],
)
def test_a_value_of_a_wrong_type_is_named(rack, put, table, column, value, found):
    """SQLite keeps a value of any type in any column (sqlite.org, "Datatypes in SQLite")."""
    put()
    assert care.damage(rack) == []
    rack.execute(f"UPDATE {table} SET {column} = ?", (value,))
    faults = [fault for fault in care.damage(rack) if fault.startswith(f"table {table}, ")]
    assert faults
    assert all(f"'{column}' is {found}" in fault for fault in faults)


def test_a_command_that_meets_one_sends_to_the_check(rack, put):
    put()
    rack.execute("UPDATE pattern SET style = ?", (b"\xff\x00",))
    path = Path(rack.execute("PRAGMA database_list").fetchone()["file"])
    with (
        pytest.raises(MachineError, match="a value in it is of the wrong type") as told,
        store.opened(path) as connection,
    ):
        connection.execute("SELECT style FROM pattern").fetchone()["style"].casefold()
    assert "plotout rack check" in told.value.fix
