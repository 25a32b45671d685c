"""A style that hangs in several sizes: each with its versions, and all as one style."""

import json

import numpy as np
import pytest
from click.testing import CliRunner

from plotout import UserError
from plotout.cli.rack_command import rack as rack_group
from plotout.cli.rack_hook import _must_be_of
from plotout.rack import bundle, record, sets, store

SET = """[set]
name = "Apron"
style = "AP-1"
[sizes]
base = "M"
range = ["S", "M", "L"]
table = { file = "growth.csv" }
[[piece]]
name = "Bib"
rectangle = [200, 300]
cut = [{ cloth = "self" }]
[[piece.grade]]
corner = ["bottom", "right"]
rule = "side"
[[piece.grade]]
corner = ["right", "top"]
rule = "side"
"""


@pytest.fixture
def rack(tmp_path):
    (tmp_path / "set.toml").write_text(SET)
    (tmp_path / "growth.csv").write_text("name,what,S,M,L\nside,x,-10,0,12\n")

    def run(*words, code=0):
        given = [str(tmp_path / "set.toml") if word == "SET" else word for word in words]
        done = CliRunner().invoke(rack_group, ["--at", str(tmp_path / "rack.db"), *given])
        assert done.exit_code == code, done.output
        return done.output

    return run


def test_a_size_is_added_to_its_style(rack, tmp_path):
    rack("put", "SET", "--size", "L", "--size", "M", "--place", "hook 1")
    rack("put", "SET", "--size", "S", "--place", "hook 2")
    rack("out", "AP-1:M", "--who", "cutting room")
    told = rack("show", "AP-1").splitlines()
    assert told[0] == "AP-1  Apron, 3 sizes"
    assert [line.split()[0] for line in told[1:]] == ["S", "M", "L"]  # the range's order
    assert "hook 2" in told[1]
    assert "cutting room has it" in told[2]
    assert rack("list").splitlines() == told
    assert "AP-1:S:1" in rack("find", "apron", "--size", "S")
    assert "AP-1:M" not in rack("find", "apron", "--size", "S")
    with (
        store.opened(tmp_path / "rack.db") as connection,
        pytest.raises(UserError, match="in several sizes") as refused,
    ):
        record.named(connection, "AP-1")
    assert "AP-1:S, AP-1:M, AP-1:L" in refused.value.fix


def test_each_size_has_versions_and_changes_of_its_own(rack, tmp_path):
    rack("put", "SET", "--size", "all")
    (tmp_path / "growth.csv").write_text("name,what,S,M,L\nside,x,-10,0,15\n")
    told = rack("put", "SET", "--size", "M", "--size", "L")
    assert "AP-1:L:2" in told
    assert "AP-1:S:1" in rack("find", "apron", "--size", "S")
    changed = json.loads(rack("compare", "AP-1:L:1", "AP-1:L:2", "--json"))["changes"]
    assert any(change["mm"] == pytest.approx(3.0) for change in changed)
    told = rack("compare", "AP-1:M:1", "AP-1:M:2")  # M itself is as it was
    assert told == "files that differ: growth.csv\n"
    assert rack("compare", "AP-1:M:1", "AP-1:M:1") == "Nothing changed.\n"
    between = json.loads(rack("compare", "AP-1:M", "AP-1:L", "--json"))["changes"]
    assert any(change["mm"] == pytest.approx(15.0) for change in between)


def test_a_size_is_recut_as_it_was(rack, tmp_path):
    """The growth table is kept with the set: 200 + 12 mm, and an allowance on both sides."""
    rack("put", "SET", "--size", "all", "--machine", "svg-file")
    (tmp_path / "growth.csv").unlink()
    told = json.loads(rack("recut", "AP-1:L", "--out", str(tmp_path / "again"), "--json"))
    assert any("apron-ap-1-l-svg-file" in name for name in told["files"])
    shown = json.loads(rack("show", "AP-1:L", "--json"))
    assert shown["sizes"] == ["S", "M", "L"]
    with store.opened(tmp_path / "rack.db") as connection:
        pattern_set = sets.pattern_of(connection, record.named(connection, "AP-1:L"))
    assert np.ptp(pattern_set.pieces[0].outline, axis=0) == pytest.approx([212, 300])


def test_the_journal_of_another_size_is_refused(rack, tmp_path):
    rack("put", "SET", "--size", "all")
    with store.opened(tmp_path / "rack.db") as connection:
        found = record.named(connection, "AP-1:L")
    sizes = ["S", "M", "L"]
    for name in ("apron-ap-1-l-laser-sheet-01.ngc", "apron-ap-1-s-l-laser-sheet-01.ngc"):
        _must_be_of(found, sizes, tmp_path / name, tmp_path / "a.journal")
    for name in ("apron-ap-1-s-laser-sheet-01.ngc", "smock-bk-1-l-laser-sheet-01.ngc"):
        with pytest.raises(UserError, match="is not a file of AP-1:L"):
            _must_be_of(found, sizes, tmp_path / name, tmp_path / "a.journal")


