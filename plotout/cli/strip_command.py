"""plotout strip: a test strip for a machine's tool, and its best field written to the profile."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, folder_option, machine_option

if TYPE_CHECKING:
    from plotout.machine import Machine, Tool
    from plotout.tool.strip import Trial


@click.command()
@machine_option()
@click.option("--tool", "tool_name", help="The tool to test; by default the cutting tool.")
@click.option(
    "--down", help="The setting that changes from row to row: force, power, depth, speed ..."
)
@click.option(
    "--across", help="The setting that changes along the rows: offset, overcut, speed ..."
)
@folder_option("Folder of the strip's files.")
@click.option("--best", help="The best field, such as B3; its settings go into your profile.")
@FORCE
@JSON
def strip(
    machine: str,
    tool_name: str | None,
    down: str | None,
    across: str | None,
    folder: Path,
    best: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Make a strip of small test cuts with varied settings; then keep those of the best field.

    Every field is labelled with the settings that the machine is given. They are listed in a file
    beside the strip, which --best reads.

    \b
    Example: plotout strip --machine craft-cutter --out out
             plotout strip --machine craft-cutter --out out --best B3
    """
    from plotout import job
    from plotout.errors import UserError
    from plotout.tool.strip import trials

    profile = job.load_machine(machine)
    if profile.kind in ("printer", "file"):
        raise UserError(
            f"'{machine}' is a {profile.kind}: it has no settings of a tool to try",
            fix=f"To see whether it is true: plotout calibrate {machine} --out FOLDER",
        )
    if best is None:
        tool = _tool(profile, tool_name)
        report = _made(profile, tool, trials(profile, tool, down, across), folder, force=force)
    elif tool_name or down or across:
        raise UserError("the strip that was cut says what it varies", fix="Give only --best.")
    else:
        tool, fields = _cut(profile, folder)
        report = _kept(machine, profile, tool, fields, best)
    if as_json:
        print_json(report)
        return
    click.echo("\n".join(_kept_lines(report) if best else _made_lines(report)))


def _made_lines(report: dict[str, Any]) -> list[str]:
    across, up = report["size_mm"]
    lines = [f"{report['file']}: {across:.0f} x {up:.0f} mm, {report['seconds']:.0f} s"]
    lines += [
        f"  {name}  " + ", ".join(f"{key} {value}" for key, value in settings.items())
        for name, settings in report["fields"].items()
    ]
    lines += [f"Note: {text}" for text in report["notes"]]
    return lines + [f"Caution: {text}" for text in report["cautions"]]


def _kept_lines(report: dict[str, Any]) -> list[str]:
    settings = ", ".join(f"{key} {value}" for key, value in report["settings"].items())
    return [f"{report['profile']}: {report['tool']}: {settings}"]


def _record(machine: Machine, folder: Path) -> Path:
    return folder / f"strip-{machine.name}.json"


def _cut(machine: Machine, folder: Path) -> tuple[Tool, tuple[Trial, ...]]:
    """Return the tool and the fields of the strip that was made in this folder."""
    from plotout.errors import Place, UserError
    from plotout.tables import Number, read_json
    from plotout.tool.strip import UNITS, trial

    path, again = _record(machine, folder), "Make the strip again."
    if not path.is_file():
        raise UserError(
            f"no strip for '{machine.name}' was made in '{folder}'",
            fix="Give the --out that it was made with.",
            place=Place(path),
        )
    said = read_json(path, "list of a strip", again).top
    wrong = UserError("this is not a list of a strip", fix=again, place=Place(path))
    try:
        name, fields = said["tool"], dict(said["fields"])
        settings = [
            {key: Number().read(value) for key, value in field.items() if key in UNITS}
            for field in fields.values()
        ]
    except (ValueError, KeyError, TypeError, AttributeError, UserError):
        raise wrong from None
    if not isinstance(name, str) or not all(settings):
        raise wrong
    tool = _tool(machine, name)
    both = zip(fields, settings, strict=True)
    return tool, tuple(trial(tool, field, values) for field, values in both)


