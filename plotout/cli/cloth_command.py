"""plotout cloth: how much cloth a set takes."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import (
    FORCE,
    JSON,
    SET_FILE,
    Real,
    TwoValues,
    folder_option,
    seconds_option,
)
from plotout.cli.progress import progress

if TYPE_CHECKING:
    from plotout.pattern.model import PatternSet
    from plotout.rack.cloth import Need


@click.command()
@SET_FILE
@click.option(
    "--width", "widths", multiple=True, required=True, help="Width of the cloth (repeatable)."
)
@click.option("--cloth", "names", multiple=True, help="Only this cloth (repeatable).")
@click.option("--folded", is_flag=True, help="The cloth lies folded, selvedge to selvedge.")
@click.option("--nap", is_flag=True, help="Every piece lies in one direction.")
@click.option(
    "--lean",
    default=0.0,
    type=Real(0.0, 180.0),
    help="Degrees by which a piece may lie off the grain.",
)
@click.option(
    "--repeat",
    cls=TwoValues,
    default=("0", "0"),
    help="Repeat of stripes or plaid, lengthwise and crosswise.",
)
@click.option(
    "--shrinkage",
    cls=TwoValues,
    type=Real(0.0, 50.0),
    default=(0.0, 0.0),
    help="Shrinkage in per cent, lengthwise and crosswise: 5 leaves 95 cm of every metre bought.",
)
@click.option(
    "--gap", default="0", help="Space kept between pieces; without one they may share a cut."
)
@click.option("--ratio", help="Garments per size on one lay, such as S:1,M:2,L:1.")
@click.option("--price", type=Real(0.0, 1e9), help="Price per metre.")
@seconds_option(10.0, "Time per lay, in seconds.")
@folder_option("Folder for pictures of the lays.", required=False)
@FORCE
@JSON
def cloth(
    set_file: Path,
    widths: tuple[str, ...],
    names: tuple[str, ...],
    folded: bool,
    nap: bool,
    lean: float,
    repeat: tuple[str, str],
    shrinkage: tuple[float, float],
    gap: str,
    ratio: str | None,
    price: float | None,
    seconds: float,
    folder: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """Lay the cut pieces of SET at one or several widths of cloth and compare.

    The set's faults and notes are reported as by 'plotout check'.

    Example: plotout cloth samples/beekeepers-smock/set.toml --width "140 cm" --width "36 cm"
    """
    from plotout import job
    from plotout.finishing import reviewed
    from plotout.rack.cloth import cloths, need
    from plotout.rack.cloth_pieces import Cloth
    from plotout.rack.ratio import combined, read_ratio
    from plotout.units import length

    # a wrong one is reported before anything is read or laid
    widths = tuple(_with_unit(width) for width in widths)
    garments = read_ratio(ratio) if ratio else {}
    whole = job.open_set(set_file)
    if garments:
        sets = whole.in_sizes(tuple(garments))
        wrong = reviewed(list(sets.values()))
        pattern_set = combined(sets, garments)
    else:
        pattern_set = whole.in_size()
        wrong = reviewed([pattern_set])
    count = sum(garments.values()) or 1
    found = []
    with progress(not as_json) as advance:
        for name in names or cloths(pattern_set):
            for width in widths:
                wanted = Cloth(
                    name=name,
                    width=length(width),
                    gap=length(gap),
                    folded=folded,
                    nap=nap,
                    lean=lean,
                    repeat=(length(repeat[0]), length(repeat[1])),
                    shrinkage=shrinkage,
                    price=price,
                )
                label = f"{name}, {width}"
                found.append(
                    need(pattern_set, wanted, seconds=seconds,
                         progress=lambda share, label=label: advance(label, share))  # type: ignore[misc]
                )  # fmt: skip
    if folder is not None:
        _draw(found, folder, pattern_set, force=force)
    if as_json:
        rows = [_row(row, count) for row in found]
        print_json({"cloths": rows, "garments": garments} | wrong.as_data())
        return
    _print(found)
    if count > 1:
        for row in found:
            alone = _metres(row.length / count)
            click.echo(f"{row.cloth.name}, {row.cloth.width:.0f} mm: {alone} m per garment")
    click.echo("\n".join(wrong.as_lines()), nl=bool(wrong.as_lines()))


def _with_unit(width: str) -> str:
    """Return a cloth's width with its unit: bare figures are asked about, never taken for mm.

    Raises UserError for what is no length, and where nobody can be asked.
    """
    from plotout.errors import UserError
    from plotout.units import length

    length(width)
    if not width.replace(".", "", 1).strip().isdigit():
        return width
    if not sys.stdin.isatty():
        raise UserError(
            f"a cloth {width} wide: millimetres, centimetres or inches?",
            fix=f'Write --width "{width} cm", or mm, or in.',
        )
    units = click.Choice(["mm", "cm", "in"])
    unit = click.prompt(f"The cloth is {width} wide, in", type=units, err=True)
    return f"{width} {unit}"


def _row(row: Need, garments: int) -> dict[str, Any]:
    return {
        "cloth": row.cloth.name,
        "width_mm": row.cloth.width,
        "gap_mm": row.cloth.gap,
        "length_mm": row.length,
        "length_per_garment_mm": round(row.length / garments, 1),
        "least_by_area_mm": round(row.bound, 1),
        "use_percent": round(row.used, 1),
        "pieces": row.pieces,
        "pieced": list(row.pieced),
        "unmatched": list(row.unmatched),
        "one_handed": list(row.one_handed),
        "one_way": list(row.one_way),
        "opened": list(row.opened),
        "uneven": [{"piece": piece, "off_mm": round(off, 1)} for piece, off in row.uneven.items()],
        "parted": [
            {
                "seam": one.seam,
                "first": one.first,
                "second": one.second,
                "off_mm": round(one.off, 1),
            }
            for one in row.parted
        ],
        "cost": None if row.cost is None else round(row.cost, 2),
    }


def _metres(length: float) -> str:
    """Return a length in metres, to the next centimetre above: less would not do."""
    return f"{math.ceil(round(length / 10.0, 6)) / 100.0:.2f}"


def _print(found: list[Need]) -> None:
    from plotout.cli.table import table

    rows = [
        (
            row.cloth.name,
            f"{row.cloth.width:.0f}",
            _metres(row.length),
            f"{row.used:.0f}",
            str(row.pieces),
            "" if row.cost is None else f"{row.cost:.2f}",
            ", ".join(row.pieced),
        )
        for row in found
    ]
    heads = ("cloth", "width, mm", "length, m", "use, %", "pieces", "cost", "pieced")
    click.echo(table(heads, rows))
    for text in dict.fromkeys(note for row in found for note in _notes(row)):
        click.echo(f"Note: {text}")


def _notes(row: Need) -> Iterator[str]:
    if row.one_way:
        yield (
            f"all pieces of {row.cloth.name} lie in one direction, since some must: "
            f"{', '.join(row.one_way)}"
        )
    if row.opened:
        yield (
            f"not on the fold of {row.cloth.name}, since their own is not along the grain, but "
            f"laid unfolded: {', '.join(row.opened)}"
        )
    if row.one_handed:
        yield (
            f"the second layer of {row.cloth.name} gives the wrong hand, so that every one is laid "
            f"for itself: {', '.join(row.one_handed)}"
        )
    if row.unmatched:
        yield (
            f"not matched to the repeat of {row.cloth.name}, having no stripe or plaid line for "
            f"every direction in which it repeats: {', '.join(row.unmatched)}"
        )
    for piece, off in row.uneven.items():
        yield (
            f"'{piece}' is cut on the fold, and its stripes of {row.cloth.name} miss by {off:.0f} "
            "mm on one half. Place its stripe or plaid line on the fold, or a whole repeat from it"
        )
    for one in row.parted:
        yield (
            f"seam '{one.seam}': stripes of {row.cloth.name} can't meet across it: between "
            f"'{one.first}' and '{one.second}' they are {one.off:.0f} mm apart at best. Place the "
            "pieces' stripe lines equally far from the seam's end"
        )


def _draw(found: list[Need], folder: Path, pattern_set: PatternSet, *, force: bool) -> None:
    from plotout.files import slug, slug_among
    from plotout.manifest import Job, write_files
    from plotout.proof import picture

    files: dict[str, bytes] = {}
    names = [f"{row.cloth.name} {row.cloth.width:g}mm" for row in found]
    for row, name in zip(found, names, strict=True):
        title = pattern_set.say.listed(pattern_set.name, row.cloth.name)
        scene = picture.cloth_picture(row.sheet, title, pattern_set.say)
        stem = slug_among(name, names)
        files |= {
            f"{stem}.png": picture.to_png(scene),
            f"{stem}.svg": picture.to_svg(scene).encode(),
        }
    what = {"what": "lays on cloth", "set": pattern_set.name, "style": pattern_set.style,
            "size": pattern_set.size}  # fmt: skip
    job = Job(f"cloth-{slug(pattern_set.name)}", what)
    write_files(folder, job, files, part=True, force=force)
