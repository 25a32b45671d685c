"""The long run of the fuzzer, by hand:

    python tests/fuzz/long.py --count 100000 [--target svg] [--seed 1]

Each input runs within 5 s of CPU and 1 GiB above what the process had. What goes wrong is printed
with its seed, and written to --keep; `--again 'svg/1/4711'` runs one seed alone.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import resource
import signal
import sys
import tempfile
import traceback
import warnings
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from fuzz.targets import TARGETS, Target

SECONDS = 5.0
MEMORY = 1 << 30
BATCH = 100  # inputs to a process, so that one that dies takes few with it


class TooLongError(BaseException):
    """An input took more than its share of CPU."""


def main() -> None:
    """Run, and print what went wrong."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=1000, help="inputs over all targets")
    asked.add_argument("--target", help="this one alone")
    asked.add_argument("--seed", default="1", help="of the whole run")
    asked.add_argument("--keep", type=Path, help="a folder for what goes wrong")
    asked.add_argument("--again", help="one input, by its seed, with its traceback")
    told = asked.parse_args()
    if told.again:
        again(told.again)
        return
    chosen = [each for each in TARGETS if told.target in (None, each.name)]
    bad = 0
    for target in chosen:
        many = -(-told.count // len(chosen))
        counts: Counter[str] = Counter()
        kinds: Counter[str] = Counter()
        for first in range(0, many, BATCH):
            seeds = [
                f"{target.name}/{told.seed}/{n}" for n in range(first, min(first + BATCH, many))
            ]
            for outcome, seed, words in batch(target, seeds):
                counts[outcome] += 1
                if outcome in ("read", "refused"):
                    continue
                kinds[words[:110]] += 1
                if kinds[words[:110]] <= 2:
                    print(f"  {outcome}: {seed}: {words}", flush=True)
                if told.keep:
                    told.keep.mkdir(parents=True, exist_ok=True)
                    (told.keep / seed.replace("/", "-")).write_bytes(target.variant(seed))
        print(f"{target.name}: {dict(counts)}", flush=True)
        bad += sum(counts.values()) - counts["read"] - counts["refused"]
    print(f"{bad} went wrong")
    sys.exit(bool(bad))


def batch(target: Target, seeds: list[str]) -> list[tuple[str, str, str]]:
    """Run some inputs in a process of their own; what kills it is told of the input it had."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        os.close(read)
        try:
            _work(target, seeds, write)
            os._exit(0)
        finally:
            os._exit(1)
    os.close(write)
    found, now = [], ""
    with os.fdopen(read, errors="replace") as pipe:
        for line in pipe:
            parts = line.rstrip("\n").split("\t", 2)
            if parts[0] == "begin":
                now = parts[1]
            else:
                found.append((parts[0], parts[1], parts[2] if len(parts) > 2 else ""))
                now = ""
    _, status = os.waitpid(child, 0)
    if status:
        found.append(("KILLED", now, f"by status {status}"))
        rest = seeds[seeds.index(now) + 1 :] if now else []
        found += batch(target, rest) if rest else []
    return found


def _work(target: Target, seeds: list[str], write: int) -> None:
    with os.fdopen(write, "w", errors="replace") as pipe:
        _limited()
        for seed in seeds:
            print(f"begin\t{seed}", file=pipe, flush=True)
            outcome, words = run(target, target.variant(seed))
            print(f"{outcome}\t{seed}\t{' '.join(words.split())[:300]}", file=pipe, flush=True)


def _limited() -> None:
    warnings.simplefilter("ignore")
    size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    limit = size + MEMORY + (512 << 20)  # imports map some too
    resource.setrlimit(resource.RLIMIT_AS, (limit, limit))


def _too_long(*_given: object) -> None:
    raise TooLongError


def run(target: Target, data: bytes) -> tuple[str, str]:
    """Return the outcome of one input, and what was said."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    signal.signal(signal.SIGPROF, _too_long)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        with tempfile.TemporaryDirectory() as folder:
            said = _said(target, data, Path(folder))
    except TooLongError:
        said = ("HANGS", f"more than {SECONDS:g} s")
    except MemoryError as fault:
        said = ("MEMORY", _where(fault))
    except Exception as fault:
        said = ("FAULT", f"{_where(fault)} {type(fault).__name__}: {str(fault)[:160]}")
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    more = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    return said if more <= MEMORY >> 10 else ("MEMORY", f"{more >> 10} MiB")


def _said(target: Target, data: bytes, folder: Path) -> tuple[str, str]:
    from plotout.errors import PlotoutError, PluginError

    try:
        target.take(data, folder)
    except PluginError as fault:
        return "FAULT", f"{_where(fault.__cause__ or fault)} {fault}"
    except PlotoutError as fault:
        text = str(fault)
        longest = max(map(len, text.splitlines()), default=0)
        shouts = longest > 400 or any(ord(c) < 32 and c not in "\n\t" for c in text)
        return ("SHOUTS", f"{longest} letters: {text[:100]!r}") if shouts else ("refused", text)
    return "read", ""


def _where(fault: BaseException) -> str:
    frames = traceback.extract_tb(fault.__traceback__)
    ours = [each for each in frames if "plotout" in each.filename] or list(frames)
    return f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else ""


def again(seed: str) -> None:
    """Run one input, with its traceback."""
    target = next(each for each in TARGETS if each.name == seed.split("/", maxsplit=1)[0])
    data = target.variant(seed)
    print(repr(data[:2000]))
    with tempfile.TemporaryDirectory() as folder, contextlib.suppress(KeyboardInterrupt):
        target.take(data, Path(folder))


if __name__ == "__main__":
    main()
