"""A folder of files to be cut holds what its list says, and nothing of another job is lost.

The reference is the folder itself: what lies in it before and after, byte for byte.
"""

from __future__ import annotations

import json
import unicodedata

import pytest
from click.testing import CliRunner

from plotout import UserError
from plotout.cli.make_command import make
from plotout.files import in_ascii, slug
from plotout.manifest import NAME, Job, write_files

ONE = Job("apron-m", {"set": "Apron", "size": "M"})
OTHER = Job("apron-m", {"set": "Apron!", "size": "M"})


def held(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != NAME}


def test_what_is_made_no_longer_goes_unless_somebody_changed_it(tmp_path):
    write_files(
        tmp_path, ONE, {"a-1": b"1", "a-2": b"2", "a-3": b"3", "m.csv": b"?"}, kept=["m.csv"]
    )
    (tmp_path / "a-3").write_bytes(b"mine")
    (tmp_path / "m.csv").write_bytes(b"measured")
    told = write_files(tmp_path, ONE, {"a-1": b"1b", "m.csv": b"?"}, kept=["m.csv"])
    assert held(tmp_path) == {"a-1": b"1b", "a-3": b"mine", "m.csv": b"measured"}
    assert "removed" in told[0]
    assert "a-2" in told[0]
    assert "kept" in told[1]
    listed = json.loads((tmp_path / NAME).read_text())["jobs"]["apron-m"]["files"]
    assert sorted(listed) == ["a-1", "m.csv"]


def test_a_part_of_a_job_leaves_the_rest(tmp_path):
    write_files(tmp_path, ONE, {"a-1": b"1", "a-2": b"2"})
    assert write_files(tmp_path, ONE, {"a-2": b"2b"}, part=True) == ()
    assert held(tmp_path) == {"a-1": b"1", "a-2": b"2b"}
    assert "a-1" in write_files(tmp_path, ONE, {"a-2": b"2"})[0]


@pytest.mark.parametrize("how", ["another job", "by hand", "changed"])
def test_what_is_not_its_own_is_never_replaced_silently(tmp_path, how):
    if how == "another job":
        write_files(tmp_path, OTHER, {"a-1": b"other"})
    else:
        (tmp_path / "a-1").write_bytes(b"by hand")
    if how == "changed":
        (tmp_path / "a-1").unlink()
        write_files(tmp_path, ONE, {"a-1": b"1"})
        (tmp_path / "a-1").write_bytes(b"changed")
    before = held(tmp_path)
    with pytest.raises(UserError, match="nothing was written"):
        write_files(tmp_path, ONE, {"a-0": b"0", "a-1": b"1b"})
    assert held(tmp_path) == before
    write_files(tmp_path, ONE, {"a-0": b"0", "a-1": b"1b"}, force=True)
    assert held(tmp_path) == {"a-0": b"0", "a-1": b"1b"}


def test_a_run_that_was_cut_short_knows_its_files_again(tmp_path, monkeypatch):
    write_files(tmp_path, ONE, {"a-1": b"1", "a-2": b"2"})

    def full(path, data):
        if path.name == "a-2":
            raise OSError("disk full")
        path.write_bytes(data)

    monkeypatch.setattr("plotout.manifest.write_whole", full)
    with pytest.raises(OSError, match="full"):
        write_files(tmp_path, ONE, {"a-1": b"1b", "a-2": b"2b"})
    monkeypatch.undo()
    write_files(tmp_path, ONE, {"a-1": b"1c", "a-2": b"2c"})
    assert held(tmp_path) == {"a-1": b"1c", "a-2": b"2c"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("no list", "list of files written here"),
        ("[" * 100_000, "list of files written here"),
        ('{"jobs": {"x": {"job": {}, "files": {"../a": []}}}}', "is not a file of this folder"),
        ('{"jobs": {"x": {"job": {}, "files": {"..": []}}}}', "is not a file of this folder"),
        ('{"jobs": {"x": {"job": {}, "files": {"a": "b"}}}}', "not a list of text"),
        ('{"jobs": {"x": {"job": {"set": "\\ud800"}, "files": {}}}}', "is not text"),
        ('{"jobs": {"x": {"job": {}}}}', "'files' is missing"),
    ],
)
def test_a_list_that_cannot_be_believed_is_refused(tmp_path, text, words):
    (tmp_path / NAME).write_text(text)
    with pytest.raises(UserError, match=words):
        write_files(tmp_path, ONE, {"a": b"1"})


NAMES = [
    "BK-01",
    "φόρεμα",
    "φορεμα",
    "ワンピース",
    "ドレス",
    "платье",
    "Платье 2",
    "Größe",
    "שמלה",
    "½",
]


def test_names_in_any_script_stay_apart_safe_and_readable():
    """Unicode Annex 15 for NFC; general categories for what is a letter or a figure."""
    found = [slug(name) for name in NAMES]
    assert len(set(found)) == len(NAMES)
    for name in found:
        assert all(unicodedata.category(letter)[0] in "LMN" or letter == "-" for letter in name)
        assert unicodedata.is_normalized("NFC", name)
        assert 0 < len(name.encode()) <= 60
    assert slug("ワンピース 2") == "ワンピース-2"
    assert slug("Größe") == slug("Gro\u0308ße".replace("o\u0308", "ö")) == "größe"
    assert slug("e\u0301") == slug("é")
    assert slug("x" * 70) != slug("x" * 71)
    assert slug("ワ" * 70) != slug("ワ" * 71)
    assert len(slug("ワ" * 70).encode()) <= 60


@pytest.mark.parametrize(
    "name", ["", " ", "../..", "a/b", "\\\\x", "a\0b", "\ud800", "\u202ea", ":*?<>|", "."]
)
def test_no_name_leaves_its_folder(name):
    found = slug(name)
    assert found
    assert not set(found) & set('/\\:*?"<>|.\0\u202e')
    found.encode()


def styled(folder, style: str, size: str):
    (folder / "a.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="120mm" viewBox="0 0 90 120">'
        '<path id="a" d="M0 0H90V120H0Z"/></svg>'
    )
    path = folder / "set.toml"
    path.write_text(
        f'[set]\nname = "Apron"\nstyle = "{style}"\nsize = "{size}"\n[[piece]]\nname = "Front"\n'
        'from = { file = "a.svg", outline = "#a" }\nline = "cutting"\n'
        'edges = ["foot", "right", "top", "left"]\ncut = [{ cloth = "self", count = 1 }]\n'
    )
    return str(path)


def test_sizes_of_a_style_and_styles_in_other_scripts_keep_their_own_files(tmp_path):
    out = tmp_path / "out"
    words = ["--machine", "laser", "--out", str(out), "--seconds", "0"]
    every = set()
    for style, size in [("A-1", "S"), ("A-1", "L"), ("φόρεμα", "M"), ("платье", "M")]:
        set_file = styled(tmp_path, style, size)
        done = CliRunner().invoke(make, [set_file, *words], catch_exceptions=False)
        assert done.exit_code == 0, done.output
        now = {path.name for path in out.glob("*.ngc")}
        assert every < now
        every = now
    assert len(every) == 4


def test_names_are_in_a_to_z_only_on_demand():
    assert in_ascii(slug("Größe 2")) == "grosse-2"
    assert in_ascii("bk-01") == "bk-01"
    spelt = {in_ascii(slug(name)) for name in NAMES}
    assert len(spelt) == len(NAMES)
    assert all(name.isascii() for name in spelt)
