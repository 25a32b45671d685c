"""Runs work in parallel processes, as many as there are processors.

On Linux they are forked from this one, which costs almost nothing, and find the work where it lies
in memory; elsewhere they are started anew, load what they need, and get a copy of the work. The
function, its arguments and its result must be picklable. The results are the same as without
processes, and faults are raised in the same place.

Each process has a line of its own, whose other end only this one holds, so that one that is killed
in the middle of a large result ends it. (A pool of concurrent.futures has one for all, which would
be waited at for ever.)
"""

from __future__ import annotations

import gc
import io
import os
import pickle
import signal
import sys
import traceback
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from threading import Thread
from typing import Any, TypeAlias, TypeVar, cast

from plotout.errors import PlotoutError

Item = TypeVar("Item")
Result = TypeVar("Result")
Work: TypeAlias = tuple[Future[bytes], Callable[[], bytes]]

_beside = False
"""True in a process begun here, which begins no further ones."""


@dataclass(frozen=True, slots=True)
class _Task:
    """What a forked process works on. known: what its results hold by number, not as a copy."""

    function: Callable[[Any], Any]
    items: Sequence[Any]
    known: Sequence[object]

    def outcome(self, place: int) -> bytes:
        """Return the result for an item as bytes."""
        return _outcome(partial(self.function, self.items[place]), self.known)


_task = _Task(id, (), ())
"""In a forked process, its own."""


def results(
    function: Callable[[Item], Result],
    items: Sequence[Item],
    weight: Callable[[Item], float] | None = None,
    *,
    brief: bool = False,
    known: Sequence[object] = (),
    meanwhile: Callable[[], object] | None = None,
) -> Iterator[Result]:
    """Give function(item) for every item, in order; as many as possible run at a time.

    weight: an item's time, in any unit; the longest are begun first. brief: the work takes about a
    second, less than it takes to start a process anew. known: large things in the items, which
    results may hold too: they are not copied where processes are forked. meanwhile: done here once
    the work is begun. A fault of the function's is raised here; changes made by it are not seen
    here. Ctrl-C goes to this process, whose children end with it.
    """
    many = min(processors(), len(items))
    if many < 2 or (brief and not _forks()):
        if meanwhile:
            meanwhile()
        yield from map(function, items)
        return
    order = list(range(len(items)))
    if weight is not None:
        order.sort(key=lambda place: -weight(items[place]))
    task = _Task(function, items, known) if _forks() else None
    futures: dict[int, Future[bytes]] = {place: Future() for place in order}
    left: deque[Work] = deque(
        (future, partial(_worked, place))
        if task
        else (future, partial(_outcome, partial(function, items[place]), ()))
        for place, future in futures.items()
    )
    with _begun(many, left, task):
        if meanwhile:
            meanwhile()
        for place in range(len(items)):
            yield _result(futures.pop(place), known)


@contextmanager
def _begun(many: int, left: deque[Work], task: _Task | None) -> Iterator[None]:
    """Have `many` processes do the work that is left, the first first; they end with this context.

    task: what forked ones work on.
    """
    context = get_context("fork") if _forks() else get_context("spawn")
    processes: list[BaseProcess] = []
    lines: list[Connection] = []
    server = Thread(target=_serve, args=(lines, left), daemon=True)
    try:
        with _without_interrupts():
            for _ in range(many):
                here, there = context.Pipe()
                lines.append(here)
                inherited = tuple(lines) if _forks() else ()
                process = context.Process(target=_work, args=(there, inherited, task), daemon=True)
                process.start()
                processes.append(process)
                there.close()
            server.start()
        yield
    finally:
        for one in processes:
            one.kill()
            one.join()
        if server.ident is not None:
            server.join()
        for line in lines:
            line.close()


def _serve(lines: Sequence[Connection], left: deque[Work]) -> None:
    """Give work to whoever has none until all is done, or a process has died."""
    busy: dict[Connection, Future[bytes]] = {}
    try:
        for line in lines:
            _give(line, left, busy)
        while busy:
            for line in cast("list[Connection]", wait(list(busy))):
                done = line.recv_bytes()
                busy.pop(line).set_result(done)
                _give(line, left, busy)
    except (EOFError, OSError):
        for future in (*busy.values(), *(future for future, _ in left)):
            future.set_exception(
                PlotoutError(
                    "a process of the work was killed",
                    fix="The computer may have run out of memory: close other programs and try "
                    "again.",
                )
            )


def _give(line: Connection, left: deque[Work], busy: dict[Connection, Future[bytes]]) -> None:
    """Send a process the next work that can be sent, if any is left."""
    while left:
        future, work = left.popleft()
        try:
            data = pickle.dumps(work)
        except Exception as fault:
            future.set_exception(fault)
            continue
        busy[line] = future
        line.send_bytes(data)
        return


def _work(line: Connection, inherited: Sequence[Connection], task: _Task | None) -> None:
    """Work in a process of its own until no more comes. inherited: ends that are not for it: its
    own would keep the line open after the other process has ended.
    """
    for one in inherited:
        one.close()
    _prepare(task)
    with suppress(EOFError, OSError):
        while True:
            line.send_bytes(pickle.loads(line.recv_bytes())())


def _forks() -> bool:
    return sys.platform == "linux"


def _prepare(task: _Task | None) -> None:
    """Prepare a new process to work for another. task: inherited, so it must have been forked."""
    global _beside, _task  # noqa: PLW0603 the process is another one
    _beside = True
    _task = task or _task
    gc.freeze()  # collecting garbage among inherited objects would copy them all
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, [signal.SIGINT])


@contextmanager
def _without_interrupts() -> Iterator[None]:
    """Hold Ctrl-C back while a process is begun, which would also receive it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def processors() -> int:
    """Return how many processes can work at a time."""
    if _beside:
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _worked(place: int) -> bytes:
    return _task.outcome(place)


def _outcome(work: Callable[[], Any], known: Sequence[object]) -> bytes:
    """Return the work's result, or the fault that ended it, as bytes."""
    try:
        return _packed((work(), None), known)
    except BaseException as fault:
        fault.add_note("".join(traceback.format_exception(fault)))
        try:
            return pickle.dumps((None, fault))
        except Exception:  # a fault that can't be pickled is reported in words
            return pickle.dumps((None, RuntimeError(f"{type(fault).__name__}: {fault}")))


def _packed(result: object, known: Sequence[object]) -> bytes:
    numbers = {id(one): number for number, one in enumerate(known)}

    class Packer(pickle.Pickler):
        def persistent_id(self, found: object) -> int | None:
            return numbers.get(id(found))

    data = io.BytesIO()
    packer = Packer if known else pickle.Pickler
    packer(data, pickle.HIGHEST_PROTOCOL).dump(result)
    return data.getvalue()


def _unpacked(data: bytes, known: Sequence[object]) -> Any:
    class Unpacker(pickle.Unpickler):
        def persistent_load(self, number: int) -> object:
            return known[number]

    return Unpacker(io.BytesIO(data)).load()


def _result(future: Future[bytes], known: Sequence[object]) -> Any:
    result, fault = _unpacked(future.result(), known)
    if fault is not None:
        raise fault
    return result
