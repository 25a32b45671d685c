"""How long ten sizes of the sample take beside one of them, and how memory grows.

    python tests/bench/sizes.py [--sizes 10] [--smoke]

The sample's range is stretched to ten sizes. Each job is a `make` without pictures in a process of
its own, all files kept; laying is taken off both, as measured in it. Wall and processor seconds are
the least of the runs, peak memory is that of the largest process. The reference is the job of one
size, in the same run. Wanted: ten sizes in at most 6 times the wall time of one; memory that grows
by no more for each further size.
"""

from __future__ import annotations

import multiprocessing
import os
import resource
import shutil
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from asking import asked

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock"
TEN = ["XS", "S", "M", "L", "XL", "XXL", "3XL", "4XL", "5XL", "6XL"]
WANTED = 6.0


def sample(folder: Path) -> Path:
    """Write the sample with ten sizes, and return its set file."""
    shutil.copytree(SAMPLE, folder, dirs_exist_ok=True)
    path = folder / "set.toml"
    text = path.read_text()
    assert 'range = ["S", "M", "L", "XL", "XXL"]' in text
    path.write_text(text.replace('range = ["S", "M", "L", "XL", "XXL"]', f"range = {TEN!r}"))
    return path


def made(count: int) -> tuple[float, float, float]:
    """Return the wall and processor seconds of so many sizes, and the peak memory in MiB."""
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, spawn) as pool:  # its process may have children; a Pool's may not
        return pool.submit(_made, count).result()


def _made(count: int) -> tuple[float, float, float]:
    from plotout import job

    laying = [0.0, 0.0]
    lay = job._laid

    def timed(*given):
        wall, cpu = time.perf_counter(), time.process_time()
        try:
            return lay(*given)
        finally:
            laying[0] += time.perf_counter() - wall
            laying[1] += time.process_time() - cpu

    job._laid = timed
    with tempfile.TemporaryDirectory() as folder:
        path = sample(Path(folder))
        start = time.perf_counter()
        read = job.open_set(path)
        machine = job.load_machine("laser")
        sizes = ["M", *(size for size in TEN if size != "M")][:count]
        requests = [job.Request(read, machine, sizes=(size,), seconds=0.0) for size in sizes]
        kept = sum(len(one.data) for each in job.plan_each(requests) for one in each.results)
        wall = time.perf_counter() - start - laying[0]
    assert kept
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    cpu = sum(each.ru_utime + each.ru_stime for each in used) - laying[1]
    return wall, cpu, max(each.ru_maxrss for each in used) / 1024.0


def main() -> None:
    """Print the table."""
    most = min(asked(__doc__, "sizes", usual=10, smoke=2), len(TEN))
    counts, runs = ((1, most), 1) if most < 4 else ((1, most // 2, most), 2)
    print(f"{len(os.sched_getaffinity(0))} processors, load {os.getloadavg()[0]:.1f}")
    print(f"{'sizes':>5} {'wall, s':>9} {'times':>6} {'CPU, s':>8} {'times':>6} {'MiB':>6}")
    made(1)  # compiled loops are kept from then on
    one = None
    for count in counts:
        taken = [made(count) for _ in range(runs)]
        wall, cpu, peak = (min(each) for each in zip(*taken, strict=True))
        one = one or (wall, cpu)
        print(
            f"{count:5} {wall:9.2f} {wall / one[0]:6.2f} {cpu:8.2f} {cpu / one[1]:6.2f} "
            f"{peak:6.0f}",
            flush=True,
        )
    print(f"wanted: ten in at most {WANTED:g} times the wall time of one")


if __name__ == "__main__":
    main()
