"""Only ordinary files are read whole; a pipe would be waited for without end (POSIX, open())."""

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from plotout.errors import UserError
from plotout.files import cannot_write, open_ordinary, read_whole, rewrite_whole, slug
from plotout.kit import read_drawing

pytestmark = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are POSIX's")
ENDS_WITHIN = 60  # s; a command that hangs would fail the test


@pytest.mark.parametrize("kind", ["pipe", "folder", "device", "missing", "null in its name"])
def test_only_an_ordinary_file_is_opened(tmp_path, kind):
    path = tmp_path / "thing"
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "folder":
        path.mkdir()
    elif kind == "device":
        path = Path("/dev/zero")
    elif kind == "null in its name":
        path = tmp_path / "a\0b"
    with pytest.raises(UserError, match="can't read the drawing") as told:
        open_ordinary(path, "drawing")
    assert told.value.place.file == path


def test_no_more_is_read_than_is_accepted(tmp_path):
    path = tmp_path / "large"
    path.write_bytes(b"x" * 2048)
    assert read_whole(path, "drawing", 2048) == b"x" * 2048
    with pytest.raises(UserError, match="more than 1 KiB, too large for a drawing"):
        read_whole(path, "drawing", 2047)


SAMPLE = str(Path(__file__).parents[1] / "samples" / "beekeepers-smock" / "set.toml")
COMMANDS = [
    ("show", "pipe.toml"),
    ("make", SAMPLE, "--stock", "pipe.toml", "--machine", "laser", "--out", "out"),
    ("machines", "pipe.toml"),
    ("resume", "pipe.toml"),
    ("rack", "bring", "pipe.toml"),
    ("proof", "pipe.toml", "--machine", "laser"),
    ("send", "pipe.toml", "--machine", "laser", "--port", "file:sent"),
]


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_no_command_waits_for_a_pipe(tmp_path, words):
    os.mkfifo(tmp_path / "pipe.toml")
    result = _run(tmp_path, *words)
    assert result.returncode == 2, result.stderr
    assert "a pipe or a device" in result.stderr
    assert "pipe." in result.stderr


@pytest.mark.parametrize("suffix", ["svg", "dxf"])
def test_no_reader_waits_for_a_pipe(tmp_path, suffix):
    os.mkfifo(tmp_path / f"pipe.{suffix}")
    with pytest.raises(UserError, match="a pipe or a device"):
        read_drawing(tmp_path / f"pipe.{suffix}", {})


def test_a_pipe_among_the_users_profiles_does_not_hide_the_others(tmp_path):
    probe = _run(tmp_path, "machines", XDG_CONFIG_HOME=str(tmp_path / "config"))
    told = next(line for line in probe.stdout.splitlines() if "your own profiles" in line)
    folder = Path(told.split(" in ", 1)[1])
    assert folder.is_relative_to(tmp_path)
    folder.mkdir(parents=True)
    os.mkfifo(folder / "odd.toml")
    result = _run(tmp_path, "machines", XDG_CONFIG_HOME=str(tmp_path / "config"))
    assert "craft-cutter" in result.stdout
    assert "Not read: " in result.stderr
    assert "odd.toml" in result.stderr


def _run(folder, *words, **env):
    return subprocess.run(
        [sys.executable, "-c", "from plotout.cli import main; main()", *words],
        cwd=folder, env={**os.environ, "HOME": str(folder), **env},
        capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=ENDS_WITHIN,
    )  # fmt: skip


def test_names_that_differ_by_a_sign_have_files_of_their_own():
    names = ["AP", "AP+", "AP*", "AP/", "AP!", "AP:"]
    assert len({slug(name) for name in names}) == len(names)
    assert slug("Beekeeper's smock (M), front-left_2.") == "beekeepers-smock-m-front-left-2"


def test_a_file_of_the_users_keeps_its_permissions_and_its_link(tmp_path):
    real, link = tmp_path / "real.toml", tmp_path / "mine.toml"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    rewrite_whole(link, b"new")
    assert link.is_symlink()
    assert (real.read_bytes(), real.stat().st_mode & 0o777) == (b"new", 0o640)
    real.chmod(0o440)
    with pytest.raises(UserError, match="only to be read"):
        rewrite_whole(link, b"newer")
    assert real.read_bytes() == b"new"


@pytest.mark.parametrize(
    ("number", "code"),
    [
        (errno.EACCES, 2),  # the place was named by the user
        (errno.EROFS, 2),
        (errno.ENOENT, 2),
        (errno.ENAMETOOLONG, 2),
        (errno.ENOSPC, 1),  # a full disk, or one that fails, was not
        (errno.EIO, 1),
    ],
)
def test_a_place_that_cannot_be_written_is_the_users_a_disk_that_fails_is_not(number, code):
    """The meaning of the errors: POSIX.1-2017, Base Definitions, <errno.h>."""
    error = cannot_write(Path("out"), OSError(number, os.strerror(number)))
    assert error.exit_code == code
    assert os.strerror(number) in str(error)
    assert error.fix
