"""A process that puts sets and is killed at random moments: nothing put before is lost."""

import random
import subprocess
import sys
import time

from plotout.rack import care, record
from plotout.rack.store import opened

WRITER = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[3])
from entries import entry
from plotout.rack import putting, record
from plotout.rack.store import opened
with opened(Path(sys.argv[1]), create=True) as rack:
    nth = int(sys.argv[2])
    while True:
        files = {"set.toml": b"# %d" % nth, "body.csv": b"x" * 5000}
        putting.put(rack, entry(style=f"S{nth}", files=files))
        print(nth, flush=True)
        nth += 1
"""


def kill_often(path, folder, times, seed=3):
    """Kill the writer `times` times; return how many sets it said were put."""
    rng = random.Random(seed)
    put = 0
    for _ in range(times):
        process = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(put), str(folder)],
            stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert process.stdout is not None
        first = process.stdout.readline()
        time.sleep(rng.random() * 0.03)
        process.kill()
        told = [first, *process.stdout.read().splitlines()]
        whole = [line for line in told if line.strip().isdigit()]
        put = max(put, int(whole[-1]) + 1) if whole else put
        with opened(path) as rack:
            assert len(record.listed(rack)) >= put
            put = len(record.listed(rack))
    return put


def test_killed_writers_lose_nothing(tmp_path, request):
    path = tmp_path / "rack.sqlite"
    put = kill_often(path, request.path.parent, 8)
    with opened(path) as rack:
        assert care.damage(rack) == []
        assert {found.style for found in record.listed(rack)} == {f"S{n}" for n in range(put)}
