"""A folder of files to be cut holds what its list says, and nothing of another job is lost.

The reference is the folder itself: what lies in it before and after, byte for byte.
"""

from __future__ import annotations

import json
import unicodedata
from pathlib import Path

import pytest
from click.testing import CliRunner

from plotout import UserError
from plotout.cli import plotout
from plotout.cli.make_command import make
from plotout.errors import MachineError
from plotout.files import in_ascii, slug
from plotout.manifest import NAME, Job, own_stem, write_files

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

    moved = Path.replace

    def stopped(path, target):
        if target.name == "a-2":
            raise KeyboardInterrupt
        return moved(path, target)

    monkeypatch.setattr(Path, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_files(tmp_path, ONE, {"a-1": b"1b", "a-2": b"2b"})
    monkeypatch.undo()
    assert held(tmp_path) == {"a-1": b"1b", "a-2": b"2"}
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
    assert slug("İÇ KEMER") == slug("I\u0307Ç kemer") == "iç-kemer"  # Unicode's i with a dot more
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


def test_styles_spelt_otherwise_get_files_of_their_own_and_keep_them(tmp_path):
    out = tmp_path / "out"
    words = ["--machine", "laser", "--out", str(out), "--seconds", "0"]
    made = {}
    for style in ("A 1", "A-1", "a-1", "A-1"):
        before = held(out) if out.exists() else {}
        done = CliRunner().invoke(make, [styled(tmp_path, style, "M"), *words])
        assert done.exit_code == 0, done.output
        assert before.items() <= held(out).items()
        [file] = [word for word in done.output.split() if word.endswith(".ngc")]
        assert made.setdefault(style, file) == file
        assert ("belong to another job" in done.output) == (style != "A 1")
    assert len({name.casefold() for name in made.values()}) == 3


def test_a_job_named_as_another_removes_none_of_its_files(tmp_path):
    write_files(tmp_path, OTHER, {"a-1": b"other"})
    assert write_files(tmp_path, ONE, {"b-1": b"1"}) == ()
    assert write_files(tmp_path, ONE, {"b-2": b"2"}) != ()
    assert held(tmp_path) == {"a-1": b"other", "b-2": b"2"}
    with pytest.raises(UserError, match="another job"):
        write_files(tmp_path, ONE, {"a-1": b"1"}, part=True)
    assert own_stem(tmp_path, OTHER) == "apron-m" != own_stem(tmp_path, ONE)
    assert own_stem(tmp_path, Job("Apron-M", {"set": "third"})) not in ("apron-m", "Apron-M")
    assert own_stem(tmp_path, Job("b", {"set": "third"})) == "b"
    # Unicode's case folding (section 5.18): a file system may take a final sigma for another
    write_files(tmp_path, Job("\u03c3\u03c2", {"set": "s"}), {"s": b""})
    assert own_stem(tmp_path, Job("\u03c3\u03c3", {"set": "t"})) != "\u03c3\u03c3"


def test_what_is_forced_belongs_to_the_job_that_wrote_it(tmp_path):
    write_files(tmp_path, OTHER, {"a-1": b"other"})
    write_files(tmp_path, ONE, {"a-1": b"1"}, force=True)
    assert write_files(tmp_path, ONE, {"a-1": b"1b"}) == ()
    with pytest.raises(UserError, match="another job"):
        write_files(tmp_path, OTHER, {"a-1": b"other"})
    assert held(tmp_path) == {"a-1": b"1b"}


@pytest.mark.parametrize("command", ["chart", "picture", "cloth"])
def test_papers_and_pictures_of_another_style_are_never_replaced_silently(tmp_path, command):
    """A chart gets names of its own; pictures are refused. Both sets are called set.toml."""
    out = tmp_path / "out"
    widths = ["--width", "900.2 mm", "--width", "899.8 mm", "--seconds", "0"]
    more = widths if command == "cloth" else []
    run = [command, styled(tmp_path, "A 1", "M"), "--out", str(out), *more]
    assert CliRunner().invoke(plotout, run).exit_code == 0
    before = held(out)
    assert len(before) == {"chart": 6, "picture": 2, "cloth": 4}[command]
    styled(tmp_path, "A-1", "M")
    drawing = tmp_path / "a.svg"
    drawing.write_text(drawing.read_text().replace("V120", "V110"))
    done = CliRunner().invoke(plotout, run)
    assert before.items() <= held(out).items()
    assert (done.exit_code == 0) == (len(held(out)) > len(before)) == (command == "chart")


def test_names_are_in_a_to_z_only_on_demand():
    assert in_ascii(slug("Größe 2")) == "grosse-2"
    assert in_ascii("bk-01") == "bk-01"
    spelt = {in_ascii(slug(name)) for name in NAMES}
    assert len(spelt) == len(NAMES)
    assert all(name.isascii() for name in spelt)


def test_a_disk_that_fills_up_leaves_every_file_of_the_earlier_run(tmp_path):
    """Not some sheets of the new lay beside some of the old. The bound is the system's own."""
    resource = pytest.importorskip("resource", reason="bounds of files are POSIX's")
    job = Job("a", {"set": "Apron"})
    old = {"a-sheet-01.plt": b"old", "a-sheet-02.plt": b"old"}
    write_files(tmp_path, job, old)
    before = {path.name for path in tmp_path.iterdir()}
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (2_000, limits[1]))
    try:
        with pytest.raises(MachineError, match="can't write it") as told:
            write_files(tmp_path, job, {"a-sheet-01.plt": b"new", "a-sheet-02.plt": b"n" * 3_000})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert told.value.place.file == tmp_path / "a-sheet-02.plt"
    assert {name: (tmp_path / name).read_bytes() for name in old} == old
    assert {path.name for path in tmp_path.iterdir()} == before
