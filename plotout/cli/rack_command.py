"""plotout rack: the record of sets."""

from __future__ import annotations

from pathlib import Path

import click

from plotout.cli import rack_again, rack_care, rack_hook, rack_look
from plotout.cli.options import PATH


@click.group()
@click.option("--at", type=PATH, help="The rack's file, if not the usual one.")
@click.pass_context
def rack(ctx: click.Context, at: Path | None) -> None:
    """Keep the record of sets: put them on hooks, find them, cut them again.

    Name a set by style, style:size or style:size:version; without a version, the newest is meant.
    The text of a card's QR code, style:size:version/card, also names it.

    Example: plotout rack put samples/beekeepers-smock/set.toml --place "hook 12"
    """
    ctx.obj = at


COMMANDS = (
    rack_hook.put,
    rack_look.list_sets,
    rack_look.find,
    rack_look.show,
    rack_hook.out,
    rack_hook.back,
    rack_look.compare,
    rack_again.recut,
    rack_hook.note,
    rack_again.export_set,
    rack_again.bring,
    rack_care.check,
    rack_care.backup,
)
for command in COMMANDS:
    rack.add_command(command)
