"""plotout plugins: the installed plugins and what they offer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON

if TYPE_CHECKING:
    from plotout.plugins import Offer


@click.command()
@JSON
@click.pass_context
def plugins(ctx: click.Context, as_json: bool) -> None:
    """List the installed plugins with their readers, drivers and machines.

    The exit code is 1 when one of them can't be used.

    Example: plotout plugins
    """
    from plotout.plugins import offers

    report = [_named(offer) | _offered(offer) for offer in offers()]
    if as_json:
        print_json({"plugins": report})
    else:
        for plugin in report:
            click.echo(f"{plugin['plugin']} ({plugin['package']} {plugin['version']})")
            for line in _lines(plugin):
                click.echo(f"  {line}")
    if any("error" in plugin for plugin in report):
        ctx.exit(1)


def _named(offer: Offer) -> dict[str, Any]:
    origin = offer.origin
    return {"plugin": origin.plugin, "package": origin.package, "version": origin.version}


def _offered(offer: Offer) -> dict[str, Any]:
    """Return what a plugin offers, or why it can't be used."""
    from plotout.errors import PluginError

    try:
        return _report(offer)
    except PluginError as fault:
        return {"error": fault.problem, "fix": fault.fix}


def _report(offer: Offer) -> dict[str, Any]:
    return {
        "readers": [
            {"name": reader.name, "suffixes": list(reader.suffixes), "picks": list(reader.picks)}
            for reader in offer.readers
        ],
        "drivers": [{"name": driver.name, "suffix": driver.suffix} for driver in offer.drivers],
        "interpreters": [
            {"name": interpreter.name, "drivers": list(interpreter.drivers)}
            for interpreter in offer.interpreters
        ],
        "languages": [language.name for language in offer.languages],
        "machines": [path.stem for path in offer.machines],
        "pricks_finders": [
            {"name": finder.name, "suffixes": list(finder.suffixes)}
            for finder in offer.pricks_finders
        ],
    }


def _lines(plugin: dict[str, Any]) -> list[str]:
    if "error" in plugin:
        return [f"It can't be used: {plugin['error']}.", plugin["fix"]]
    lines = [
        f"reads {', '.join(reader['suffixes'])}: {reader['name']}" for reader in plugin["readers"]
    ]
    lines += [f"writes {driver['suffix']}: driver {driver['name']}" for driver in plugin["drivers"]]
    lines += [
        f"reads back {', '.join(interpreter['drivers'])}: {interpreter['name']}"
        for interpreter in plugin["interpreters"]
    ]
    lines += [f"speaks {name} to machines" for name in plugin["languages"]]
    lines += [
        f"finds pricks in {', '.join(finder['suffixes'])}: {finder['name']}"
        for finder in plugin["pricks_finders"]
    ]
    return lines + [f"brings the machine {name}" for name in plugin["machines"]]
