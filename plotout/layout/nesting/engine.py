"""The strip-packing engine (spyrrow) in a separate process, so that it can be stopped.

Run as a program, it reads one task as a line of JSON and writes every lay that it finds as a line,
each shorter than the last.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass

Spot = tuple[int, float, float, float]
"""Number of the item, degrees turned about its 0, 0, then the shift in x and y."""


@dataclass(frozen=True, slots=True)
class Task:
    """Polygons (their corners) to lay on a strip. angles: allowed turns, degrees.

    seconds: whole seconds. goal: length at which to stop.
    """

    height: float
    polygons: Sequence[Sequence[tuple[float, float]]]
    angles: Sequence[float]
    seconds: int
    seed: int
    goal: float = 0.0


@dataclass(frozen=True, slots=True)
class Found:
    """A lay: its length of strip, and the places of the polygons."""

    length: float
    spots: tuple[Spot, ...]


def lays(task: Task) -> Iterator[Found | None]:
    """Yield ever shorter lays as they are found; None from time to time in between.

    The engine is stopped when the caller stops iterating. For a seed it always finds the same lays,
    but how many in the time varies.
    """
    command = [sys.executable, "-m", "plotout.layout.nesting.engine"]
    with subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,  # Ctrl-C goes to this process, which stops the engine
    ) as engine:
        assert engine.stdin is not None
        assert engine.stdout is not None
        try:
            engine.stdin.write(json.dumps(asdict(task)) + "\n")
            engine.stdin.close()
            for line in engine.stdout:
                data = json.loads(line)
                if data is None:
                    yield None
                    continue
                yield Found(data[0], tuple(tuple(spot) for spot in data[1]))
                if data[0] <= task.goal:
                    return
        except OSError:
            return  # it died: earlier lays are kept
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
