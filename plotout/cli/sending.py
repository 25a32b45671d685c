"""What `send` and `resume` share: asking, telling, keys, and the last word."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from plotout.cli.progress import progress

if TYPE_CHECKING:
    from plotout.wire.run import Calls, Order
    from plotout.wire.sender import Outcome


def calls(yes: bool, as_json: bool) -> Calls:
    """Return how the user is told and asked at this terminal. yes: don't ask."""
    from plotout.cli.keys import watched
    from plotout.wire.run import Calls
    from plotout.wire.sender import Wish

    wish = Wish()
    bars = []

    @contextmanager
    def sending() -> Iterator[None]:
        with progress(not as_json) as show, watched(wish):
            bars.append(show)
            yield

    def done(units: int, of: int) -> None:
        bars[-1]("cutting", units / of)

    return Calls(
        said=lambda text: None if as_json else click.echo(text),
        done=done,
        agreed=lambda question: yes or click.confirm(question, default=False, err=True),
        sending=sending,
        wish=wish,
    )


def report(outcome: Outcome, order: Order, as_json: bool, virtual: bool = False) -> None:
    """Tell how it ended. Exit code 1 when it was stopped before the end."""
    if as_json:
        told = {
            "done": outcome.done,
            "strokes": outcome.units,
            "stopped": outcome.stopped,
            "bytes": outcome.payload,
            "seconds": round(outcome.seconds, 2),
            "journal": str(order.journal),
            "virtual": virtual,
        }
        click.echo(json.dumps(told))
    else:
        where = "a virtual machine; nothing moved" if virtual else order.machine
        click.echo(f"{outcome.done} of {outcome.units} strokes done ({where}).")
        if outcome.stopped:
            click.echo(f"Stopped, tool up. To go on: plotout resume {order.journal}")
    if outcome.stopped:
        raise click.exceptions.Exit(1)
