"""How long whole commands take on the sample, and which stage takes how much: run by hand.

    python tests/bench/whole.py [--runs 5] [--smoke]

A wheel is built and unpacked, as a user has it. Each command runs in processes of its own, after
one run that is not counted; the least of five runs is printed. What the first run on a computer
takes more is that of a single run with an empty cache. Beside it stand that of a wheel built where
there is no C compiler, and that on another kind of processor than such a wheel was built on, so
that the loops are compiled then. "CPU" is that of all its processes. The stages are measured once
more in this process alone, one after another: their sum is what one processor does.
"""

from __future__ import annotations

import compileall
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from asking import asked

ROOT = Path(__file__).parents[2]
SET = str(ROOT / "samples" / "beekeepers-smock" / "set.toml")
MACHINE = ("--machine", "craft-cutter", "--seconds", "0")
WAYS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("make", ("make", SET, *MACHINE, "--out", "out"), "1.50 s"),
    ("page", ("page", SET, *MACHINE, "--out", "page.html"), "none set"),
    ("picture", ("picture", SET, "--out", "out"), "none set"),
    ("check", ("check", SET), "none set"),
    ("--help", ("--help",), "0.30 s"),
)


def command(words: tuple[str, ...], folder: str, **variables: str) -> tuple[float, float]:
    """Return the wall and the CPU seconds of one run. variables: of its environment."""
    code = "from plotout.cli import main; main()"
    variables = {"PYTHONDONTWRITEBYTECODE": "", **variables}  # as a user's Python, which keeps it
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    started = [sys.executable, "-c", code, *words]
    done = subprocess.run(started, cwd=folder, env=os.environ | variables, capture_output=True)
    wall = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert done.returncode in (0, 1), done.stderr.decode()  # 1: a check that found something
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def unpacked(folder: Path, **variables: str) -> Path:
    """Build a wheel of this tree, and return the folder where it is unpacked.

    variables: of the environment in which it is built.
    """
    pip = (sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder))
    pip = pip if find_spec("pip") else ("pip", *pip[3:])
    subprocess.run([*pip, str(ROOT)], check=True, env=os.environ | variables)
    (wheel,) = folder.glob("*.whl")
    zipfile.ZipFile(wheel).extractall(folder / "wheel")
    compileall.compile_dir(folder / "wheel", quiet=1)  # as pip does
    return folder / "wheel"


def commands(runs: int, wheel: Path, without_compiler: Path) -> None:
    """Print what each command takes, from an unpacked wheel, and the first run from both."""
    print(f"{len(os.sched_getaffinity(0))} processors, least of {runs} runs")
    loops = next((wheel / "plotout" / "loops").glob("built.*"), None)
    print(f"loops compiled ahead: {'yes' if loops else 'no'}")
    from_wheel = {"PYTHONPATH": str(wheel)}
    with tempfile.TemporaryDirectory() as folder:
        for name, words, target in WAYS:
            command(words, folder, **from_wheel)
            taken = [command(words, folder, **from_wheel) for _ in range(runs)]
            wall, cpu = (min(each) for each in zip(*taken, strict=True))
            print(f"plotout {name:8} {wall:6.2f} s wall {cpu:6.2f} s CPU   target {target}")
            if name == "make":
                usual = wall, cpu
    firsts = (
        ("first make, more", wheel, "1.50 s"),
        ("  no C compiler", without_compiler, "1.50 s"),
        ("  other processor", without_compiler, "none set"),
    )
    for name, folder_of, target in firsts:
        if name == "  other processor":
            shutil.rmtree(folder_of / "plotout" / "loops" / "kept", ignore_errors=True)
        from_there = {"PYTHONPATH": str(folder_of)}
        with tempfile.TemporaryDirectory() as folder:
            fresh = command(WAYS[0][1], folder, NUMBA_CACHE_DIR=folder, **from_there)
        wall, cpu = (new - old for new, old in zip(fresh, usual, strict=True))
        print(f"{name:17} {wall:5.2f} s wall {cpu:6.2f} s CPU   target {target}")


def stages() -> None:
    """Print what each stage of `make` takes in this process."""
    start = time.perf_counter()

    def stage(name: str, do: Callable[[], Any]) -> Any:
        nonlocal start
        result = do()
        print(f"  {name:42} {time.perf_counter() - start:6.2f} s")
        start = time.perf_counter()
        return result

    from plotout import job, layout, sheet_job

    machine = stage("starting, with the machine", lambda: job.load_machine("craft-cutter"))
    stage("loading what works a sheet", lambda: sheet_job.make_ready(machine.driver))
    pattern_set = stage("reading, with its libraries", lambda: job.read_set(Path(SET)))
    from plotout.finish import finish

    stock = layout.stock_for(machine)
    cards = stage("finishing", lambda: finish(pattern_set, stock.window, upright=stock.upright))
    laid = stage("laying", lambda: layout.laid(cards, stock, gap=machine.gap, seconds=0.0))
    done = stage(
        "ordering, compiling, emitting, reading back",
        lambda: [sheet_job.make_sheet(sheet, machine, "bench") for sheet in laid.sheets],
    )
    stage("pictures", lambda: [sheet_job.with_pictures(each) for each in done])


if __name__ == "__main__":
    runs_asked = asked(__doc__, "runs", usual=5, smoke=1)
    with tempfile.TemporaryDirectory() as made, tempfile.TemporaryDirectory() as other:
        commands(runs_asked, unpacked(Path(made)), unpacked(Path(other), CC="false"))
    stages()
