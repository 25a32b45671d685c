"""The rack at 10,000 sets, and under kill -9. Run: python tests/bench/rack.py

Targets (the project's own): find under 50 ms, list under 200 ms; nothing put is lost in 1,000
kills at random moments of writing.
"""

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "rack"))

from entries import entry
from test_kill import kill_often

from plotout.rack import care, putting, record
from plotout.rack.store import opened

GARMENTS = ("smock", "apron", "veil", "coverall", "glove", "gaiter", "cap", "cape", "tabard", "bib")
PIECES = ("Body", "Sleeve", "Gusset", "Neck band", "Pocket", "Cuff", "Collar", "Facing", "Loop")
TRIES = 15


def fill(rack, sets):
    """Put `sets` sets with a set file of some 2 kB and a drawing of some 6 kB, all different."""
    for nth in range(sets):
        rows = "".join(f"{(nth * 37 + k * 7919) % 9973},{k * 3}\n" for k in range(600))
        garment = GARMENTS[nth % len(GARMENTS)]
        putting.put(
            rack,
            entry(
                style=f"{garment[:2].upper()}-{nth // 4:05d}",
                size="SMLX"[nth % 4],
                name=f"{garment} {nth}",
                place=f"hook {nth}",
                pieces=PIECES[: 3 + nth % 7],
                files={"set.toml": (f"# {nth}\n" * 200).encode(), "body.csv": rows.encode()},
                details={"cards": [{"id": p.lower(), "title": p, "orders": []} for p in PIECES]},
            ),
        )


def median_ms(act):
    """Median of TRIES runs, ms, and the longest."""
    times = []
    for _ in range(TRIES):
        start = time.perf_counter()
        act()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times), max(times)


def used(rack):
    """Bytes of the file's pages that hold something."""
    told = {p: rack.execute(f"PRAGMA {p}").fetchone()[0]
            for p in ("page_count", "freelist_count", "page_size")}  # fmt: skip
    return (told["page_count"] - told["freelist_count"]) * told["page_size"]


def at_many(sets, folder):
    """Print how long find and list take, and how the file grows."""
    path = folder / "many.sqlite"
    with opened(path, create=True) as rack:
        start = time.perf_counter()
        fill(rack, sets)
        spent = time.perf_counter() - start
        rack.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        print(f"put {sets} sets: {spent:.1f} s, {1000 * spent / sets:.2f} ms each")
        print(f"file: {path.stat().st_size / 2**20:.1f} MiB, "
              f"{path.stat().st_size / sets / 1024:.1f} KiB a set")  # fmt: skip
        before = used(rack)
        for nth in range(100):  # a new version of a set, its drawing unchanged
            rows = record.files_of(rack, record.named(rack, "SM-00000:S")) | {
                "set.toml": b"# changed %d" % nth
            }
            putting.put(rack, entry(style="SM-00000", size="S", files=rows))
        grown = (used(rack) - before) / 100 / 1024
        print(f"a new version of a set, one small file changed: {grown:.1f} KiB")
    for words in ("smock", "smock 120", "hook 77", "gusset", "SM-00000", "coverall neck X"):
        with opened(path) as rack:
            middle, longest = median_ms(lambda words=words, rack=rack: record.find(rack, words))
        print(f"find {words!r}: {middle:.1f} ms, longest {longest:.1f} (target 50)")
    with opened(path) as rack:
        middle, longest = median_ms(lambda: record.listed(rack))
        print(f"list all {sets}: {middle:.1f} ms, longest {longest:.1f} (target 200)")
        middle, longest = median_ms(lambda: record.named(rack, "SM-00000:S"))
        print(f"show by name: {middle:.1f} ms, longest {longest:.1f}")
        start = time.perf_counter()
        faults = care.damage(rack)
        print(f"check: {time.perf_counter() - start:.1f} s, {len(faults)} faults")


def killed(times, folder):
    """Print what is left after the writer was killed `times` times."""
    path = folder / "killed.sqlite"
    start = time.perf_counter()
    put = kill_often(path, Path(__file__).parents[1] / "rack", times)
    with opened(path) as rack:
        lost = {f"S{n}" for n in range(put)} - {found.style for found in record.listed(rack)}
        print(f"{times} kills in {time.perf_counter() - start:.0f} s, {put} sets put: "
              f"{len(lost)} lost, {len(care.damage(rack))} faults (target 0, 0)")  # fmt: skip


def main():
    """Run both at the sizes that are asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=10_000)
    parser.add_argument("--kills", type=int, default=1_000)
    parser.add_argument("--smoke", action="store_true", help="A small run: does it work at all?")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        at_many(100 if asked.smoke else asked.sets, Path(name))
        killed(5 if asked.smoke else asked.kills, Path(name))


if __name__ == "__main__":
    main()
