"""plotout pricks: the pricks of a sheet, from its photographs or scans."""

from __future__ import annotations

from pathlib import Path

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, PATH, Real, Words, new_file


@click.command()
@click.argument("photos", metavar="PHOTO...", nargs=-1, required=True, type=PATH)
@click.option(
    "--out",
    type=new_file(".csv", ".tsv"),
    help="The table to write; by default PHOTO-pricks.csv beside the first photo.",
)
@click.option(
    "--resolution", type=Real(1.0, 100_000.0), help="Dots per inch of a scan that doesn't state it."
)
@click.option(
    "--measured",
    multiple=True,
    help='A distance from cross to cross: "1 left - 4 right = 812.5 mm" (repeatable).',
)
@click.option(
    "--thickness",
    type=Words(),
    help='Thickness of strips cut in card, "0.7 mm", if they lie beside the sheet.',
)
@click.option(
    "--drop",
    multiple=True,
    type=int,
    help="Number, in the table, of a mark that is no prick (repeatable).",
)
@click.option(
    "--corner", multiple=True, type=int, help="Number of a prick that is a corner (repeatable)."
)
@FORCE
@JSON
def pricks(
    photos: tuple[Path, ...],
    out: Path | None,
    resolution: float | None,
    measured: tuple[str, ...],
    thickness: str | None,
    drop: tuple[int, ...],
    corner: tuple[int, ...],
    force: bool,
    as_json: bool,
) -> None:
    """Read the pricks off photographs (or scans) of one sheet, taken with the strips of `frame`.

    Several photographs must overlap. Check the pictures that are written beside the table, correct
    errors in the table or with --drop and --corner, and name the table in a set:
    from = { file = "sheet-pricks.csv" }. Your corrections are kept when the photos are read again.

    Example: plotout pricks sheet.jpg --out sheet-pricks.csv
    """
    from plotout import plugins
    from plotout.errors import Place, UserError
    from plotout.files import check_writable
    from plotout.hookspecs import PricksWanted
    from plotout.manifest import Job, is_listed, write_files

    finder = plugins.pricks_finder()
    for path in photos:
        if path.suffix.lower() not in finder.suffixes:
            raise UserError(
                f"'{path.name}' is not a picture that can be read",
                fix=f"Available: {', '.join(finder.suffixes)}.",
                place=Place(path),
            )
    table = out or photos[0].with_name(f"{photos[0].stem}-pricks.csv")
    check_writable(table.parent)
    earlier = table if table.is_file() and (is_listed(table) or not force) else None
    wanted = PricksWanted(resolution, drop, corner, measured, earlier, thickness)
    found = finder.find(photos, wanted)
    files = {table.name: found.table}
    files |= {f"{table.stem}{ending}": data for ending, data in found.pictures.items()}
    job = Job(table.name, {"what": "pricks", "photo": photos[0].name})
    carried = (table.name,) if earlier else ()  # the finder refuses a table of other photos
    notes = write_files(table.parent, job, files, carried=carried, force=force)
    written = [str(table.with_name(name)) for name in files]
    if as_json:
        print_json({"files": written, **found.report})
        return
    for line in (*written, *found.told, *notes):
        click.echo(line)
