"""plotout show: what is in a set, piece by piece, edge by edge."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli import completion
from plotout.cli.json_output import print_json
from plotout.cli.options import JSON, SET_FILE
from plotout.cli.small_pictures import print_pieces
from plotout.cli.table import finite, give_or_take, table

if TYPE_CHECKING:
    from plotout.pattern.model import PatternSet, Piece


@click.command()
@SET_FILE
@click.option(
    "--piece",
    "only",
    multiple=True,
    shell_complete=completion.pieces,
    help="Show only this piece (repeatable).",
)
@click.option("--size", default="", help="Show this size; by default the one that is drawn.")
@JSON
def show(set_file: Path, only: tuple[str, ...], size: str, as_json: bool) -> None:
    """Show the pieces of SET: edges with lengths and ends, what to cut, and all marks.

    Edges without a name are numbered counter-clockwise, so that you can name them.

    Example: plotout show samples/beekeepers-smock/set.toml
    """
    from plotout import job
    from plotout.errors import UserError, nearest
    from plotout.finish.derive import possible_pieces

    read = job.read_set(set_file, size)
    made, unmade = possible_pieces(read)
    names = [piece.name for piece in made]
    for wanted in only:
        if wanted not in names:
            raise UserError(f"there is no piece '{wanted}'", fix=nearest(wanted, names))
    pieces = [piece for piece in made if not only or piece.name in only]
    faults = [fault.in_a_line for fault in unmade]
    if as_json:
        print_json(_report(read, pieces) | {"faults": faults})
        return
    head = ", ".join(f"{what} {text}" for what, text in _head(read) if text)
    click.echo(f"{read.name} ({head}), {len(names)} piece{'s' * (len(names) != 1)}")
    for piece in pieces:
        _print(piece)
    for text in faults:
        click.echo(f"\nFault: {text}")


def _head(read: PatternSet) -> tuple[tuple[str, str], ...]:
    return (
        ("style", read.style),
        ("size", read.size),
        ("of", read.date),
        ("sizes", " ".join(read.sizes)),
    )


def _report(read: PatternSet, pieces: list[Piece]) -> dict[str, Any]:
    return {
        "set": read.name,
        "style": read.style,
        "size": read.size,
        "sizes": list(read.sizes),
        "date": read.date,
        "pieces": [_piece_report(piece) for piece in pieces],
    }


def _piece_report(piece: Piece) -> dict[str, Any]:
    from plotout.geometry.polyline import bounds, length, signed_area

    low_x, low_y, high_x, high_y = bounds(piece.outline)
    return {
        "name": piece.name,
        "parent": piece.parent,
        "width_mm": round(high_x - low_x, 2),
        "height_mm": round(high_y - low_y, 2),
        "area_mm2": round(signed_area(piece.outline), 2),
        "fold": piece.fold,
        "whole": piece.whole,
        "cut": [str(cut) for cut in piece.cuts],
        "edges": [
            {
                "name": edge.name,
                "length_mm": round(length(edge.points), 3),
                "known_to_mm": finite(edge.known_to),
                "otherwise": [
                    {
                        "why": one.why,
                        "length_mm": round(length(edge.points) + one.longer, 3),
                        "known_to_mm": finite(one.known_to),
                    }
                    for one in edge.otherwise
                    if one.is_told
                ],
                "from_mm": [round(float(v), 3) for v in edge.points[0]],
                "to_mm": [round(float(v), 3) for v in edge.points[-1]],
                "allowance_mm": list(edge.allowance),
                "corner": str(edge.corner),
            }
            for edge in piece.edges
        ],
        "notches": [
            {
                "edge": notch.edge,
                "at_mm": round(notch.along, 3),
                "count": notch.count,
                "kind": str(notch.style.kind),
            }
            for notch in piece.notches
        ],
        "grain_mm": None if piece.grain is None else piece.grain.round(3).tolist(),
        "drills_mm": [[round(float(v), 3) for v in drill.at] for drill in piece.drills],
        "lines": [line.name for line in piece.lines],
        "areas": [area.name for area in piece.areas],
        "notes": list(piece.notes),
        "faults": [fault.problem for fault in piece.faults],
    }


def _print(piece: Piece) -> None:
    from plotout.geometry.polyline import length

    report = _piece_report(piece)
    size = f"{report['width_mm']:.0f} x {report['height_mm']:.0f} mm"
    parent = f", from {piece.parent}" if piece.parent else ""
    click.echo(f"\n{piece.name}: {size}{parent}; {', '.join(report['cut']) or 'nothing to cut'}")
    rows = []
    for index, edge in enumerate(piece.edges, 1):
        start, end = edge.points[0], edge.points[-1]
        first, last = edge.allowance
        rows.append(
            (
                str(index),
                edge.name + (" (fold)" if edge.name == piece.fold else ""),
                f"{length(edge.points):.1f}",
                give_or_take(edge.known_to),
                _xy(start),
                _xy(end),
                f"{first:.4g}" if first == last else f"{first:.4g} to {last:.4g}",
            )
        )
    print_pieces([piece], high=9)
    edges = table(("", "edge", "mm", "known to", "from x, y", "to x, y", "allowance"), rows)
    click.echo(edges + "\n" * ("\n\n" in edges))  # as a list, its last item ends there
    for text in _otherwise(piece):
        click.echo(f"  {text}")
    for notch in piece.notches:
        many = {1: "notch", 2: "double notch", 3: "triple notch"}[notch.count]
        click.echo(f"  {many} ({notch.style.kind}) on {notch.edge} at {notch.along:.1f} mm")
    for text in _marks(piece):
        click.echo(f"  {text}")
    for note in piece.notes:
        click.echo(f"  Note: {note}")
    for fault in piece.faults:
        click.echo(f"  Fault: {fault.problem}. {fault.fix}")


def _otherwise(piece: Piece) -> Iterator[str]:
    """Give in words what its edges' lengths are by other explanations of their pricks."""
    from plotout.geometry.polyline import length

    found: dict[str, list[str]] = {}
    for edge in piece.edges:
        for one in filter(attrgetter("is_told"), edge.otherwise):
            size = f"{length(edge.points) + one.longer:.1f} {give_or_take(one.known_to)}"
            found.setdefault(one.why, []).append(f"{edge.name} {size}")
    for why, sizes in found.items():
        yield f"if {why}, which its pricks don't show: {', '.join(sizes)} mm"


