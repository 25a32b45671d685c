"""plotout rack check, backup: looking after the rack."""

from __future__ import annotations

from pathlib import Path

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON, PATH
from plotout.cli.rack_shared import open_rack


@click.command()
@JSON
@click.pass_context
def check(ctx: click.Context, as_json: bool) -> None:
    """Check the whole rack for damage.

    Example: plotout rack check
    """
    from plotout.rack import care

    with open_rack(ctx) as connection:
        faults = care.damage(connection)
    if as_json:
        print_json({"good": not faults, "faults": faults})
    else:
        click.echo("\n".join(faults) or "The rack is undamaged.")
    if faults:
        ctx.exit(1)


@click.command()
@click.argument("target", type=PATH)
@JSON
@click.pass_context
def backup(ctx: click.Context, target: Path, as_json: bool) -> None:
    """Copy the rack to TARGET, even while it is in use.

    Example: plotout rack backup /media/stick/rack.sqlite
    """
    from plotout.rack import care

    with open_rack(ctx) as connection:
        care.back_up(connection, target)
    if as_json:
        print_json({"file": str(target)})
    else:
        click.echo(f"Backed up to {target}.")
