"""plotout picture: a stage of a set as PNG or SVG."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, SET_FILE, folder_option, machine_option, seconds_option
from plotout.cli.progress import progress
from plotout.errors import UserError, nearest

if TYPE_CHECKING:
    from plotout.pattern.model import PatternSet
    from plotout.proof.scene import Scene


@click.command()
@SET_FILE
@click.option(
    "--stage",
    type=click.Choice(["piece", "card", "sheet", "program"]),
    default="card",
    show_default=True,
    help="A piece as read, a card as finished, a sheet as laid, a program with its travel.",
)
@click.option("--of", "name", help="One piece, card (by id) or sheet (by number); all by default.")
@machine_option("For a sheet or program: the machine's name or profile.", required=False)
@folder_option("Folder for the pictures.")
@click.option(
    "--format",
    "kind",
    type=click.Choice(["png", "svg", "both"]),
    default="png",
    show_default=True,
    help="File format.",
)
@click.option(
    "--width",
    default=1600,
    type=click.IntRange(16, 20_000),
    show_default=True,
    help="Width of a PNG in pixels.",
)
@seconds_option(2.0)
@FORCE
@JSON
def picture(
    set_file: Path,
    stage: str,
    name: str | None,
    machine: str | None,
    folder: Path,
    kind: str,
    width: int,
    seconds: float,
    force: bool,
    as_json: bool,
) -> None:
    """Draw a stage of SET, to scale.

    Example: plotout picture samples/beekeepers-smock/set.toml --stage card --of pocket --out out
    """
    from plotout import job, parallel
    from plotout.files import slug_among
    from plotout.manifest import Job, write_files

    files = partial(_files, kind, width)
    read = job.read_set(set_file)
    scenes = _scenes(read, stage, machine, seconds, not as_json)
    chosen = list(scenes)
    if name is not None:
        if name not in scenes:
            raise UserError(f"there is no {stage} '{name}'", fix=nearest(name, scenes))
        chosen = [name]
    pictures = {
        f"{stage}-{slug_among(key, scenes)}{suffix}": data
        for key, drawn in zip(
            chosen, parallel.results(files, [scenes[key] for key in chosen]), strict=True
        )
        for suffix, data in drawn.items()
    }
    what = {"what": f"pictures of {stage}s", "set": read.name, "style": read.style,
            "size": read.size, "machine": machine or ""}  # fmt: skip
    write_files(folder, Job(f"pictures-{stage}", what), pictures, part=True, force=force)
    written = [str(folder / file) for file in pictures]
    if as_json:
        print_json({"stage": stage, "files": written})
    else:
        click.echo("\n".join(written))


def _files(kind: str, width: int, scene: Scene) -> dict[str, bytes]:
    """Return a picture's files by their suffixes."""
    from plotout.proof.picture import to_png, to_svg

    wanted = {}
    if kind in ("svg", "both"):
        wanted[".svg"] = to_svg(scene).encode()
    if kind in ("png", "both"):
        wanted[".png"] = to_png(scene, width)
    return wanted


def _scenes(
    read: PatternSet, stage: str, machine: str | None, seconds: float, shown: bool
) -> dict[str, Scene]:
    """Return the stage's pictures by the names that --of takes."""
    from plotout import job
    from plotout.finish import finish
    from plotout.finish.derive import all_pieces
    from plotout.proof import picture as draw

    if stage == "piece":
        return {piece.name: draw.piece_picture(piece, read.say) for piece in all_pieces(read)}
    if stage == "card" and machine is None:
        return {card.id: draw.card_picture(card) for card in finish(read)}
    if machine is None:
        raise UserError(f"a {stage} is made for a machine", fix="Name it with --machine.")
    with progress(shown) as advance:
        request = job.Request(read, job.load_machine(machine), seconds=seconds)
        made = job.plan(request, advance)
    if stage == "card":
        return {card.id: draw.card_picture(card) for card in made.cards}
    if stage == "sheet":
        return {str(sheet.number): draw.laid_picture(sheet, made.machine) for sheet in made.sheets}
    return {
        str(result.sheet.number): draw.sheet_picture(result.program, result.sheet, travel=True)
        for result in made.results
    }
