"""Wrong values of options: a clear word and exit code 2, before anything is done."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from plotout_svg import tree as svg

from plotout import plugins
from plotout.cli import plotout
from plotout.errors import UserError
from plotout.rack.store import opened
from plotout.tables.spreadsheet import MOST_ROWS

SET = '[set]\nname = "A"\nstyle = "A"\n[[piece]]\nname = "A"\nrectangle = ["90 mm", "60 mm"]\n'


@pytest.fixture
def run(tmp_path, monkeypatch):
    (tmp_path / "set.toml").write_text(SET)
    (tmp_path / "loop").symlink_to("loop")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PLOTOUT_RACK", str(tmp_path / "rack"))

    def _run(*words):
        made = CliRunner().invoke(plotout, words)
        assert made.exit_code == 2 or isinstance(made.exception, UserError), made.output
        return str(made.exception) if isinstance(made.exception, UserError) else made.output

    return _run


@pytest.mark.parametrize("seconds", ["nan", "inf", "-1", "1e9", "ten"])
def test_seconds_are_a_number_that_can_be(run, seconds):
    words = ("make", "set.toml", "--machine", "laser", "--out", "out", f"--seconds={seconds}")
    assert "--seconds" in run(*words)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("cloth", "set.toml", "--width", "140 cm", "--lean", "nan"), "--lean"),
        (
            ("cloth", "set.toml", "--width", "140 cm", "--repeat", "60", "--folded"),
            "--repeat 60 B, before --folded",
        ),
        (("cloth", "set.toml", "--width", "wide"), "'wide' is not a length"),
        (("make", "set.toml", "\u2014machine", "laser"), "type '--machine'"),
        (("rack", "find", "\u2013size", "M"), "type '--size'"),
        (("show", "\u201cset.toml\u201d"), "type '\"set.toml\"'"),
        (("\u201cshow\u201d", "set.toml"), "type '\"show\"'"),
        (("picture", "set.toml", "--out", "o", "--width", "0"), "--width"),
        (("make", "set.toml", "--ot", "o"), "--out"),
        (("proof", "none.plt", "--machine", "laser"), "can't read the file"),
        (("chart", "set.toml", "--out", "set.toml"), "it is a file, not a folder"),
        (("rack", "--at", "set.toml", "list"), "this file is not a rack"),
        (("rack", "--at", ".", "list"), "this is a folder, not a rack"),
        (("make", "set.toml", "--machine", "laser", "--out", ""), "the file or folder is empty"),
        (("picture", "set.toml", "--out", " "), "the file or folder is empty"),
        (("show", ""), "the file or folder is empty"),
        (("show", "x" * 300), "the file or folder is too long"),
        (("show", "/".join(["x" * 200] * 30)), "the file or folder is too long"),
        (("pricks", "a.png", "--out", "set.toml/b.csv"), "it is a file, not a folder"),
        (("pricks", "set.toml/a.png"), "it is a file, not a folder"),
        (("pricks", "a.png", "--out", "a.png"), "'a.png' must end in .csv or .tsv"),
        (("page", "set.toml", "--machine", "laser", "--out", "."), "is a folder, not a file"),
        (("page", "set.toml", "--machine", "laser", "--out", "a.pdf"), "must end in .html or .htm"),
        (
            ("make", "set.toml", "--machine", "laser", "--out", "loop/a"),
            "a link that leads nowhere",
        ),
        (("rack", "find", "\udcff"), "can't be shown"),
        (("show", "\udcff.toml"), "is not UTF-8. Rename it"),
        (("page", "set.toml", "--machine", "laser", "--out", "a\x1b[2J.html"), "can't be shown"),
        (("rack", "show", "a\x1b[2J"), "can't be shown"),
        (("show", "set.toml", "--piece", "x" * 400), "400 letters, more than 300"),
        (("rack", "bring", "set.toml"), "set.toml: this file can't be imported"),
        (("virtual", "hpgl", "--link", "a", "--drawn", "a.gif"), "must end in .png, .svg or .json"),
        (("send", "a", "--machine", "laser", "--drawn", "no/set.toml/a.png"), "can't read"),
        (("rack", "show", "A", "--picture", "a.jpg"), "'a.jpg' must end in .png"),
        (("virtual", "hpgl", "--link", "set.toml"), "is no port of a virtual machine"),
        (("virtual", "hpgl", "--link", "none/port"), "no port can be made there: No such file"),
        (("virtual", "hpgl", "--link", "."), "is no port of a virtual machine"),
        (("ports", "set.toml"), "is a file or a folder, not a port"),
        (("ports", "socket://localhost:99999"), "no number from 1 to 65535"),
        (("chart", "set.toml", "--out", "o", "--page", "9 m x 9 m"), "50 to 5080 mm"),
        (("chart", "set.toml", "--out", "o", "--page", "5 mm x 5 mm"), "50 to 5080 mm"),
        (("frame", "--out", "o", "--strips", "100000"), "numbered 1 to 97"),
        (("make", "set.toml", "--machine", "laser", "--out", "o", "--seconds", "5s"), "number"),
        (("rack", "--at", "x" * 300, "list"), "the file or folder is too long"),
        (("rack", "--at", "", "list"), "the file or folder is empty"),
        (("rack", "--at", "/dev/null", "put", "set.toml"), "this is not a file"),
        (("rack", "put", "set.toml", "--place", "hook\a1"), "--place"),
        (("rack", "out", "A", "--who", "a\x1b[2Jb"), "--who"),
        (("make", "set.toml", "--machine", "laser", "--out", "set.toml/x"), "not a folder"),
        (("show", "set.tmol"), "Did you mean 'set.toml'?"),
        (("show", "nofile.toml"), "Is the path right?"),
        (("show", "set.toml", "--size", "M"), "The set has no sizes"),
    ],
)
def test_what_cannot_be_is_refused(run, words, told):
    assert told in run(*words)


@pytest.mark.parametrize("data", [b"", b"\xff" * 4096, b"\n\n", b"IN;SP1;PU0,0;"])
@pytest.mark.parametrize("machine", ["craft-cutter", "laser", "gantry-knife", "home-a4"])
def test_the_proof_of_a_file_without_work_is_refused(run, tmp_path, data, machine):
    (tmp_path / "a.plt").write_bytes(data)
    run("proof", "a.plt", "--machine", machine)


def test_a_folder_that_cannot_be_written_is_told_before_anything_is_laid(run, monkeypatch):
    monkeypatch.setattr("plotout.job.open_set", lambda _: pytest.fail("begun"))
    made = CliRunner().invoke(
        plotout, ["make", "set.toml", "--machine", "laser", "--out", "/proc/x"]
    )
    assert isinstance(made.exception, UserError)
    assert "can't write it" in str(made.exception)


def test_a_rack_is_not_backed_up_to_itself(run, tmp_path):
    CliRunner().invoke(plotout, ["rack", "put", "set.toml"])
    assert (tmp_path / "rack").is_file()
    assert "the rack itself" in run("rack", "backup", "rack")


def test_a_backup_replaces_only_an_earlier_one(run, tmp_path):
    put = CliRunner().invoke(plotout, ["rack", "put", "set.toml"])
    assert put.exit_code == 0
    for content in (b"precious\n", b"", b"SQLite format 3\0" + bytes(200)):
        (tmp_path / "mine").write_bytes(content)
        assert "not a back-up of a rack" in run("rack", "backup", "mine")
        assert (tmp_path / "mine").read_bytes() == content
    (tmp_path / "folder").mkdir()
    assert "folder/rack.sqlite" in run("rack", "backup", "folder")
    assert list((tmp_path / "folder").iterdir()) == []
    for _ in range(2):
        assert CliRunner().invoke(plotout, ["rack", "backup", "copy"]).exit_code == 0


def test_an_empty_rack_does_not_replace_a_good_backup(run, tmp_path):
    CliRunner().invoke(plotout, ["rack", "put", "set.toml"])
    CliRunner().invoke(plotout, ["rack", "backup", "copy"])
    good = (tmp_path / "copy").read_bytes()
    (tmp_path / "rack").write_bytes(b"")
    assert "the rack's file is empty" in run("rack", "backup", "copy")
    assert (tmp_path / "rack").read_bytes() == b""
    (tmp_path / "rack").unlink()
    with opened(tmp_path / "rack", create=True):
        pass
    assert "1 version of sets that the rack lacks" in run("rack", "backup", "copy")
    assert (tmp_path / "copy").read_bytes() == good


def test_the_bounds_of_every_kind_of_file_are_told():
    said = CliRunner().invoke(plotout, ["explain", "limits"]).output
    assert f"{svg.MOST_SHAPES} shapes" in said
    assert f"{MOST_ROWS} rows" in said
    assert all(suffix in said for reader in plugins.readers() for suffix in reader.suffixes)
    for reader in plugins.readers():
        assert reader.most is not None, f"{reader.name} states no bounds"


def test_dashes_and_quotes_in_a_note_are_its_own(run):
    """Only what would be an option, a command or a file without them is questioned."""
    for note in ("\u2013 none \u2013", "\u201cfine\u201d", "\u2014"):
        done = CliRunner().invoke(plotout, ["rack", "put", "set.toml", "--notes", note])
        assert done.exit_code == 0, done.output


@pytest.mark.parametrize(
    "words",
    [
        ("calibrate", "home-a4"),
        ("chart", "set.toml"),
        ("frame",),
        ("nest", "set.toml", "--machine", "copy-shop"),
        ("picture", "set.toml"),
        ("strip", "--machine", "craft-cutter"),
        ("cloth", "set.toml", "--width", "140 cm"),
    ],
)
@pytest.mark.skipif(not Path("/proc").is_dir(), reason="no folder that holds no files")
def test_a_place_that_holds_no_files_is_the_users_slip_in_every_command(run, words):
    """In /proc nothing can be made: proc(5) of the Linux manual pages."""
    made = CliRunner().invoke(plotout, [*words, "--out", "/proc/nope"])
    assert isinstance(made.exception, UserError), made.exception
