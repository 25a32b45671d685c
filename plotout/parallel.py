"""Work beside other work, in processes of concurrent.futures: as many as there are processors.

On Linux they are forked from this one, which costs next to nothing; elsewhere they are started anew
and load what they need. What is done, what it is done to and its result must be picklable. The
results are the same as without, and faults are raised in the same place.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import partial
from multiprocessing import active_children, get_context
from multiprocessing.process import BaseProcess
from typing import Any, ParamSpec, TypeVar, cast

from plotout.errors import PlotoutError

Given = ParamSpec("Given")
Item = TypeVar("Item")
Result = TypeVar("Result")

_beside = False
"""True in a process that was begun here: work within such work is done there."""


def begin(
    function: Callable[Given, Result], *given: Given.args, **named: Given.kwargs
) -> Callable[[], Result]:
    """Begin function(...) beside this process; return what waits for its result.

    The wait raises what the function raised. Nothing that the function changes is seen here. Ctrl-C
    is this process's: what is underway beside it ends with it.
    """
    if _at_once() == 1 or not _forks():  # to start a process anew takes longer than it saves
        return lambda: function(*given, **named)
    pool = _pool(1)
    running = pool.__enter__()
    future = running(partial(function, *given, **named))

    def wait() -> Result:
        try:
            return cast("Result", _result(future))
        finally:
            pool.__exit__(None, None, None)

    return wait


def each(
    function: Callable[[Item], Result],
    items: Sequence[Item],
    weight: Callable[[Item], float] | None = None,
) -> Iterator[Result]:
    """Give function(item) for every item, in their order; as many are done at a time as can be.

    weight: how long an item takes, in any unit: the longest are begun first. See `begin`.
    """
    many = min(_at_once(), len(items))
    if many < 2:
        yield from map(function, items)
        return
    order = list(range(len(items)))
    if weight is not None:
        order.sort(key=lambda place: -weight(items[place]))
    with _pool(many) as running:
        futures = {place: running(partial(function, items[place])) for place in order}
        for place in range(len(items)):
            yield _result(futures.pop(place))


@contextmanager
def _pool(many: int) -> Iterator[Callable[[Callable[[], Any]], Future[bytes]]]:
    """Give what begins work in one of so many processes. All of them end with this context."""
    others = set(active_children())
    context = get_context("fork" if _forks() else "spawn")
    executor = ProcessPoolExecutor(many, context, initializer=_prepare)
    started: set[BaseProcess] = set()

    def run(work: Callable[[], Any]) -> Future[bytes]:
        with _without_interrupts():
            future = executor.submit(_outcome, work)
        started.update(set(active_children()) - others)
        return future

    try:
        yield run
    finally:
        executor.shutdown(wait=False, cancel_futures=True)
        for process in started:
            process.kill()
        executor.shutdown(wait=True)


def _forks() -> bool:
    return sys.platform == "linux"


def _prepare() -> None:
    """Make a process that was just begun one that works for another."""
    global _beside  # noqa: PLW0603 the process is another one
    _beside = True
    gc.freeze()  # looking for garbage among what was there would copy it all
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, [signal.SIGINT])


@contextmanager
def _without_interrupts() -> Iterator[None]:
    """Hold Ctrl-C back while a process is begun, which would hear of it too."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _at_once() -> int:
    """How many processes can work at a time."""
    if _beside:
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _outcome(work: Callable[[], Any]) -> bytes:
    """Return the work's result, or the fault that it ended with, as bytes."""
    try:
        return pickle.dumps((work(), None), pickle.HIGHEST_PROTOCOL)
    except BaseException as fault:
        fault.add_note("".join(traceback.format_exception(fault)))
        try:
            return pickle.dumps((None, fault))
        except Exception:  # a fault that can't be copied is told in words
            return pickle.dumps((None, RuntimeError(f"{type(fault).__name__}: {fault}")))


def _result(future: Future[bytes]) -> Any:
    try:
        result, fault = pickle.loads(future.result())
    except BrokenProcessPool:
        raise PlotoutError(
            "a part of the work was ended from outside",
            fix="Did the computer run out of memory? Close other programs and try again.",
        ) from None
    if fault is not None:
        raise fault
    return result
