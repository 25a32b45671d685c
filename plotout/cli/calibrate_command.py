"""plotout calibrate: correct a machine's profile from its measured test square."""

from __future__ import annotations

import datetime
from dataclasses import asdict

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON


@click.command()
@click.argument("machine", metavar="MACHINE")
@click.option("--across", nargs=2, required=True, help="Measured lower and upper sides.")
@click.option("--up", nargs=2, required=True, help="Measured left and right sides.")
@click.option(
    "--diagonals",
    nargs=2,
    required=True,
    help="Measured diagonals: lower left to upper right, then upper left to lower right.",
)
@click.option("--side", default="100 mm", show_default=True, help="Intended length of the sides.")
@click.option("--date", help="Date of measuring, such as 2026-04-11; today by default.")
@JSON
def calibrate(
    machine: str,
    across: tuple[str, str],
    up: tuple[str, str],
    diagonals: tuple[str, str],
    side: str,
    date: str | None,
    as_json: bool,
) -> None:
    """Calibrate MACHINE from its measured test square; the result goes into your own profile.

    Example: plotout calibrate home-a4 --across 99.6 99.6 --up 100.1 100 --diagonals 141.2 141.3
    """
    from plotout import folders
    from plotout.errors import UserError
    from plotout.files import write_whole
    from plotout.machine import profile
    from plotout.machine.calibration import calibrate as measured
    from plotout.plugins import machine_files
    from plotout.units import length

    try:
        day = (datetime.date.fromisoformat(date) if date else datetime.date.today()).isoformat()
    except ValueError:
        raise UserError(f"{date!r} is not a date", fix="Write it as 2026-04-11.") from None
    sides = [(length(pair[0]), length(pair[1])) for pair in (across, up, diagonals)]
    found = measured(*sides, side=length(side), date=day)
    source = profile.find(machine, machine_files())
    profile.load(source)  # rejects a faulty profile before anything is written
    target = source if machine.endswith(".toml") else folders.profiles() / source.name
    text = profile.with_calibration(source.read_text(encoding="utf-8"), found)
    write_whole(target, text.encode())
    if as_json:
        print_json({"profile": str(target), **asdict(found)})
        return
    for axis, scale in (("x", found.scale_x), ("y", found.scale_y)):
        click.echo(f"{axis} axis: {100.0 * (scale - 1.0):+.2f} %")
    click.echo(f"Off square: {found.skew:+.2f} degrees")
    click.echo(f"Written to {target}; files for this machine are corrected by these amounts.")
