"""A plugin in a package of its own is found through its entry point: no edit to the core."""

import json
import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
OUTSIDE = HERE.parent / "outside_plugin"


@pytest.fixture
def installed(tmp_path):
    """Put the package in a folder as an installer does (PyPA: recording installed projects).

    By hand, so that no network is asked for a build tool.
    """
    project = tomllib.loads((OUTSIDE / "pyproject.toml").read_text())["project"]
    for package in OUTSIDE.glob("plotout_*"):
        shutil.copytree(package, tmp_path / package.name)
    info = tmp_path / f"plotout_pairs-{project['version']}.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(
        f"Metadata-Version: 2.1\nName: {project['name']}\nVersion: {project['version']}\n"
    )
    groups = project["entry-points"].items()
    text = "".join(
        f"[{group}]\n" + "".join(f"{name} = {where}\n" for name, where in entries.items())
        for group, entries in groups
    )
    (info / "entry_points.txt").write_text(text)
    return tmp_path


def plotout(folder, *words):
    """Run the command line with the folder on Python's path."""
    repo = HERE.parent.parent
    path = os.pathsep.join([str(folder), str(repo), str(repo / "plugins")])
    return subprocess.run(
        [sys.executable, "-c", "from plotout.cli import main; main()", *words],
        env={**os.environ, "PYTHONPATH": path},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_it_is_listed_with_all_that_it_offers(installed):
    ran = plotout(installed, "plugins", "--json")
    assert ran.returncode == 0, ran.stderr
    [found] = [each for each in json.loads(ran.stdout)["plugins"] if each["plugin"] == "pairs"]
    assert found == {
        "plugin": "pairs",
        "package": "plotout-pairs",
        "version": "0.3",
        "readers": [{"name": "pairs", "suffixes": [".pairs"], "picks": ["unit"]}],
        "drivers": [{"name": "pairs", "suffix": ".txt"}],
        "interpreters": [],
        "machines": ["pairs-machine"],
    }


def test_it_is_not_listed_where_it_is_not_installed(tmp_path):
    ran = plotout(tmp_path, "plugins", "--json")
    assert ran.returncode == 0, ran.stderr
    assert "pairs" not in [each["plugin"] for each in json.loads(ran.stdout)["plugins"]]


def test_a_set_goes_through_its_reader_to_its_driver(installed, tmp_path):
    """An outline of 10 x 6 cm is read, finished, laid, compiled, and written as pairs."""
    (tmp_path / "flap.pairs").write_text("0 0\n10 0\n10 6\n0 6\n")
    (tmp_path / "set.toml").write_text(
        '[set]\nname = "Flap"\nstyle = "F-1"\nsize = "M"\n'
        '[[piece]]\nname = "Flap"\nfrom = { file = "flap.pairs", unit = "cm" }\n'
        'allowance = "10 mm"\ncut = [{ cloth = "self" }]\n'
    )
    ran = plotout(installed, "make", str(tmp_path / "set.toml"), "--machine", "pairs-machine",
                  "--out", str(tmp_path / "out"), "--seconds", "1", "--json")  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    [sheet] = json.loads(ran.stdout)["sheets"]
    lines = (tmp_path / "out" / sheet["file"]).read_text().splitlines()
    assert sheet["file"].endswith(".txt")
    boxes = []
    for line in lines:
        tool, *pairs = line.split()
        assert tool == "7"
        xs, ys = zip(*(map(float, pair.split(",")) for pair in pairs), strict=True)
        boxes.append(sorted([max(xs) - min(xs), max(ys) - min(ys)]))
    assert pytest.approx([80.0, 120.0], abs=0.01) in boxes  # the cutting line: 10 mm all round
