"""plotout ports: the computer's ports, and what is connected to one."""

from __future__ import annotations

import json

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON


@click.command()
@click.argument("port", required=False)
@click.option("--baud", default=9600, type=click.IntRange(1), help="Line speed for asking.")
@JSON
def ports(port: str | None, baud: int, as_json: bool) -> None:
    """List the ports, or ask what is connected to PORT and suggest a `sending` table for a profile.

    Nothing moves: the machine is only asked to identify itself.

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
    keys = {key: getattr(settings, key) for key in ("language", "flow", "baud", "buffer")}
    if as_json:
        print_json({"port": port, "says": met.words, "sending": keys})
        return
    for words in met.words:
        click.echo(f"The machine says: {words}")
    click.echo("[sending]")
    for key, value in keys.items():
        click.echo(f"{key} = {json.dumps(value)}")


def _list(as_json: bool) -> None:
    from serial.tools.list_ports import comports

    found = sorted(comports(), key=lambda port: str(port.device))
    if as_json:
        rows = [{"port": one.device, "what": one.description} for one in found]
        print_json({"ports": rows})
        return
    for one in found:
        click.echo(f"{one.device}  {one.description}")
    if not found:
        click.echo("No port found. Is the cable plugged in and the machine on?")
