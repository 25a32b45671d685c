"""The strip-packing engine (spyrrow) in a process of its own, so that it can be stopped.

Run as a program it reads one task as a line of JSON and writes every lay that it finds as a line;
each is shorter than the one before.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass

Spot = tuple[int, float, float, float]
"""Number of the item, degrees turned about its 0, 0, then shift in x and y."""


@dataclass(frozen=True, slots=True)
class Task:
    """Polygons (their corners) to be laid on a strip. angles: how each may be turned, degrees.

    seconds: whole ones. goal: length at which it is enough.
    """

    height: float
    polygons: Sequence[Sequence[tuple[float, float]]]
    angles: Sequence[float]
    seconds: int
    seed: int
    goal: float = 0.0


@dataclass(frozen=True, slots=True)
class Found:
    """A lay: the length of strip that it takes, and where each polygon lies."""

    length: float
    spots: tuple[Spot, ...]


def lays(task: Task) -> Iterator[Found | None]:
    """Yield lays as they are found, each shorter; None now and then while nothing is found.

    The engine is stopped when the caller stops asking. What it finds is the same each time for a
    seed, but how far it gets in the time is not.
    """
    command = [sys.executable, "-m", "plotout.layout.nesting.engine"]
    with subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,  # Ctrl-C is for us: we end it
    ) as engine:
        assert engine.stdin is not None
        assert engine.stdout is not None
        try:
            engine.stdin.write(json.dumps(asdict(task)) + "\n")
            engine.stdin.close()
            for line in engine.stdout:
                told = json.loads(line)
                if told is None:
                    yield None
                    continue
                yield Found(told[0], tuple(tuple(spot) for spot in told[1]))
                if told[0] <= task.goal:
                    return
        except OSError:
            return  # it died: what was found before is kept
        finally:
            engine.kill()


def _run(task: Task) -> None:
    import spyrrow

    items = [
        spyrrow.Item(str(index), [(x, y) for x, y in corners], 1, list(task.angles))
        for index, corners in enumerate(task.polygons)
    ]
    instance = spyrrow.StripPackingInstance("lay", task.height, items)
    config = spyrrow.StripPackingConfig(total_computation_time=task.seconds, seed=task.seed)
    queue = spyrrow.ProgressQueue()
    work = threading.Thread(target=instance.solve, args=(config, queue), daemon=True)
    work.start()
    shortest = float("inf")
    while work.is_alive():
        work.join(0.1)
        shortest = _tell(queue, shortest)
    _tell(queue, shortest)


def _tell(queue: object, shortest: float) -> float:
    """Write the shortest whole lay that is new, or a sign of life; return its length."""
    import spyrrow

    whole = (
        spyrrow.ReportType.ExplFeas,
        spyrrow.ReportType.CmprFeas,
        spyrrow.ReportType.Final,
    )
    best = None
    for kind, lay in queue.drain():  # type: ignore[attr-defined]
        if kind in whole and lay.width < shortest:
            best, shortest = lay, lay.width
    spots = None
    if best is not None:
        spots = [
            (int(item.id), item.rotation, *item.translation)
            for item in sorted(best.placed_items, key=lambda item: int(item.id))
        ]
    print(json.dumps(None if spots is None else (shortest, spots)), flush=True)
    return shortest


if __name__ == "__main__":
    _run(Task(**json.loads(sys.stdin.readline())))
