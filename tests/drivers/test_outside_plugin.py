"""A plugin in a package of its own is found through its entry point: no edit to the core."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import tomllib
from contextlib import contextmanager
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
        "languages": ["pairs"],
        "pricks_finders": [],
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
    assert sheet["read_back"] is False
    assert any("was not read back" in text for text in json.loads(ran.stdout)["notes"])
    boxes = []
    for line in lines:
        tool, *pairs = line.split()
        assert tool == "7"
        xs, ys = zip(*(map(float, pair.split(",")) for pair in pairs), strict=True)
        boxes.append(sorted([max(xs) - min(xs), max(ys) - min(ys)]))
    assert pytest.approx([80.0, 120.0], abs=0.01) in boxes  # the cutting line: 10 mm all round


def test_a_job_is_sent_broken_off_and_resumed_in_its_language(installed, tmp_path):
    """Every stroke is drawn once: the sender is stopped by a signal, then goes on."""
    squares = [[(x, y), (x + 8, y), (x + 8, y + 8), (x, y + 9)] for y in (0, 20) for x in
               range(0, 400, 20)]  # fmt: skip
    lines = ["7 " + " ".join(f"{x:.3f},{y:.3f}" for x, y in each) for each in squares]
    file = tmp_path / "squares.txt"
    file.write_text("\n".join(lines))
    drawn = tmp_path / "drawn.json"
    with playing(installed, tmp_path, "200", drawn) as port:
        words = ["send", file, "--machine", "pairs-machine", "--port", port, "--yes"]
        refused = start(installed, tmp_path, *words)  # no interpreter: nobody read the file
        _, errors = refused.communicate(timeout=30)
        assert refused.returncode == 2
        assert "no plugin reads files of the driver 'pairs'" in errors
        send = start(installed, tmp_path, *words, "--as-it-is")
        books = tmp_path / "jobs"
        until(lambda: any('"done"' in each.read_text() for each in books.glob("*.journal")))
        send.send_signal(signal.SIGINT)
        out, errors = send.communicate(timeout=30)
        assert send.returncode == 1, errors
        assert "Stopped, tool up" in out
        done = int(re.search(r"(\d+) of 40 strokes", out)[1])
        assert 0 < done < len(squares)
        resume = start(installed, tmp_path, "resume", "--yes")
        out, errors = resume.communicate(timeout=60)
        assert resume.returncode == 0, errors
        assert "40 of 40 strokes" in out
    strokes = [each["points"] for each in json.loads(drawn.read_text())]
    whole = [each for each in strokes if [tuple(at) for at in each] in squares]
    assert [[tuple(at) for at in each] for each in whole] == squares


BROKEN = """

_right, _calls = Pairs.{method}, []


def _wrong(self, given, *more):
    _calls.append(given)
    if len(_calls) > 60:
        raise KeyError("late")
    return _right(self, given, *more)


Pairs.{method} = _wrong
"""


@pytest.mark.parametrize(
    ("method", "tool"), [("hear", "nobody saw that its tool was lifted"), ("split", "tool is up")]
)
def test_a_language_that_fails_in_a_job_leaves_it_safe_or_says_that_nobody_saw(
    installed, tmp_path, method, tool
):
    file = tmp_path / "lines.txt"
    file.write_text("\n".join(f"7 {x:.3f},10.000 {x:.3f},60.000" for x in range(10, 500, 5)))
    source = next(path for path in (installed / "plotout_pairs").glob("*.py")
                  if "class Pairs(Language)" in path.read_text())  # fmt: skip
    sound = source.read_text()
    with playing(installed, tmp_path, "2000", tmp_path / "drawn.json") as port:
        source.write_text(sound + BROKEN.format(method=method))
        words = ["send", file, "--machine", "pairs-machine", "--port", port, "--yes", "--as-it-is"]
        send = start(installed, tmp_path, *words)
        _, errors = send.communicate(timeout=60)
        assert send.returncode == 1
        assert "plugin 'pairs', of the package plotout-pairs" in errors
        assert tool in errors
        assert "'plotout resume' continues" in errors
        virtual = start(installed, tmp_path, *words[:4], "--yes", "--as-it-is")
        _, errors = virtual.communicate(timeout=60)  # its journal isn't kept
        assert virtual.returncode == 1
        assert "plugin 'pairs', of the package plotout-pairs" in errors
        assert "plotout resume" not in errors
        source.write_text(sound)
        resume = start(installed, tmp_path, "resume", "--yes")
        out, errors = resume.communicate(timeout=60)
        assert resume.returncode == 0, errors
        assert "98 of 98 strokes" in out


@contextmanager
def playing(folder, work, speed, drawn):
    """Run the virtual machine at a port, which is given once it is there."""
    port = work / "port"
    play = start(folder, work, "virtual", "pairs", "--link", port, "--speed", speed,
                 "--drawn", drawn)  # fmt: skip
    try:
        until(port.exists)
        yield port
    finally:
        play.send_signal(signal.SIGINT)
        play.communicate(timeout=30)


def start(folder, work, *words):
    """Start the command line with the folder on Python's path."""
    repo = HERE.parent.parent
    path = os.pathsep.join([str(folder), str(repo), str(repo / "plugins")])
    return subprocess.Popen(
        [sys.executable, "-c", "from plotout.cli import main; main()", *map(str, words)],
        env={**os.environ, "PYTHONPATH": path, "PLOTOUT_JOBS": str(work / "jobs")},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def until(happened, seconds=30):
    """Wait until something is so."""
    end = time.monotonic() + seconds
    while not happened():
        assert time.monotonic() < end
        time.sleep(0.02)
