"""The user's own folders: by the XDG Base Directory Specification (freedesktop.org), version 0.8.

"If $XDG_DATA_HOME is either not set or empty, a default equal to $HOME/.local/share should be
used"; so with the config, state and cache folders.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from plotout import UserError, folders
from plotout.machine import profile

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the specification is Linux's")
KINDS = {
    "profiles": ("PLOTOUT_MACHINES", "XDG_CONFIG_HOME", ".config", "machines"),
    "rack": ("PLOTOUT_RACK", "XDG_DATA_HOME", ".local/share", "rack.sqlite"),
    "journals": ("PLOTOUT_JOBS", "XDG_STATE_HOME", ".local/state", "jobs"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_each_folder_is_where_the_specification_says(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own, variable, default, name = KINDS[kind]
    folder = getattr(folders, kind)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv(own, raising=False)
    monkeypatch.setenv(variable, "")
    assert folder() == tmp_path / default / "plotout" / name
    monkeypatch.setenv(variable, str(tmp_path / "xdg"))
    assert folder() == tmp_path / "xdg" / "plotout" / name
    monkeypatch.setenv(own, str(tmp_path / "own"))
    assert folder() == tmp_path / "own"


HOMELESS = """
import os, pwd
from plotout import folders, job
job.load_machine("laser")  # loads all that it takes, while the interpreter can be read
os.environ.clear()
os.setuid(54321)
print(job.load_machine("laser").name)
folders.rack()
"""


@pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root can do it")
def test_a_user_without_a_home_is_told_and_can_still_make() -> None:
    pwd = pytest.importorskip("pwd")
    with pytest.raises(KeyError):
        pwd.getpwuid(54321)
    done = subprocess.run([sys.executable, "-c", HOMELESS], capture_output=True, text=True)
    assert done.stdout == "laser\n"
    assert "Set HOME, or PLOTOUT_RACK" in done.stderr


def test_own_profiles_are_simply_not_there_without_a_home(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown() -> Path:
        raise UserError("no home")

    monkeypatch.setattr(folders, "profiles", unknown)
    assert "craft-cutter" in profile.known()
