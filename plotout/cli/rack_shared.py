"""What the rack's commands share: opening the rack, printing its sets."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import groupby
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json

if TYPE_CHECKING:
    import sqlite3

    from plotout.rack.record import Found

CLOCK = "%Y-%m-%d %H:%M:%S"


@contextmanager
def open_rack(ctx: click.Context, *, create: bool = False) -> Iterator[sqlite3.Connection]:
    """Give a connection to the rack that --at names, or the usual one."""
    from plotout import folders
    from plotout.rack.store import opened

    with opened(ctx.obj or folders.rack(), create=create) as connection:
        yield connection


def now() -> str:
    """Return the time as the rack notes it."""
    return time.strftime(CLOCK)


def row_of(found: Found) -> dict[str, Any]:
    """Return a set's own data, fit for JSON."""
    fields = ("ref", "name", "date", "put_at", "maker", "place", "stock", "machine", "notes",
              "changes", "who", "since", "out")  # fmt: skip
    return {field: getattr(found, field) for field in fields}


def print_found(found: Iterable[Found], as_json: bool) -> None:
    """Print sets, one per line."""
    rows = list(found)
    if as_json:
        print_json({"sets": [row_of(row) for row in rows]})
        return
    for row in rows:
        out = f"; {row.loan}" if row.loan else ""
        place = f"; {row.place}" if row.place else ""
        click.echo(f"{row.ref}  {row.name}{place}{out}")
    if not rows:
        click.echo("None.")


def print_put(put: Sequence[tuple[Found, bool]], as_json: bool, **more: Any) -> None:
    """Print sets that were put on the rack, and what changed in those that are new versions."""
    if as_json:
        print_json({"sets": [row_of(found) | {"new": new} for found, new in put]} | more)
        return
    for found, new in put:
        print_found([found], False)
        for line in found.changes if new else ("it is on the rack already, unchanged",):
            click.echo(f"  {line}")


def print_styles(found: Sequence[Found], as_json: bool) -> None:
    """Print sets by style: one that hangs in several sizes as one, with its sizes below it."""
    if as_json:
        print_found(found, as_json)
        return
    for style, group in groupby(found, key=lambda one: one.style):
        sizes = list(group)
        if len(sizes) == 1:
            print_found(sizes, as_json)
            continue
        names = " / ".join(dict.fromkeys(one.name for one in sizes))
        click.echo(f"{style}  {names}, {len(sizes)} sizes")
        for one in sizes:
            parts = [f"  {one.size}  version {one.number}", one.place, one.loan]
            click.echo("; ".join(filter(None, parts)))
    if not found:
        click.echo("None.")