def _tool(machine: Machine, name: str | None) -> Tool:
    from plotout.errors import UserError, nearest
    from plotout.geometry.strokes import Work

    names = [tool.name for tool in machine.tools]
    if name is not None and name not in names:
        raise UserError(f"'{machine.name}' has no tool '{name}'", fix=nearest(name, names))
    found = machine.tools[names.index(name)] if name else machine.tool_for(Work.CUT)
    if found is None:
        raise UserError(f"'{machine.name}' has no tool that cuts", fix="Name one with --tool.")
    return found


def _made(
    machine: Machine, tool: Tool, fields: tuple[Trial, ...], folder: Path, *, force: bool
) -> dict[str, Any]:
    import json

    from plotout import plugins, proof
    from plotout.errors import PlotoutError
    from plotout.machine import caution
    from plotout.manifest import Job, write_files
    from plotout.proof import picture
    from plotout.sheet_job import UNREAD
    from plotout.tool.strip import strip as strip_of

    driver = plugins.driver(machine.driver)
    sheet, program = strip_of(machine, tool, fields, arcs=driver.arcs)
    data = driver.emit(program, sheet)
    interpreter = plugins.interpreter_for(driver.name)
    faults = proof.verify(program, sheet, data, interpreter) if interpreter else ()
    if faults:
        raise PlotoutError(f"read back, the strip is not what was meant: {faults[0]}")
    path = folder / f"strip-{machine.name}{driver.suffix}"
    scene = picture.sheet_picture(program, sheet)
    drawn = path.with_suffix(".svg" if path.suffix != ".svg" else ".picture.svg")
    record = {"tool": tool.name, "fields": {field.name: field.settings for field in fields}}
    files = {
        drawn.name: picture.to_svg(scene).encode(),
        path.with_suffix(".png").name: picture.to_png(scene),
        path.name: data,
        _record(machine, folder).name: (json.dumps(record, indent=1) + "\n").encode(),
    }
    job = Job(f"strip-{machine.name}", {"what": "test strip", "machine": machine.name})
    write_files(folder, job, files, force=force)
    notes = [*program.warnings, *_beyond(tool, fields)]
    if interpreter is None:
        notes.append(f"{path} was not read back: {UNREAD}")
    return {
        "file": str(path),
        "size_mm": [round(sheet.width, 1), round(sheet.height, 1)],
        "fields": {trial.name: trial.written for trial in fields},
        "seconds": program.seconds,
        "read_back": interpreter is not None,
        "notes": notes,
        "cautions": list(caution(machine)),
    }


def _beyond(tool: Tool, fields: tuple[Trial, ...]) -> Iterator[str]:
    """Say what a profile can't: whether machine and bed withstand the greatest value."""
    most = {key: max(field.settings[key] for field in fields) for key in fields[0].settings}
    if most.get("force", 0.0) > (tool.force or 0.0):
        yield (
            f"up to {most['force']:g} gf are asked for; a machine that can't press so hard works "
            "those fields with the most that it can"
        )
    if most.get("depth", 0.0) > (tool.depth or 0.0):
        yield (
            f"it goes down to {most['depth']:g} mm below the stock's face, {tool.depth:g} mm in "
            "the profile: lay something below that may be cut"
        )


def _kept(
    name: str, machine: Machine, tool: Tool, fields: tuple[Trial, ...], best: str
) -> dict[str, Any]:
    from plotout import plugins
    from plotout.errors import UserError, nearest
    from plotout.files import rewrite_whole
    from plotout.machine import profile

    by_name = {trial.name: trial for trial in fields}
    if best.upper() not in by_name:
        raise UserError(f"the strip has no field '{best}'", fix=nearest(best.upper(), by_name))
    trial = by_name[best.upper()]
    settings = dict(trial.written)
    if trial.tool.swivel_force != tool.swivel_force:
        settings["swivel-force"] = f"{trial.tool.swivel_force:g} gf"
    source = profile.find(name, plugins.machine_files())
    text, path = profile.to_edit(name, source)
    text = profile.with_settings(text, tool.name, settings)
    for other in machine.tools:  # the same blade under another name
        if other.number == tool.number and other is not tool and "offset" in settings:
            text = profile.with_settings(text, other.name, {"offset": settings["offset"]})
    profile.parse(text, path)
    rewrite_whole(path, text.encode())
    return {"profile": str(path), "tool": tool.name, "settings": settings}
