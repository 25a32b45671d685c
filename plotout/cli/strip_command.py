"""plotout strip: a test strip for a machine's tool, and its best field written to the profile."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON, folder_option, machine_option

if TYPE_CHECKING:
    from plotout.machine import Machine, Tool
    from plotout.tool.strip import Trial


@click.command()
@machine_option()
@click.option("--tool", "tool_name", help="The tool to test; by default the one that cuts.")
@click.option(
    "--down", help="The setting that changes from row to row: force, power, depth, speed ..."
)
@click.option("--across", help="The setting that changes along a row: offset, overcut, speed ...")
@folder_option("Folder for the strip's files.", required=False)
@click.option(
    "--best", help="The best field, such as B3; its settings are written to your profile."
)
@JSON
def strip(
    machine: str,
    tool_name: str | None,
    down: str | None,
    across: str | None,
    folder: Path | None,
    best: str | None,
    as_json: bool,
) -> None:
    """Make a strip of small test cuts with changing settings; then keep those of the best field.

    Give the same machine, tool, --down and --across both times.

    \b
    Example: plotout strip --machine craft-cutter --out out
             plotout strip --machine craft-cutter --best B3
    """
    from plotout import job
    from plotout.errors import UserError
    from plotout.tool.strip import trials, varied

    if (folder is None) == (best is None):
        raise UserError("give one of --out and --best", fix="First --out; then --best B3.")
    profile = job.load_machine(machine)
    tool = _tool(profile, tool_name)
    usual = varied(tool)
    fields = trials(tool, down or usual[0], across or usual[1])
    if best:
        report = _kept(machine, profile, tool, fields, best)
    else:
        report = _made(profile, tool, fields, folder)
    if as_json:
        print_json(report)
        return
    for line in report["told"]:
        click.echo(line)


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
    machine: Machine, tool: Tool, fields: tuple[Trial, ...], folder: Path | None
) -> dict[str, Any]:
    from plotout import plugins, proof
    from plotout.errors import PlotoutError
    from plotout.files import write_whole
    from plotout.machine import caution
    from plotout.proof import picture
    from plotout.sheet_job import UNREAD
    from plotout.tool.strip import strip as strip_of

    assert folder is not None
    driver = plugins.driver(machine.driver)
    sheet, program = strip_of(machine, tool, fields, arcs=driver.arcs)
    with plugins.blamed(driver.name):
        data = driver.emit(program, sheet)
    interpreter = plugins.interpreter_for(driver.name)
    faults = proof.verify(program, sheet, data, interpreter) if interpreter else ()
    if faults:
        raise PlotoutError(f"read back, the strip is not what was meant: {faults[0]}")
    path = folder / f"strip-{machine.name}{driver.suffix}"
    scene = picture.sheet_picture(program, sheet)
    write_whole(path.with_suffix(".svg" if path.suffix != ".svg" else ".picture.svg"),
                picture.to_svg(scene).encode())  # fmt: skip
    write_whole(path.with_suffix(".png"), picture.to_png(scene))
    write_whole(path, data)
    told = [f"{path}: {sheet.width:.0f} x {sheet.height:.0f} mm, {program.seconds:.0f} s"]
    told += [f"  {trial.name}  " + ", ".join(trial.written.values()) for trial in fields]
    told += [f"Note: {text}" for text in program.warnings]
    if interpreter is None:
        told.append(f"Note: it was not read back: {UNREAD}")
    told += [f"Caution: {text}" for text in caution(machine)]
    settings = {trial.name: trial.written for trial in fields}
    report = {"file": str(path), "fields": settings, "seconds": program.seconds, "told": told}
    return report | {"read_back": interpreter is not None}


def _kept(
    name: str, machine: Machine, tool: Tool, fields: tuple[Trial, ...], best: str
) -> dict[str, Any]:
    from plotout import folders, plugins
    from plotout.errors import UserError, nearest
    from plotout.files import write_whole
    from plotout.machine import profile

    by_name = {trial.name: trial for trial in fields}
    if best.upper() not in by_name:
        raise UserError(f"the strip has no field '{best}'", fix=nearest(best.upper(), by_name))
    trial = by_name[best.upper()]
    settings = dict(trial.written)
    if trial.tool.swivel_force != tool.swivel_force:
        settings["swivel-force"] = f"{trial.tool.swivel_force:g} gf"
    source = profile.find(name, plugins.machine_files())
    text = profile.with_settings(source.read_text(encoding="utf-8"), tool.name, settings)
    for other in machine.tools:  # the same blade under another name
        if other.number == tool.number and other is not tool and "offset" in settings:
            text = profile.with_settings(text, other.name, {"offset": settings["offset"]})
    home = folders.profiles()
    own = source.resolve().parent == home.resolve() or Path(name).suffix == ".toml"
    path = source if own else home / source.name
    profile.parse(text, path)
    write_whole(path, text.encode())
    said = ", ".join(f"{key} {value}" for key, value in settings.items())
    return {"profile": str(path), "settings": settings, "told": [f"{path}: {tool.name}: {said}"]}
