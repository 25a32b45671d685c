"""plotout calibrate: a test square, and the correction of a machine from its measures."""

from __future__ import annotations

import datetime
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, TwoValues, folder_option

if TYPE_CHECKING:
    from plotout.machine import Calibration, Machine
    from plotout.machine.calibration import Measured
    from plotout.model import Sheet

Pair = tuple[str, str] | None


@click.command()
@click.argument("machine", metavar="MACHINE")
@folder_option("Folder for a test square: make that, and measure nothing.", required=False)
@click.option("--across", cls=TwoValues, help="Measured lower and upper sides.")
@click.option("--up", cls=TwoValues, help="Measured left and right sides.")
@click.option(
    "--diagonals",
    cls=TwoValues,
    help="Measured diagonals: lower left to upper right, then upper left to lower right.",
)
@click.option("--side", help="Intended length of the sides; that of the test square by default.")
@click.option(
    "--uncorrected/--corrected",
    default=None,
    help="The square was made without the calibration that the profile has, as the one of --out "
    "is, or with it, as those on the pages of a job are.",
)
@click.option("--sure", is_flag=True, help="Accept measurements that contradict one another.")
@click.option("--date", help="Date of measuring, such as 2026-04-11; today by default.")
@FORCE
@JSON
def calibrate(
    machine: str,
    folder: Path | None,
    across: Pair,
    up: Pair,
    diagonals: Pair,
    side: str | None,
    uncorrected: bool | None,
    sure: bool,
    date: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Calibrate MACHINE: make a test square, then give its measurements; your profile keeps them.

    Measure corner to corner, from the middle of one line to the middle of the other. All later
    work for the machine is corrected.

    \b
    Example: plotout calibrate home-a4 --out square
             plotout calibrate home-a4 --across 149.4 149.4 --up 150.2 150 --diagonals 211.8 211.9
    """
    from plotout import job
    from plotout.errors import UserError

    profile = job.load_machine(machine)
    measures = (across, up, diagonals)
    if folder is not None and not any(measures):
        _make(machine, profile, folder, force=force, as_json=as_json)
        return
    if folder is not None or across is None or up is None or diagonals is None:
        raise UserError(
            "give --out for a test square, or all that was measured on one",
            fix="First --out FOLDER; then --across, --up and --diagonals.",
        )
    report = _keep(machine, profile, _measured(profile, (across, up, diagonals), side),
                   uncorrected=uncorrected, sure=sure, date=date)  # fmt: skip
    if as_json:
        print_json(report)
        return
    for axis in "xy":
        click.echo(f"{axis} axis: {100.0 * (report[f'scale_{axis}'] - 1.0):+z.2f} %")
    click.echo(f"Off square: {report['skew']:+z.2f} degrees")
    click.echo(
        f"Read to {report['read_to_mm']:g} mm, that is known to {report['known_to_percent']:.2f} %."
    )
    click.echo(f"Kept in {report['profile']}; work for this machine is made truer by that much.")


def _make(name: str, machine: Machine, folder: Path, *, force: bool, as_json: bool) -> None:
    from plotout import output
    from plotout.files import slug
    from plotout.machine import caution
    from plotout.manifest import Job, own_stem
    from plotout.sheet_job import make_sheet, with_pictures

    side, sheet, plain = _square(machine)
    job = Job(f"test-square-{slug(machine.name)}", {"what": f"test square of {machine.name}"})
    made = make_sheet(sheet, plain, own_stem(folder, job))
    lines = output.write_sheets([with_pictures(made)], folder, job, force=force)
    files = [str(folder / file) for file in made.files]
    if as_json:
        report = {"files": files, "side_mm": side, "notes": list(lines)}
        print_json(report | {"cautions": list(caution(machine))})
        return
    click.echo("\n".join(files))
    click.echo(
        f"A square of {side:g} mm, made without any calibration. Make it, measure its four sides "
        "and both diagonals, and say what you measured:\n"
        f"  plotout calibrate {name} --across LOWER UPPER --up LEFT RIGHT "
        "--diagonals LOWER-LEFT-TO-UPPER-RIGHT UPPER-LEFT-TO-LOWER-RIGHT"
    )
    for text in lines:
        click.echo(f"Note: {text}")
    for text in caution(machine):
        click.echo(f"Caution: {text}")


def _square(machine: Machine) -> tuple[float, Sheet, Machine]:
    """Return the largest test square that is made in one piece, its sheet, and the machine for it.

    That is the machine without its calibration. The side is in mm.
    """
    from dataclasses import replace

    from plotout import plugins, tool
    from plotout.machine import Calibration
    from plotout.tool.square import sides_for, square

    plain = replace(machine, calibration=Calibration())
    driver = plugins.driver(plain.driver)
    for side in sides_for(plain):
        sheet = square(plain, side)
        if driver.tiles is None:
            break
        program = tool.compile_sheet(sheet, sheet.placed[0].strokes[:1], plain)
        if sum(len(part.plan.filled) for part in driver.tiles(program, sheet)) == 1:
            break
    return side, sheet, plain


def _measured(machine: Machine, pairs: tuple[Any, ...], side: str | None) -> Measured:
    from plotout.machine.calibration import Measured
    from plotout.units import length

    across, up, diagonals = ((length(pair[0]), length(pair[1])) for pair in pairs)
    return Measured(across, up, diagonals, length(side) if side else _square(machine)[0])


def _keep(
    name: str,
    machine: Machine,
    measured: Measured,
    *,
    uncorrected: bool | None,
    sure: bool,
    date: str | None,
) -> dict[str, Any]:
    """Write what was found to the user's own profile; return it as a report."""
    from plotout.errors import UserError
    from plotout.files import rewrite_whole
    from plotout.machine import profile
    from plotout.machine.calibration import READS
    from plotout.machine.calibration import calibrate as found_by
    from plotout.plugins import machine_files

    try:
        day = (datetime.date.fromisoformat(date) if date else datetime.date.today()).isoformat()
    except ValueError:
        raise UserError(f"{date!r} is no date", fix="Write it as 2026-04-11.") from None
    before = _before(machine, uncorrected)
    found = found_by(
        measured.across, measured.up, measured.diagonals, side=measured.side, date=day,
        before=before,
    )  # fmt: skip
    if measured.doubts and not sure:
        _ask(measured.doubts)
    source = profile.find(name, machine_files())
    written, target = profile.to_edit(name, source)
    text = profile.with_calibration(written, found)
    profile.parse(text, target)
    rewrite_whole(target, text.encode())
    return {
        "profile": str(target),
        **asdict(found),
        "side_mm": measured.side,
        "built_on_earlier": before is not None,
        "doubts": list(measured.doubts),
        "read_to_mm": READS,
        "known_to_percent": round(100.0 * READS / measured.side, 3),
    }


def _before(machine: Machine, uncorrected: bool | None) -> Calibration | None:
    """Return the calibration that the square was made with. Raises UserError where who knows."""
    from plotout.errors import UserError
    from plotout.machine import Calibration

    if machine.calibration == Calibration():
        return None
    if uncorrected is None:
        raise UserError(
            f"which square was measured? '{machine.name}' is {machine.calibration}",
            fix="Add --uncorrected for one of --out, or --corrected for one on a job's pages.",
        )
    return None if uncorrected else machine.calibration


def _ask(doubts: tuple[str, ...]) -> None:
    """Ask whether measures are right that contradict one another. Raises UserError."""
    from plotout.errors import UserError

    words = "; ".join(doubts)
    if sys.stdin.isatty():
        click.echo(f"These should be alike, and are not: {words}.", err=True)
        if click.confirm("Did you measure them again, and are they right?", err=True):
            return
    raise UserError(
        f"these should be alike, and are not: {words}; nothing was kept",
        fix="Measure them again. If they are right, add --sure: their mean is taken.",
    )
