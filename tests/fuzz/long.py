"""The long run of the fuzzer, by hand:

    python tests/fuzz/long.py --count 100000 [--target svg] [--seed 1] [--minutes 10]

Each input runs within 5 s of CPU and 1 GiB above what the process had. What goes wrong is printed
with its seed, and written to --keep; `--again 'svg/1/4711'` runs one seed alone, and `--kept FILE`
an input that was written.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
import zlib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from plotout.__main__ import ONE_THREAD

os.environ.setdefault(ONE_THREAD, "1")  # as the command does, before numpy is loaded

from fuzz.targets import TARGETS, Target, named
from fuzz.worker import GOOD, Outcome, batch, warmed

ROUND = 100  # inputs of a target whose share is one, before the next has its turn


def main() -> None:
    """Run, and print what went wrong."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=1000, help="inputs over all targets")
    asked.add_argument("--target", action="append", help="this one alone (repeatable)")
    asked.add_argument("--seed", default="1", help="of the whole run")
    asked.add_argument("--minutes", type=float, default=1e6, help="begin no batch after these")
    asked.add_argument("--keep", type=Path, help="a folder for what goes wrong")
    asked.add_argument("--again", help="one input, by its seed, with its traceback")
    asked.add_argument("--kept", type=Path, help="one that was written, with its traceback")
    told = asked.parse_args()
    if told.again or told.kept:
        again(told.again, told.kept)
        return
    if Path("/dev/shm").is_dir():
        tempfile.tempdir = "/dev/shm"  # many small files, none of them of use afterwards
    chosen = [target for target in TARGETS if not told.target or target.name in told.target]
    found: dict[str, list[Outcome]] = {target.name: [] for target in chosen}
    for target in chosen:
        warmed(target)
    until = time.monotonic() + told.minutes * 60.0
    for target, seeds in rounds(chosen, told.seed, told.count):
        if time.monotonic() > until:
            break
        found[target.name] += tried(target, seeds, found[target.name], told.keep)
    print(f"{'target':24} {'inputs':>7} {'read':>6} {'a second':>8} {'CPU, s':>7} {'worst':>6} "
          f"{'MiB':>5}  wrong", flush=True)  # fmt: skip
    bad = sum(report(target, found[target.name]) for target in chosen)
    print(f"{sum(map(len, found.values()))} inputs, {bad} went wrong")
    sys.exit(bool(bad))


def rounds(targets: list[Target], seed: str, count: int) -> Iterator[tuple[Target, list[str]]]:
    """Give every target in turn some seeds by its share, until there are `count` in all."""
    done, given = dict.fromkeys(targets, 0), 0
    while given < count:
        for target in targets:
            first = done[target]
            done[target] += max(1, round(ROUND * target.share))
            given += done[target] - first
            yield target, [f"{target.name}/{seed}/{nth}" for nth in range(first, done[target])]


def tried(
    target: Target, seeds: list[str], before: list[Outcome], keep: Path | None
) -> list[Outcome]:
    """Run some variants of one target; print what goes wrong, twice of a kind at the most."""
    kinds = Counter(_kind(outcome) for outcome in before)
    made = []
    for outcome in batch(target, seeds):
        made.append(outcome)
        if outcome.what in GOOD:
            continue
        kinds[_kind(outcome)] += 1
        if kinds[_kind(outcome)] <= 2:
            print(f"  {outcome.what}: {outcome.seed}: {outcome.words}", flush=True)
        if keep and outcome.seed:
            keep.mkdir(parents=True, exist_ok=True)
            name = outcome.seed.replace("/", "-").replace(" ", "_")
            (keep / f"{name}.zlib").write_bytes(zlib.compress(target.variant(outcome.seed)))
    return made


def _kind(outcome: Outcome) -> str:
    return f"{outcome.what} {outcome.words[:60]}"


def report(target: Target, found: list[Outcome]) -> int:
    """Print one line on a target; return how many went wrong."""
    counts = Counter(each.what for each in found)
    cpu = sum(each.cpu for each in found)
    wrong = {what: many for what, many in counts.items() if what not in GOOD}
    bad = sum(wrong.values())
    print(
        f"{target.name:24} {len(found):7,} {counts['read']:6,} {len(found) / max(cpu, 1e-3):8.0f} "
        f"{cpu:7.1f} {max((e.cpu for e in found), default=0.0):6.2f} "
        f"{max((e.peak for e in found), default=0):5}  "
        f"{', '.join(f'{many} {what}' for what, many in wrong.items()) or '0'}",
        flush=True,
    )
    return bad


def again(seed: str | None, kept: Path | None) -> None:
    """Run one input, with its traceback."""
    name = seed or kept.name.split("-")[0].replace("_", " ")
    target = named(name)
    data = target.variant(seed) if seed else zlib.decompress(kept.read_bytes())
    print(repr(data[:2000]))
    with tempfile.TemporaryDirectory() as folder:
        target.take(data, Path(folder))


if __name__ == "__main__":
    main()
