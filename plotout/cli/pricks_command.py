"""plotout pricks: the pricks of a sheet, from photographs or scans of it."""

from __future__ import annotations

from pathlib import Path

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON, PATH


@click.command()
@click.argument("photos", metavar="PHOTO...", nargs=-1, required=True, type=PATH)
@click.option(
    "--out",
    type=PATH,
    help="The table to write; else it lies beside the first photo, named like it, -pricks.csv.",
)
@click.option("--resolution", type=float, help="Dots to the inch of a scan that doesn't say it.")
@click.option(
    "--measured",
    multiple=True,
    help='A distance from cross to cross: "1 left - 4 right = 812.5 mm" (repeatable).',
)
@click.option("--drop", multiple=True, type=int, help="This one is no prick (repeatable).")
@click.option("--corner", multiple=True, type=int, help="This one is a corner (repeatable).")
@JSON
def pricks(
    photos: tuple[Path, ...],
    out: Path | None,
    resolution: float | None,
    measured: tuple[str, ...],
    drop: tuple[int, ...],
    corner: tuple[int, ...],
    as_json: bool,
) -> None:
    """Read the pricks off photographs (or scans) of one sheet, taken among strips of `frame`.

    Several photographs must overlap. Look at the pictures that are written beside the table, put
    right there or with --drop and --corner what is wrong, and take the table into a set:
    from = { file = "sheet-pricks.csv" }. What you put right is kept when the photos are read again.

    Example: plotout pricks sheet.jpg --out sheet-pricks.csv
    """
    from plotout import plugins
    from plotout.errors import Place, UserError, nearest
    from plotout.files import write_whole
    from plotout.hookspecs import PricksWanted

    finder = plugins.pricks_finder()
    for path in photos:
        if path.suffix.lower() not in finder.suffixes:
            raise UserError(
                f"'{path.name}' is no picture that is read",
                fix=nearest(path.suffix.lower(), finder.suffixes),
                place=Place(path),
            )
    table = out or photos[0].with_name(f"{photos[0].stem}-pricks.csv")
    earlier = table if table.is_file() else None
    wanted = PricksWanted(resolution, drop, corner, measured, earlier)
    with plugins.blamed(finder.name):
        found = finder.find(photos, wanted)
    written = []
    for ending, data in found.pictures.items():
        path = table.with_name(f"{table.stem}{ending}")
        write_whole(path, data)
        written.append(str(path))
    write_whole(table, found.table)
    written.insert(0, str(table))
    if as_json:
        print_json({"files": written, **found.report})
        return
    for line in (*written, *found.told):
        click.echo(line)
