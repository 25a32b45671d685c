"""What a shell offers to complete: names of machines, pieces, cards and sets on the rack.

Nothing here may fail or take long: where a file can't be read, nothing is offered. click does the
rest (see its documentation on shell completion).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem

from plotout.errors import PlotoutError

Offered = list[CompletionItem]


def machines(ctx: click.Context, param: click.Parameter, incomplete: str) -> Offered:
    """Offer the machines that there are, and files, since a profile may be named by its path."""
    from plotout import plugins
    from plotout.machine import profile

    try:
        names = profile.known(plugins.machine_files())
    except PlotoutError:
        return []
    return _beginning(names, incomplete) or [CompletionItem(incomplete, type="file")]


def pieces(ctx: click.Context, param: click.Parameter, incomplete: str) -> Offered:
    """Offer the names of the set file's pieces."""
    return _beginning(_pieces(ctx), incomplete)


def cards(ctx: click.Context, param: click.Parameter, incomplete: str) -> Offered:
    """Offer the cards of pieces that are not divided, by the names in the set file."""
    from plotout.files import slug

    return _beginning(map(slug, _pieces(ctx)), incomplete)


def sets_on_rack(ctx: click.Context, param: click.Parameter, incomplete: str) -> Offered:
    """Offer the sets on the rack."""
    from plotout.cli.rack_shared import open_rack
    from plotout.rack.record import listed

    ctx.obj = ctx.parent.params.get("at") if ctx.parent else None  # `rack` itself has not run
    try:
        with open_rack(ctx) as connection:
            return _beginning([found.ref for found in listed(connection)], incomplete)
    except (PlotoutError, OSError):
        return []


def _pieces(ctx: click.Context) -> Iterator[str]:
    import tomllib

    from plotout.errors import UserError
    from plotout.tables import text_of

    # click leaves what stands before an option without its value unread
    path = ctx.params.get("set_file") or next(iter(ctx.args), None)
    try:
        read: dict[str, Any] = tomllib.loads(text_of(Path(path), "set file")) if path else {}
    except (UserError, ValueError):
        return
    listed = read.get("piece")
    for entry in listed if isinstance(listed, list) else ():
        name = entry.get("name") if isinstance(entry, dict) else None
        if isinstance(name, str):
            yield name


def _beginning(names: Iterable[str], incomplete: str) -> Offered:
    start = incomplete.casefold()
    return [CompletionItem(name) for name in names if name.casefold().startswith(start)]
