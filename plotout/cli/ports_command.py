"""plotout ports: which ports there are, and what is on one."""

from __future__ import annotations

import json

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON


@click.command()
@click.argument("port", required=False)
@click.option("--baud", default=9600, type=click.IntRange(1), help="Speed to ask at.")
@JSON
def ports(port: str | None, baud: int, as_json: bool) -> None:
    """List the ports; or ask what is on PORT, and suggest a profile's `wire` table for it.

    Nothing moves: the machine is only asked who it is.

    Example: plotout ports /dev/ttyUSB0 --baud 115200
    """
    if port is None:
        _list(as_json)
        return
    from plotout.sending.greet import probe
    from plotout.sending.lock import locked

    with locked(port):
        met = probe(port, baud)
    settings = met.settings
    told = {key: getattr(settings, key) for key in ("language", "flow", "baud", "buffer")}
    if as_json:
        print_json({"port": port, "says": met.words, "wire": told})
        return
    for words in met.words:
        click.echo(f"The machine says: {words}")
    click.echo("[wire]")
    for key, value in told.items():
        click.echo(f"{key} = {json.dumps(value)}")


def _list(as_json: bool) -> None:
    from serial.tools.list_ports import comports

    found = sorted(comports(), key=lambda port: str(port.device))
    if as_json:
        told = [{"port": one.device, "what": one.description} for one in found]
        print_json({"ports": told})
        return
    for one in found:
        click.echo(f"{one.device}  {one.description}")
    if not found:
        click.echo("There is no port. Is the cable in and the machine on?")
