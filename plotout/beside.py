"""Work beside other work, in processes that are forked from this one: they know all that it knows.

Where a system doesn't fork safely, or has one processor, all is done here instead, one thing after
another. The results are the same, and faults are raised in the same place.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
import traceback
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from multiprocessing import current_process, get_context
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar, cast

from plotout.errors import PlotoutError

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

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
    context = get_context("fork")
    ours, theirs = context.Pipe(duplex=False)

    def work() -> None:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        signal.pthread_sigmask(signal.SIG_SETMASK, heard)
        ours.close()
        theirs.send_bytes(_outcome(lambda: function(*given, **named)))

    process = context.Process(target=work, daemon=True)  # ended when this process ends
    heard = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        process.start()
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, heard)
    theirs.close()

    def wait() -> Result:
        try:
            return cast("Result", _result(ours))
        finally:
            process.kill()
            process.join()
            ours.close()

    return wait


def each(function: Callable[[Item], Result], items: Iterable[Item]) -> Iterator[Result]:
    """Give function(item) for every item, in their order; those that follow are begun meanwhile."""
    ahead: deque[Callable[[], Result]] = deque()
    most = _at_once()
    for item in items:
        if len(ahead) > most:  # one more than there are processors, so that none stands idle
            yield ahead.popleft()()
        ahead.append(begin(function, item))
    while ahead:
        yield ahead.popleft()()


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
    except EOFError:
        raise PlotoutError(
            "a part of the work was ended from outside",
            fix="Did the computer run out of memory? Close other programs and try again.",
        ) from None
    if fault is not None:
        raise fault
    return result
