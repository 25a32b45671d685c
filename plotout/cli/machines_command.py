"""plotout machines: the machines that have profiles, and the details of one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from plotout.machine import Machine, Tool


@click.command()
@click.argument("name", required=False)
@JSON
def machines(name: str | None, as_json: bool) -> None:
    """List the machines, or describe NAME. Your own profiles override the shipped ones.

    Example: plotout machines craft-cutter
    """
    from plotout import folders, plugins
    from plotout.machine import profile

    extra = plugins.machine_files()
    broken: list[str] = []
    if name:
        path = profile.find(name, extra)
        report = [_report(path, profile.load(path, extra, plugins))]
    else:
        report, broken = _all(profile.known(extra), extra)
    if as_json:
        data = {"machines": report, "broken": broken, "folder": str(folders.profiles())}
        print_json(report[0] if name else data)
    elif name:
        _print(report[0])
    else:
        _list(report)
        for fault in broken:
            click.echo(f"Not read: {fault}", err=True)
        click.echo(f"Put your own profiles in {folders.profiles()}")


def _all(
    known: Mapping[str, Path], extra: Sequence[Path]
) -> tuple[list[dict[str, Any]], list[str]]:
    """Return a report per machine, and the faults of the profiles that can't be read.

    One broken profile must not hide the others.
    """
    from plotout import plugins
    from plotout.errors import UserError
    from plotout.machine import profile

    found, broken = [], []
    for name, path in known.items():
        try:
            found.append(_report(path, profile.load(name, extra, plugins)))
        except UserError as fault:
            broken.append(str(fault))
    return found, broken


def _report(path: Path, machine: Machine) -> dict[str, Any]:
    from plotout.machine import caution

    bed = machine.bed
    return {
        "name": machine.name,
        "title": machine.title,
        "kind": machine.kind,
        "driver": machine.driver,
        "length_mm": round(bed.length, 3),
        "width_mm": round(bed.width, 3),
        "roll": bed.roll,
        "step_mm": machine.step,
        "tools": [_tool(tool) for tool in machine.tools],
        "cautions": list(caution(machine)),
        "notes": list(machine.shared_numbers()),
        "profile": str(path),
    }


_UNITS = {"mm": "mm", "mm/s": "mm_per_s", "gf": "gf", "%": "percent", "deg": "degrees", "s": "s"}


def _tool(tool: Tool) -> dict[str, Any]:
    """Return a tool's fields; the names of quantities end with their units."""
    from plotout.machine import Tool
    from plotout.tables import ListOf, Number
    from plotout.tables.fields import all_fields

    found = {}
    for field in all_fields(Tool):
        kind = field.kind.of if isinstance(field.kind, ListOf) else field.kind
        unit = _UNITS.get(kind.unit) if isinstance(kind, Number) else None
        name = f"{field.name}_{unit}" if unit else field.name
        found[name] = getattr(tool, field.name)
    return found


def _list(report: list[dict[str, Any]]) -> None:
    from plotout.cli.table import table

    rows = [[row["name"], row["title"], row["kind"], row["driver"], _bed(row)] for row in report]
    click.echo(table(["machine", "what it is", "kind", "driver", "bed"], rows))
    for row in report:
        for note in row["notes"]:
            click.echo(f"Note: {row['name']}: {note}", err=True)


def _bed(row: dict[str, Any]) -> str:
    return f"{row['length_mm']:.0f} x {row['width_mm']:.0f} mm" + (" roll" if row["roll"] else "")


def _print(row: dict[str, Any]) -> None:
    from plotout.cli.table import table

    click.echo(f"{row['title']} ({row['kind']}), {_bed(row)}, driver {row['driver']}")
    rows = [
        [tool["name"], tool["kind"], ", ".join(tool["does"]), *_how(tool)] for tool in row["tools"]
    ]
    click.echo(table(["tool", "kind", "does", "mm/s", "with", "offset mm", "kerf mm"], rows))
    click.echo(f"  {row['profile']}")
    for text in row["notes"]:
        click.echo(f"Note: {text}")
    for text in row["cautions"]:
        click.echo(f"Caution: {text}")


def _how(tool: dict[str, Any]) -> list[str]:
    units = (("force_gf", "gf"), ("power_percent", "%"), ("depth_mm", "mm deep"))
    settings = [f"{tool[key]:g} {unit}" for key, unit in units if tool[key] is not None]
    widths = (f"{tool[key]:g}" if tool[key] else "" for key in ("offset_mm", "kerf_mm"))
    return [f"{tool['speed_mm_per_s']:g}", ", ".join(settings), *widths]
