"""The strip-packing engine (spyrrow) in a separate process, so that it can be stopped.

Run as a program, it reads one task as a line of JSON and writes every lay that it finds as a line,
each shorter than the last.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from queue import Queue
from subprocess import DEVNULL, PIPE, Popen
from threading import Thread

Spot = tuple[int, float, float, float]
"""Number of the item, degrees turned about its 0, 0, then the shift in x and y."""


@dataclass(frozen=True, slots=True)
class Task:
    """Polygons (their corners) to lay on a strip. angles: allowed turns of each, degrees.

    seconds: whole seconds.
    """

    height: float
    polygons: Sequence[Sequence[tuple[float, float]]]
    angles: Sequence[Sequence[float]]
    seconds: int
    seed: int


@dataclass(frozen=True, slots=True)
class Found:
    """A lay: its length of strip, and the places of the polygons."""

    length: float
    spots: tuple[Spot, ...]


def side_by_side(tasks: Iterator[Task], many: int) -> Iterator[tuple[Task, Found | None]]:
    """Yield the lays that engines find for tasks, each task's ever shorter; None in between.

    many: how many engines work at a time. A task is only asked for when one is free. The engines
    are stopped when the caller stops iterating. For a seed one always finds the same lays, but how
    many in the time varies.
    """
    lines: Queue[tuple[Popen[str], str]] = Queue()
    running: dict[int, tuple[Popen[str], Task]] = {}
    try:
        while True:
            while len(running) < many and (task := next(tasks, None)) is not None:
                engine = _started(task)
                running[engine.pid] = engine, task
                Thread(target=_listen, args=(engine, lines), daemon=True).start()
            if not running:
                return
            engine, line = lines.get()
            if not line:  # it ended, or died: earlier lays are kept
                engine.wait()
                del running[engine.pid]
                continue
            data = json.loads(line)
            spots = data and tuple(tuple(spot) for spot in data[1])
            yield running[engine.pid][1], data and Found(data[0], spots)
    finally:
        for engine, _ in running.values():
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


def _listen(engine: Popen[str], lines: Queue[tuple[Popen[str], str]]) -> None:
    """Pass an engine's lines on, then an empty one."""
    assert engine.stdout is not None
    with engine.stdout:
        for line in engine.stdout:
            lines.put((engine, line))
    lines.put((engine, ""))


def _run(task: Task) -> None:
    import spyrrow

    items = [
        spyrrow.Item(str(index), [(x, y) for x, y in corners], 1, list(angles))
        for index, (corners, angles) in enumerate(zip(task.polygons, task.angles, strict=True))
    ]
    instance = spyrrow.StripPackingInstance("lay", task.height, items)
    config = spyrrow.StripPackingConfig(
        total_computation_time=task.seconds, seed=task.seed, num_workers=1
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
