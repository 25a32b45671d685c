"""plotout rack list, find, show, compare: what is on the rack."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, SET_ON_RACK, new_file
from plotout.cli.rack_shared import open_rack, print_found, print_styles, row_of
from plotout.cli.small_pictures import print_picture
from plotout.cli.table import table


@click.command(name="list")
@JSON
@click.pass_context
def list_sets(ctx: click.Context, as_json: bool) -> None:
    """List every set on the rack.

    Example: plotout rack list
    """
    from plotout.rack import record

    with open_rack(ctx) as connection:
        print_styles(record.listed(connection), as_json)


@click.command()
@click.argument("words", nargs=-1)
@click.option("--style", help="Words in the style.")
@click.option("--size", help="The whole size, as written on the set.")
@click.option("--piece", help="Words in the names of pieces.")
@click.option("--place", help="Words in the place.")
@click.option("--date", help="The date or its beginning, such as 2026-04.")
@JSON
@click.pass_context
def find(
    ctx: click.Context, words: tuple[str, ...], style: str | None, size: str | None,
    piece: str | None, place: str | None, date: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Find sets by words in style, name, size, piece, place, date, maker or notes; or by QR code.

    Example: plotout rack find smock gusset --size M
    """
    from plotout.rack import record

    columns = {"style": style, "size": size, "pieces": piece, "place": place, "date": date}
    within = {column: text for column, text in columns.items() if text}
    with open_rack(ctx) as connection:
        print_found(record.find(connection, " ".join(words), within=within), as_json)


@click.command()
@SET_ON_RACK
@click.option("--picture", type=new_file(".png"), help="Write its picture (PNG).")
@FORCE
@JSON
@click.pass_context
def show(ctx: click.Context, ref: str, picture: Path | None, force: bool, as_json: bool) -> None:
    """Show everything known about a set: its cards, seams, versions and what was cut.

    SET can be the text of a card's QR code; then only that card is shown. If a style hangs in
    several sizes, all of them are listed; STYLE:SIZE shows one.

    Example: plotout rack show BK-01
    """
    from plotout.manifest import write_file
    from plotout.rack import loans, record, sets

    with open_rack(ctx) as connection:
        sizes = record.sizes_of(connection, ref)
        if len(sizes) > 1 and not picture:
            print_styles(sizes, as_json)
            return
        found, card = record.pointed(connection, ref)
        report = {
            **row_of(found),
            **record.details_of(connection, found),
            "versions": [
                {"ref": version.ref, "put_at": version.put_at, "changes": version.changes}
                for version in record.versions(connection, found)
            ],
            "cut": loans.cuttings(connection, found),
        }
        thumb = record.content_of(connection, found, "picture")
        if picture and card:
            thumb = sets.card_picture(connection, found, card)
    if card:
        report["cards"] = [row for row in report["cards"] if row["id"] == card]
    if picture and thumb:
        what = {"what": "picture", "set": found.ref, "card": card or ""}
        write_file(picture, thumb, what, force=force)
    if as_json:
        print_json(report)
        return
    if thumb and not card:
        print_picture(thumb)
    print_found([found], False)
    _print_rest(report)


def _print_rest(report: dict[str, Any]) -> None:
    for key in ("date", "maker", "stock", "machine", "notes"):
        if report[key]:
            click.echo(f"  {key}: {report[key]}")
    rows = [
        (card["id"], card["title"], ", ".join(card["orders"])) for card in report.get("cards", [])
    ]
    if rows:
        click.echo(table(("card", "title", "what to cut"), rows))
    for seam in report.get("seams", []):
        for fault in seam["faults"]:
            click.echo(f"  seam {seam['name']}: {fault}")
    for version in report["versions"]:
        click.echo(f"  version {version['ref'].rpartition(':')[2]}, {version['put_at']}")
        for line in version["changes"]:
            click.echo(f"    {line}")
    if report["versions"][-1]["ref"] != report["ref"]:
        click.echo(f"  Newer version: {report['versions'][-1]['ref']}")
    for cut in report["cut"]:
        click.echo(f"  {cut['at']}, {cut['machine']}: {cut['what']}")


@click.command()
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW")
@click.option("--picture", type=new_file(".png"), help="Draw both (PNG).")
@FORCE
@JSON
@click.pass_context
def compare(
    ctx: click.Context, old: str, new: str, picture: Path | None, force: bool, as_json: bool
) -> None:
    """Report what changed from one version to another: the pieces, the set, its record, its files.

    If a file changed and nothing else is reported, the change is one that this size's cards don't
    show: a comment, or growth to other sizes.

    Example: plotout rack compare BK-01:M:1 BK-01:M:2
    """
    from plotout.manifest import write_file
    from plotout.rack import record, sets
    from plotout.rack.overlay import overlaid

    with open_rack(ctx) as connection:
        found = [record.named(connection, ref) for ref in (old, new)]
        first, second, changes = sets.changes_between(connection, *found)
    if picture:
        what = {"what": "picture of what changed", "old": old, "new": new}
        write_file(picture, overlaid(first, second), what, force=force)
    if as_json:
        rows = [{"piece": c.piece, "what": c.what, "words": c.words, "mm": c.amount}
                for c in changes]  # fmt: skip
        print_json({"changes": rows})
        return
    for change in changes:
        click.echo(sets.words(change))
    if not changes:
        click.echo("Nothing changed.")