def test_a_style_goes_out_comes_back_and_moves_to_another_rack_whole(rack, tmp_path):
    def refused(*words, at="rack.db"):
        done = CliRunner().invoke(rack_group, ["--at", str(tmp_path / at), *words])
        assert isinstance(done.exception, UserError), done.output
        return str(done.exception)

    rack("put", "SET", "--size", "all", "--place", "hook 1")
    rack("out", "AP-1:S", "--who", "sample room")
    assert "AP-1:S' is out: sample room" in refused("out", "AP-1:all", "--who", "cutter")
    assert "All of them are AP-1:all." in refused("out", "AP-1", "--who", "cutter")
    assert "cutter" not in rack("list")  # all of them, or none
    rack("back", "AP-1:all")
    assert rack("out", "AP-1:all", "--who", "cutter").count("cutter has it") == 3
    assert "AP-1:L:1" in rack("back", "AP-1:all")
    assert "none of 'AP-1:S', 'AP-1:M', 'AP-1:L' is out" in refused("back", "AP-1:all")
    assert "'XX-9' is not on the rack" in refused("export", "XX-9:all", "--out", "x.zip")

    file = str(tmp_path / "style.zip")
    rack("export", "AP-1:all", "--out", file)
    other = ("--at", str(tmp_path / "other.db"))
    for _ in range(2):  # the same again changes nothing
        done = CliRunner().invoke(rack_group, [*other, "bring", file])
        assert done.exit_code == 0, done.output
    unchanged = "  Apron\n  it is on the rack already, unchanged\n"
    assert done.output == "".join(
        f"AP-1:{size}:1{unchanged.replace('Apron', 'Apron; hook 1')}" for size in "SML"
    )
    (tmp_path / "growth.csv").write_text("name,what,S,M,L\nside,x,-10,0,15\n")
    rack("put", "SET", "--size", "L")
    rack("export", "AP-1:all", "--out", file, "--force")
    assert "'AP-1:L' is on the rack already" in refused("bring", file, at="other.db")
    listed = CliRunner().invoke(rack_group, [*other, "list"]).output
    assert "L  version 1" in listed


def test_an_unsound_style_is_refused_whole(rack, tmp_path):
    rack("put", "SET", "--size", "all")
    with store.opened(tmp_path / "rack.db") as connection:
        sizes = record.sizes_of(connection, "AP-1")
        for wrong in (sizes[:1] * 2, [*sizes, sizes[0]]):
            with pytest.raises(UserError, match="not different sizes of one style"):
                bundle.all_brought(bundle.export_all(connection, wrong))
        data = bundle.export_all(connection, sizes)
        one = bundle.export(connection, sizes[1])
    assert [entry.size for entry in bundle.all_brought(data)] == ["S", "M", "L"]
    assert [entry.size for entry in bundle.all_brought(one)] == ["M"]
    for at in range(40, len(data), len(data) // 12):
        flipped = data[:at] + bytes([data[at] ^ 0xFF]) + data[at + 1 :]
        try:
            got = bundle.all_brought(flipped)
        except UserError:
            continue
        assert got == bundle.all_brought(data)  # a byte that the container does not use


def test_what_is_brought_is_compared_with_what_is_here(rack, tmp_path):
    """What changed on the other rack is not what changes on this one."""
    rack("put", "SET", "--place", "their hook")
    (tmp_path / "set.toml").write_text(SET.replace("Apron", "Their apron"))
    assert "name: 'Apron' is now 'Their apron'" in rack("put", "SET")
    assert "  it is on the rack already, unchanged\n" in rack("put", "SET")
    file = str(tmp_path / "theirs.zip")
    rack("export", "AP-1", "--out", file)
    here = ("--at", str(tmp_path / "here.db"))
    new = rack(*here, "bring", file)
    assert "  on the rack that it came from: name: 'Apron' is now 'Their apron'" in new
    (tmp_path / "set.toml").write_text(SET.replace("Apron", "My apron"))
    rack(*here, "put", "SET", "--place", "my hook")
    with pytest.raises(UserError, match="with other files"):
        raise CliRunner().invoke(rack_group, [*here, "bring", file]).exception
    told = rack(*here, "bring", file, "--newest").splitlines()
    assert told[1:] == [
        "  name: 'My apron' is now 'Their apron'",
        "  place: 'my hook' is now 'their hook'",
        "  files that differ: set.toml",
    ]


def test_another_version_than_the_one_that_is_out_is_not_brought_back(rack, tmp_path):
    rack("put", "SET")
    rack("out", "AP-1:M:1", "--who", "cutting room")
    (tmp_path / "set.toml").write_text(SET.replace("Apron", "Smock"))
    rack("put", "SET")
    words = ["--at", str(tmp_path / "rack.db"), "back", "AP-1:M:2"]
    with pytest.raises(UserError, match="cutting room has version 1"):
        raise CliRunner().invoke(rack_group, words).exception
    assert "cutting room has version 1" in rack("list")
    assert rack("back", "AP-1") == "AP-1:M:2  Smock\n"