def _marks(piece: Piece) -> Iterator[str]:
    """Give its grain line, drill holes, lines and areas in words."""
    from plotout.geometry.polyline import bounds, length, signed_area
    from plotout.geometry.strokes import Work

    if piece.grain is not None:
        said = ", on the bias" * piece.bias + ", one way" * piece.one_way
        yield f"grain line from {_xy(piece.grain[0])} to {_xy(piece.grain[1])}{said}"
    for drill in piece.drills:
        named = f" '{drill.name}'" if drill.name else ""
        cross = ", a cross" if drill.cross else ""
        yield f"drill hole{named} of {drill.size:.4g} mm at {_xy(drill.at)}{cross}"
    for line in piece.lines:
        named = f" '{line.name}'" if line.name not in ("", line.kind) else ""
        kind = "score" if line.work is Work.SCORE else line.kind
        ends = f"from {_xy(line.points[0])} to {_xy(line.points[-1])}"
        yield f"{kind} line{named}, {length(line.points):.1f} mm, {ends}"
    for area in piece.areas:
        low_x, low_y, high_x, high_y = bounds(area.points)
        size = f"{high_x - low_x:.0f} x {high_y - low_y:.0f} mm"
        yield f"area '{area.name}', {size}, {abs(signed_area(area.points)) / 100.0:.1f} cm2"


def _xy(point: Iterable[float]) -> str:
    x, y = (round(float(value), 1) + 0.0 for value in point)  # + 0.0: no minus sign before zero
    return f"{x:.1f}, {y:.1f}"
