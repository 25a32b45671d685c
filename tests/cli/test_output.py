"""Standard output that is closed, or takes nothing: /dev/full answers ENOSPC (Linux, full(4))."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"


def _told(folder, *words, to):
    command = [sys.executable, "-c", "from plotout.cli import main; main()", *map(str, words)]
    return subprocess.run(
        ["sh", "-c", f'"$@" {to}', "sh", *command],
        cwd=folder, stderr=subprocess.PIPE, text=True, timeout=60, env={**os.environ},
    )  # fmt: skip


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="/dev/full is Linux's")
@pytest.mark.parametrize("words", [("show", SAMPLE), ("show", SAMPLE, "--json")])
def test_full_output_is_told_in_one_line(tmp_path, words):
    result = _told(tmp_path, *words, to=">/dev/full")
    assert result.returncode == 1
    assert result.stderr == "plotout: can't write its output: No space left on device\n"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="/dev/full is Linux's")
def test_an_error_that_can_not_be_told_as_data_is_told_in_words(tmp_path):
    result = _told(tmp_path, "show", "none.toml", "--json", to=">/dev/full")
    assert result.returncode == 2
    assert "can't read the set file" in result.stderr
    assert "can't write its output: No space left on device" in result.stderr
    assert "Traceback" not in result.stderr


@pytest.mark.skipif(os.name == "nt", reason="a shell of POSIX closes it")
def test_closed_output_is_no_fault(tmp_path):
    result = _told(tmp_path, "show", SAMPLE, to=">&-")
    assert (result.returncode, result.stderr) == (0, "")
