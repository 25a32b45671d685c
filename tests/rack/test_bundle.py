"""A set as one file: brought in whole or not at all. The container is ZIP (PKWARE APPNOTE),
read and written by the standard library.
"""

import io
import json
import zipfile

import pytest

from plotout.errors import UserError
from plotout.rack import bundle, putting, record
from plotout.rack.store import opened


def _with(data, **changes):
    """The bundle with parts put in its place, or taken out where None."""
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    parts.update({name.replace("__", "/"): value for name, value in changes.items()})
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for name, value in parts.items():
            if value is not None:
                new.writestr(name, value)
    return target.getvalue()


def test_there_and_back(rack, put, tmp_path):
    found = put(picture=b"PNG", profile=b"title = 'x'", details={"seams": []}, changes=("a",))
    data = bundle.export(rack, found)
    assert data == bundle.export(rack, found)
    with opened(tmp_path / "other.sqlite", create=True) as other:
        brought = putting.put(other, bundle.brought(data))
        assert record.files_of(other, brought) == record.files_of(rack, found)
        assert (brought.name, brought.place, brought.changes) == (found.name, found.place, ["a"])
        assert record.content_of(other, brought, "picture") == b"PNG"


@pytest.mark.parametrize(
    "name", ["../evil", "/etc/evil", "set/../../evil", "C:evil", "a\\b", "set//x"]
)
def test_nothing_leads_outside(rack, put, name):
    data = _with(bundle.export(rack, put()), **{name: b"x"})
    with pytest.raises(UserError, match="outside the set"):
        bundle.brought(data)


def test_every_damage_is_refused(rack, put):
    data = bundle.export(rack, put())
    listing = json.loads(zipfile.ZipFile(io.BytesIO(data)).read("rack.json"))
    listing["told"]["style"] = 7
    bad = [
        b"", b"nonsense", data[: len(data) // 2],
        _with(data, set__body_csv=b"more"),
        _with(data, **{"set/body.csv": b"changed"}),
        _with(data, **{"set/body.csv": None}),
        _with(data, **{"rack.json": None}),
        _with(data, **{"rack.json": b"[]"}),
        _with(data, **{"rack.json": json.dumps(listing).encode()}),
    ]  # fmt: skip
    for each in bad:
        with pytest.raises(UserError, match="can't be imported"):
            bundle.brought(each)


def test_no_flipped_byte_is_taken_for_the_set(rack, put):
    data = bundle.export(rack, put())
    whole = bundle.brought(data)
    for at in range(0, len(data), 7):
        flipped = data[:at] + bytes([data[at] ^ 0x41]) + data[at + 1 :]
        try:
            got = bundle.brought(flipped)
        except UserError:
            continue
        assert got == whole  # a byte that means nothing, such as a file's time


def test_bombs_are_refused(rack, put, monkeypatch):
    data = _with(bundle.export(rack, put()), big=b"\0" * 3_000_000)
    monkeypatch.setattr(bundle, "MOST_BYTES", 1_000_000)
    with pytest.raises(UserError, match="unpacks to more"):
        bundle.brought(data)
    monkeypatch.setattr(bundle, "MOST_FILES", 2)
    with pytest.raises(UserError, match="files; at most 2"):
        bundle.brought(data)
