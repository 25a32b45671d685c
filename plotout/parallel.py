"""Work beside other work, in processes that are forked from this one: they know all that it knows.

Where a system doesn't fork safely, or has one processor, all is done here instead, one thing after
another. The results are the same, and faults are raised in the same place.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from functools import partial
from multiprocessing import connection, current_process, get_context
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar, cast

from plotout.errors import PlotoutError

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.context import ForkProcess

Given = ParamSpec("Given")
Item = TypeVar("Item")
Result = TypeVar("Result")


def begin(
    function: Callable[Given, Result], *given: Given.args, **named: Given.kwargs
) -> Callable[[], Result]:
    """Begin function(...) beside this process; return what waits for its result.

    The wait raises what the function raised. Only the result is copied, so it must be picklable,
    and nothing that the function changes is seen here. Ctrl-C is this process's: what is
    underway beside it ends with it.
    """
    if _at_once() == 1:
        return lambda: function(*given, **named)

    def work(pipe: Connection) -> None:
        pipe.send_bytes(_outcome(partial(function, *given, **named)))

    process, pipe = _forked(work, ())

    def wait() -> Result:
        try:
            return cast("Result", _result(pipe))
        finally:
            _end(process, pipe)

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

    def work(pipe: Connection) -> None:
        while True:
            pipe.send_bytes(_outcome(partial(function, items[pipe.recv()])))

    waiting = list(range(len(items)))
    if weight is not None:
        waiting.sort(key=lambda nth: -weight(items[nth]))
    waiting.reverse()
    processes: dict[Connection, ForkProcess] = {}
    doing: dict[Connection, int] = {}
    done: dict[int, Any] = {}
    try:
        for _ in range(many):
            process, pipe = _forked(work, list(processes))
            processes[pipe] = process
            doing[pipe] = waiting.pop()
            pipe.send(doing[pipe])
        for nth in range(len(items)):
            while nth not in done:
                for pipe in cast("list[Connection]", connection.wait(list(doing))):
                    done[doing.pop(pipe)] = _result(pipe)
                    if waiting:
                        doing[pipe] = waiting.pop()
                        pipe.send(doing[pipe])
            yield done.pop(nth)
    finally:
        for pipe, process in processes.items():
            _end(process, pipe)


def _forked(
    work: Callable[[Connection], None], others: Sequence[Connection]
) -> tuple[ForkProcess, Connection]:
    """Fork a process that does `work` with its end of a pipe; return it, and our end.

    others: our ends of other pipes. It closes them, so that all end when this process does.
    """
    context = get_context("fork")
    ours, theirs = context.Pipe()

    def serve() -> None:
        gc.freeze()  # looking for garbage among what was there would copy it all
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        signal.pthread_sigmask(signal.SIG_SETMASK, heard)
        for pipe in (ours, *others):
            pipe.close()
        with suppress(EOFError, OSError):  # nobody waits any more
            work(theirs)

    process = context.Process(target=serve, daemon=True)
    heard = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        process.start()
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, heard)
    theirs.close()
    return process, ours


def _end(process: ForkProcess, pipe: Connection) -> None:
    process.kill()
    process.join()
    pipe.close()


def _at_once() -> int:
    """How many processes can work at a time; 1 where none may be forked."""
    if sys.platform in ("win32", "darwin") or current_process().daemon:
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


def _result(pipe: Connection) -> Any:
    try:
        result, fault = pickle.loads(pipe.recv_bytes())
    except (EOFError, OSError):
        raise PlotoutError(
            "a part of the work was ended from outside",
            fix="Did the computer run out of memory? Close other programs and try again.",
        ) from None
    if fault is not None:
        raise fault
    return result
