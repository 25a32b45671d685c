"""plotout plugins: what is installed and what each offers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON

if TYPE_CHECKING:
    from plotout.plugins import Offer


@click.command()
@JSON
def plugins(as_json: bool) -> None:
    """List the plugins that are installed, and the readers, drivers and machines of each.

    Example: plotout plugins
    """
    from plotout.plugins import offers

    report = [_report(offer) for offer in offers()]
    if as_json:
        print_json({"plugins": report})
        return
    for plugin in report:
        click.echo(f"{plugin['plugin']} ({plugin['package']} {plugin['version']})")
        for line in _lines(plugin):
            click.echo(f"  {line}")


def _report(offer: Offer) -> dict[str, Any]:
    return {
        "plugin": offer.plugin,
        "package": offer.package,
        "version": offer.version,
        "readers": [
            {"name": each.name, "suffixes": list(each.suffixes), "picks": list(each.picks)}
            for each in offer.readers
        ],
        "drivers": [{"name": each.name, "suffix": each.suffix} for each in offer.drivers],
        "interpreters": [
            {"name": each.name, "drivers": list(each.drivers)} for each in offer.interpreters
        ],
        "languages": [each.name for each in offer.languages],
        "machines": [path.stem for path in offer.machines],
        "pricks_finders": [
            {"name": each.name, "suffixes": list(each.suffixes)} for each in offer.pricks_finders
        ],
    }


def _lines(plugin: dict[str, Any]) -> list[str]:
    lines = [f"reads {', '.join(each['suffixes'])}: {each['name']}" for each in plugin["readers"]]
    lines += [f"writes {each['suffix']}: driver {each['name']}" for each in plugin["drivers"]]
    lines += [
        f"reads back {', '.join(each['drivers'])}: {each['name']}"
        for each in plugin["interpreters"]
    ]
    lines += [f"speaks {name} to machines" for name in plugin["languages"]]
    lines += [
        f"finds pricks in {', '.join(each['suffixes'])}: {each['name']}"
        for each in plugin["pricks_finders"]
    ]
    return lines + [f"brings the machine {name}" for name in plugin["machines"]]
