"""The strip-packing engine (spyrrow) in a separate process, so that it can be stopped.

Run as a program, it reads one task as a line of JSON and writes every lay that it finds as a line,
each shorter than the last.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from subprocess import DEVNULL, PIPE, Popen
from threading import Thread

Spot = tuple[int, float, float, float]
"""Number of the item, degrees turned about its 0, 0, then the shift in x and y."""


@dataclass(frozen=True, slots=True)
class Task:
    """Polygons (their corners) to lay on a strip. angles: allowed turns of each, degrees.

    seconds: whole seconds. workers: threads that the engine works in.
    """

    height: float
    polygons: Sequence[Sequence[tuple[float, float]]]
    angles: Sequence[Sequence[float]]
    seconds: int
    seed: int
    workers: int


@dataclass(frozen=True, slots=True)
class Found:
    """A lay: its length of strip, and the places of the polygons."""

    length: float
    spots: tuple[Spot, ...]


def lays(tasks: Iterable[Task]) -> Iterator[tuple[Task, Found | None]]:
    """Yield the lays that an engine finds for tasks, each task's ever shorter; None in between.

    A task is only asked for when the one before is done. The engine is stopped when the caller
    stops iterating. For a seed and a number of workers it always finds the same lays, but how many
    in the time varies.
    """
    for task in tasks:
        engine = _started(task)
        assert engine.stdout is not None
        try:
            with engine.stdout:
                for line in engine.stdout:  # until it ends, or dies: earlier lays are kept
                    data = json.loads(line)
                    spots = data and tuple(tuple(spot) for spot in data[1])
                    yield task, data and Found(data[0], spots)
        finally:
            engine.kill()
            engine.wait()


def _started(task: Task) -> Popen[str]:
    command = [sys.executable, "-m", "plotout.layout.nesting.engine"]
    engine = Popen(
        command,
        stdin=PIPE,
        stdout=PIPE,
        stderr=DEVNULL,
        text=True,
        start_new_session=True,  # Ctrl-C goes to this process, which stops the engine
    )
    assert engine.stdin is not None
    with suppress(OSError):  # it died
        engine.stdin.write(json.dumps(asdict(task)) + "\n")
        engine.stdin.close()
    return engine


def _run(task: Task) -> None:
    import spyrrow

    items = [
        spyrrow.Item(str(index), [(x, y) for x, y in corners], 1, list(angles))
        for index, (corners, angles) in enumerate(zip(task.polygons, task.angles, strict=True))
    ]
    instance = spyrrow.StripPackingInstance("lay", task.height, items)
    config = spyrrow.StripPackingConfig(
        total_computation_time=task.seconds, seed=task.seed, num_workers=task.workers
    )
    queue = spyrrow.ProgressQueue()
    work = Thread(target=instance.solve, args=(config, queue), daemon=True)
    work.start()
    shortest = float("inf")
    while work.is_alive():
        work.join(0.1)
        shortest = _put_shorter(queue, shortest)
    _put_shorter(queue, shortest)


def _put_shorter(queue: object, shortest: float) -> float:
    """Write the shortest complete new lay, or a sign of life; return its length."""
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
