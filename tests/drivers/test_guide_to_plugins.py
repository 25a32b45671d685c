"""The plugin in DEVELOPERS.md is whole and works: it is run from that very text."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from guide_tables import GUIDE
from guide_tables import guide as guide_text

ROOT = Path(__file__).resolve().parents[2]
SET = """
[set]
name = "Flap"
style = "F-1"
size = "M"
[[piece]]
name = "Flap"
from = { file = "flap.pairs", unit = "cm" }
allowance = "10 mm"
cut = [{ cloth = "self" }]
"""


@pytest.fixture(scope="module")
def guide(tmp_path_factory):
    """Write every file of the guide, and record it as installed (PyPA: recording installs)."""
    folder = tmp_path_factory.mktemp("guide")
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    files = re.findall(r"```(?:python|toml)\n# (\S+)\n(.*?)```", text, re.S)
    assert len(files) == 7
    for name, body in files:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(body)
    info = folder / "my_plugin-1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: my-plugin\nVersion: 1\n")
    rows = (folder / "pyproject.toml").read_text().split("[project.entry-points.plotout]\n")[1]
    (info / "entry_points.txt").write_text("[plotout]\n" + rows.replace('"', ""))
    return folder


def test_the_guide_lists_a_languages_methods_as_they_are():
    assert GUIDE.read_text("utf-8") == guide_text(), "run: python tests/drivers/guide_tables.py"


def started(folder, jobs, *words):
    path = os.pathsep.join([str(folder), str(ROOT), str(ROOT / "plugins")])
    return subprocess.Popen(
        [sys.executable, "-c", "from plotout.cli import main; main()", *map(str, words)],
        env={**os.environ, "PYTHONPATH": path, "PLOTOUT_JOBS": str(jobs)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def done(folder, jobs, *words):
    process = started(folder, jobs, *words)
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    return out


def test_all_four_hooks_are_found(guide, tmp_path):
    listed = json.loads(done(guide, tmp_path, "plugins", "--json"))["plugins"]
    mine = {each["plugin"]: each for each in listed if each["package"] == "my-plugin"}
    assert [each["name"] for each in mine["pairs-reader"]["readers"]] == ["pairs"]
    assert [each["name"] for each in mine["pairs-driver"]["drivers"]] == ["pairs"]
    assert [each["name"] for each in mine["pairs-interpreter"]["interpreters"]] == ["pairs"]
    assert mine["pairs-language"]["languages"] == ["pairs"]


@pytest.fixture(scope="module")
def made(guide, tmp_path_factory):
    """A set read by its reader, written by its driver and read back by its interpreter."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "flap.pairs").write_text("0 0\n10 0\n10 6\n0 6\n")
    (folder / "set.toml").write_text(SET)
    words = ("make", folder / "set.toml", "--machine", guide / "pairs-plotter.toml", "--out")
    report = json.loads(done(guide, folder, *words, folder / "out", "--seconds", 0, "--json"))
    return report, folder / "out"


def test_reader_driver_and_interpreter(made):
    report, folder = made
    [sheet] = report["sheets"]
    assert sheet["read_back"] is True
    boxes = []
    for line in (folder / sheet["file"]).read_text().splitlines():
        xs, ys = zip(*(map(float, pair.split(",")) for pair in line.split()[1:]), strict=True)
        boxes.append(sorted([max(xs) - min(xs), max(ys) - min(ys)]))
    assert pytest.approx([80.0, 120.0], abs=0.01) in boxes  # 10 x 6 cm and 10 mm all round


def test_without_a_virtual_machine_a_port_is_asked_for(guide, made, tmp_path):
    report, folder = made
    file, profile = folder / report["sheets"][0]["file"], guide / "pairs-plotter.toml"
    for words in (
        ("send", file, "--machine", profile, "--yes"),
        ("virtual", "pairs", "--link", tmp_path / "port"),
    ):
        process = started(guide, tmp_path, *words)
        _, err = process.communicate(timeout=60)
        assert process.returncode == 2
        assert "no virtual machine that speaks 'pairs'" in err
        assert not (tmp_path / "port").exists()


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="a virtual machine needs a pseudo-terminal")
def test_language(guide, made, tmp_path):
    """It sends a short file to another plugin's virtual machine, which draws every stroke of it."""
    outside = tmp_path / "outside"
    shutil.copytree(ROOT / "tests" / "outside_plugin" / "plotout_pairs", outside / "plotout_pairs")
    info = outside / "plotout_pairs-1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: plotout-pairs\nVersion: 1\n")
    (info / "entry_points.txt").write_text("[plotout]\npairs = plotout_pairs\n")
    report, folder = made
    whole = (folder / report["sheets"][0]["file"]).read_text()
    file = tmp_path / "begun.txt"
    file.write_text("\n".join(whole.splitlines()[:15]))
    port, drawn = tmp_path / "port", tmp_path / "drawn.json"
    play = started(
        outside, tmp_path, "virtual", "pairs", "--link", port, "--buffer", 8192, "--drawn", drawn
    )
    try:
        end = time.monotonic() + 60
        while not port.exists():
            assert time.monotonic() < end
            time.sleep(0.05)
        words = ("send", file, "--machine", guide / "pairs-plotter.toml", "--port", port, "--yes")
        told = json.loads(done(guide, tmp_path, *words, "--json"))
    finally:
        play.send_signal(signal.SIGINT)
        play.communicate(timeout=60)
    meant = [
        [list(map(float, pair.split(","))) for pair in line.split()[1:]]
        for line in file.read_text().splitlines()
    ]
    assert told["done"] == told["strokes"] == len(meant)
    assert [each["points"] for each in json.loads(drawn.read_text())] == meant
