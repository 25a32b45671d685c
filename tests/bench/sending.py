"""Sending, measured as a whole: the line's use, stops, breaks, pauses, memory.

Run by hand: python tests/bench/sending.py [--smoke] [--breaks N] [--first SEED] [--jobs N]
    [--minutes M]
The machines were written from published notes alone, two of the three by somebody who had not read
the sender (`machines_from_notes`), and the sender is plotout's own command line in a process of its
own, on a clock that nobody waits for. Every table prints its targets. Its parts can be run alone,
with more options: line_use.py, stops.py, breaks.py, pauses.py.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import breaks  # noqa: E402
import line_use  # noqa: E402
import stops  # noqa: E402
from machines_from_notes import simulated  # noqa: E402

LARGE = 50  # MB


def memory(megabytes: int) -> None:
    """Send a large file to a port that takes no time; print the sender's peak memory and time."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path, profile, out = folder / "job.plt", folder / "trial.toml", folder / "out"
        said = {"step": breaks.STEP, "options": "", "flow": "paced", "driver": "hpgl"}
        said |= {"kind": "pen", "tool": "pen", "buffer": 1024, "answers": "answers = false"}
        profile.write_text(breaks.PROFILE.format(**said, baud=115200))
        body = breaks.plotted(line_use.curves(1_000_000, 40), encoded=False)
        head = body.index(b"PU")
        with path.open("wb") as file:
            file.write(body[:head])
            for _ in range(megabytes * 1_000_000 // len(body)):
                file.write(body[head:])
            file.write(b"PU;SP0;")
        words = ["send", path, "--machine", profile, "--port", f"file:{out}", "--yes"]
        words.append("--as-it-is")  # its strokes are there again and again
        start = time.monotonic()
        subprocess.run(
            [sys.executable, "-c", "from plotout.cli import main; main()", *map(str, words)],
            check=True, env={**os.environ, "PLOTOUT_JOBS": str(folder / "jobs")},
        )  # fmt: skip
        took = time.monotonic() - start
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        same = path.read_bytes() == out.read_bytes()
    print(f"{megabytes} MB sent in {took:.0f} s, all bytes the same: {same}, peak of any process "
          f"{peak:.0f} MiB")  # fmt: skip


def main() -> None:
    """Print all tables; with --smoke only see that they can be printed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true")
    parser.add_argument("--breaks", type=int, default=1000, help="of each language")
    parser.add_argument("--first", type=int, default=0, help="seed")
    parser.add_argument("--jobs", type=int, default=2 * (os.cpu_count() or 1))
    parser.add_argument("--minutes", type=float, default=600.0, help="for breaks of a language")
    asked = parser.parse_args()
    memory(2 if asked.smoke else LARGE)  # first: its peak must be no other process's
    tick = simulated.TICK
    for language in line_use.FLOWS:
        line_use.measure(language, asked.smoke)
    simulated.TICK = tick
    for language in breaks.LANGUAGES:
        if language in line_use.FLOWS:
            stops.measure(language, asked.jobs, asked.smoke)
        seeds = range(asked.first, asked.first + (3 if asked.smoke else asked.breaks))
        breaks.measure(language, seeds, asked.jobs, asked.breaks, asked.minutes)
        print("pauses:", flush=True)
        pauses = [str(HERE / "pauses.py"), "--language", language]
        subprocess.run([sys.executable, *pauses, *["--smoke"] * asked.smoke], check=False)


if __name__ == "__main__":
    main()
