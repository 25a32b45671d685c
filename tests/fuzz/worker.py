"""Runs inputs one after another in a process of its own, each within bounds of CPU and memory.

The process is forked from one that has everything imported and tried once, so that an input costs
what its door costs and no more; one that dies or is killed takes only its own input with it.
"""

from __future__ import annotations

import contextlib
import os
import resource
import signal
import sys
import tempfile
import threading
import traceback
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fuzz.targets.target import Target

SECONDS = 5.0  # of CPU
WALL = 120  # seconds that pass, for one that waits; a busy machine gives a tenth of a processor
MEMORY = 1 << 30
GOOD = ("read", "refused")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of an input. peak: MiB more than before, at the most. cpu: s."""

    seed: str
    what: str
    words: str = ""
    cpu: float = 0.0
    peak: int = 0


class TooLongError(BaseException):
    """An input took more than its share of CPU."""


def warmed(target: Target) -> None:
    """Try the sound files, so that what is imported or compiled once is so before any fork."""
    for data in target.sound():
        run(target, data)


def batch(target: Target, seeds: Sequence[str]) -> Iterator[Outcome]:
    """Run some inputs; what kills the process is told of the input that it had."""
    while seeds:
        read, write = os.pipe()
        child = os.fork()
        if not child:
            os.close(read)
            os.setpgid(0, 0)
            _work(target, seeds, write)
        os.close(write)
        mourner = threading.Thread(target=_end_orphans, args=(child,))
        mourner.start()
        now = ""
        with os.fdopen(read, errors="replace") as pipe:
            for line in pipe:
                parts = line.rstrip("\n").split("\t", 4)
                if parts[0] == "begin":
                    now = parts[1]
                else:
                    what, seed, cpu, peak, words = parts
                    yield Outcome(seed, what, words, float(cpu), int(peak))
                    now = ""
        mourner.join()
        _, status = os.waitpid(child, 0)
        if not status:
            return
        signalled = os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0
        hangs = signalled in (signal.SIGXCPU, signal.SIGALRM)
        yield Outcome(now, "HANGS" if hangs else "KILLED", f"by signal {signalled}")
        seeds = seeds[seeds.index(now) + 1 :] if now else ()


def _end_orphans(child: int) -> None:
    """End what a process leaves behind that was killed: it would keep its pipe open for ever."""
    os.waitid(os.P_PID, child, os.WEXITED | os.WNOWAIT)
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(child, signal.SIGKILL)


def _work(target: Target, seeds: Sequence[str], write: int) -> None:
    """Run the inputs, and end the process."""
    try:
        with os.fdopen(write, "w", errors="replace") as pipe, _silent():
            _limit_memory()
            for seed in seeds:
                data = target.variant(seed)
                print(f"begin\t{seed}", file=pipe, flush=True)
                _limit_time()
                before, peak = _cpu(), _peak()
                what, words = run(target, data)
                told = f"{_cpu() - before:.3f}\t{_peak() - peak}\t{' '.join(words.split())[:300]}"
                print(f"{what}\t{seed}\t{told}", file=pipe, flush=True)
        os._exit(0)
    finally:
        os._exit(1)


@contextlib.contextmanager
def _silent() -> Iterator[None]:
    """Keep what libraries print to themselves."""
    warnings.simplefilter("ignore")
    with open(os.devnull, "w") as nowhere:
        os.dup2(nowhere.fileno(), sys.stderr.fileno())
        yield


def _limit_memory() -> None:
    size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    limit = size + MEMORY + (512 << 20)  # what is mapped need not be used
    resource.setrlimit(resource.RLIMIT_AS, (limit, limit))


def _limit_time() -> None:
    """Have the system end the process where Python is not asked any more, as within a library."""
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    resource.setrlimit(resource.RLIMIT_CPU, (int(_cpu() + SECONDS) + 4, hard))
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.alarm(WALL)


def _cpu() -> float:
    whose = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(used.ru_utime + used.ru_stime for used in map(resource.getrusage, whose))


def _peak() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10


def run(target: Target, data: bytes) -> tuple[str, str]:
    """Return the outcome of one input, and what was said."""
    before, begun = _peak(), _cpu()
    signal.signal(signal.SIGPROF, _too_long)
    signal.setitimer(signal.ITIMER_PROF, SECONDS, 0.5)
    try:
        with tempfile.TemporaryDirectory() as folder:
            said = _said(target, data, Path(folder))
    except TooLongError as late:
        said = ("HANGS", f"{_where(late)} more than {SECONDS:g} s")
    except MemoryError as fault:
        said = ("MEMORY", _where(fault))
    except Exception as fault:
        said = ("FAULT", f"{_where(fault)} {type(fault).__name__}: {str(fault)[:160]}")
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    took, more = _cpu() - begun, _peak() - before
    if took > SECONDS and said[0] in GOOD:  # a library may have swallowed the exception
        return "HANGS", f"{took:.1f} s"
    return said if more <= MEMORY >> 20 else ("MEMORY", f"{more} MiB")


def _too_long(*_given: object) -> None:
    raise TooLongError


def _said(target: Target, data: bytes, folder: Path) -> tuple[str, str]:
    from plotout.errors import PlotoutError, PluginError

    try:
        target.take(data, folder)
    except PluginError as fault:
        return "FAULT", f"{_where(fault.__cause__ or fault)} {fault}"
    except PlotoutError as fault:
        return _refused(fault, target.placed)
    return "read", ""


def _refused(fault: Exception, placed: bool) -> tuple[str, str]:
    """Judge what a user is told: each line short, nothing for a terminal to obey, file, remedy."""
    text = str(fault)
    longest = max(map(len, text.splitlines()), default=0)
    if longest > 400 or any(not c.isprintable() and c != "\n" for c in text):
        return "SHOUTS", f"{longest} letters: {text[:100]!r}"
    for each in getattr(fault, "errors", (fault,)):
        if placed and each.place.file is None:
            return "NO PLACE", text
        if not each.fix:
            return "NO REMEDY", f"{_where(fault)} {each.problem}"
    return "refused", text


def _where(fault: BaseException) -> str:
    frames = traceback.extract_tb(fault.__traceback__)
    ours = [each for each in frames if "plotout" in each.filename] or list(frames)
    return f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else ""
