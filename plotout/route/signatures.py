"""The search's loops with their types, for compiling them ahead."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from plotout.route import fragments, net, search, touch
from plotout.route.ring import Net, Ring


def loops() -> list[tuple[Callable[..., object], Any]]:
    """Return every loop that Python calls, and its type for numba."""
    import numba

    types: Any = numba.types
    number, whole, truth = types.float64, types.int64, types.boolean
    state, truths = types.Array(types.uint64, 1, "C"), types.Array(truth, 1, "C")

    def numbers(axes: int) -> Any:
        return types.Array(number, axes, "C")

    def wholes(axes: int) -> Any:
        return types.Array(whole, axes, "C")

    def nodes(axes: int) -> Any:
        return types.Array(types.uint32, axes, "C")

    def record(kind: type, **fields: Any) -> Any:
        assert tuple(fields) == kind._fields  # type: ignore[attr-defined]
        return types.NamedTuple(tuple(fields.values()), kind)

    places = record(
        Net, at=numbers(2), mate=wholes(1), near=nodes(2), far=numbers(2), beyond=numbers(1),
        model=numbers(1), spots=numbers(2), first=wholes(1), outer=wholes(1),
    )  # fmt: skip
    ring = record(
        Ring, nodes=nodes(1), place=nodes(1), log=wholes(2), logged=wholes(1), pick=wholes(1)
    )
    desk = record(search.Desk, queue=nodes(1), turn=wholes(1), waits=truths, cuts=wholes(2))
    slid = (
        numbers(3), wholes(1), numbers(2), wholes(1), numbers(1), numbers(2), numbers(1), truths
    )  # fmt: skip
    linked = wholes(1), wholes(1), wholes(2), wholes(1), wholes(1), wholes(1)
    chosen = numbers(2), whole, wholes(2), wholes(1), wholes(1), nodes(2)
    return [
        (fragments.linked, whole(*linked)),
        (net.in_quadrants, types.void(*chosen)),
        (search.shortened, number(places, ring, whole, whole, number, state, desk)),
        (touch.slide_touches, types.void(*slid)),
    ]
