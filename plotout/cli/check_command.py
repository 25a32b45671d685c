"""plotout check: truing, seams and drawing notes of a set."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON, SET_FILE
from plotout.cli.small_pictures import print_pieces
from plotout.cli.table import finite, give_or_take, table

if TYPE_CHECKING:
    from plotout.pattern.findings import Trued
    from plotout.pattern.walk import SeamResult
    from plotout.review.size_review import SizeReview
    from plotout.review.whole_set import Review


@click.command()
@SET_FILE
@click.option("--size", default="", help="Check this size only; all of them by default.")
@JSON
@click.pass_context
def check(ctx: click.Context, set_file: Path, size: str, as_json: bool) -> None:
    """Walk the seams of SET, measure its truing, and report what was corrected in its drawings.

    A set that has sizes is checked in all of them. The exit code is 2 when something does not
    match. What may match or not, since its pricks are too inaccurate, is NOT SURE and no fault.

    Example: plotout check samples/beekeepers-smock/set.toml
    """
    from plotout import job
    from plotout.review.size_review import review_sizes
    from plotout.review.whole_set import review, with_cards

    whole = job.open_set(set_file)
    if size == "all" and size not in whole.sizes:
        size = ""
    sets = whole.in_sizes(whole.named([size] if size else ["all"]))
    read = sets[size or whole.base]
    found = with_cards(review(read), read)
    sized = None
    if read.sizes and not size:
        sized = review_sizes(read.sizes, read.size, found, sets)
    notes = (*found.notes, *(sized.notes if sized else ()))
    if as_json:
        print_json(_report(read.name, found, notes) | _sizes_report(sized))
    else:
        print_pieces(found.pieces)
        _print(found, notes, sized)
    if found.faults or (sized and sized.faults):
        ctx.exit(2)


def _sizes_report(sized: SizeReview | None) -> dict[str, Any]:
    if sized is None:
        return {}
    return {
        "good": not sized.faults and all(_good(found) for found in sized.reviews.values()),
        "sizes": {
            size: [
                {"seam": seam.name, "difference_mm": round(seam.difference, 3),
                 "good": seam.sure and not seam.faults}
                for seam in found.seams
            ]
            for size, found in sized.reviews.items()
        },
        "size_faults": list(sized.faults),
    }  # fmt: skip


def _good(found: Review) -> bool:
    return not found.faults and not _unsure(found)


def _unsure(found: Review) -> list[str]:
    """Return the seams and truings that the pricks don't allow to judge, in words."""
    truings = [
        f"{piece.name} ({result.kind}: {' and '.join(result.edges)})"
        for piece in found.pieces
        for result in piece.trued
        if result.unsure()
    ]
    return [seam.name for seam in found.seams if not seam.sure] + truings


def _report(name: str, found: Review, notes: Sequence[str]) -> dict[str, Any]:
    return {
        "set": name,
        "good": _good(found),
        "asked": found.asked,
        "faults": list(found.faults),
        "truing": [
            {
                "piece": piece.name,
                "kind": result.kind,
                "edges": list(result.edges),
                "before_mm": round(result.before, 3),
                "after_mm": round(result.after, 3),
                "moved_mm": round(result.moved, 3),
                "tolerance_mm": result.tolerance,
                "detail": result.detail,
                "known_to_mm": finite(result.known_to),
                "sure": not result.unsure(),
                "unless": list(result.explained),
                "good": not result.wrong and not result.unsure(),
            }
            for piece in found.pieces
            for result in piece.trued
        ],
        "seams": [
            _seam_report(seam) | {"questioned": found.questioned(seam)} for seam in found.seams
        ],
        "notes": list(notes),
        "unsaid": list(found.unsaid),
    }


def _seam_report(seam: SeamResult) -> dict[str, Any]:
    return {
        "seam": seam.name,
        "first": {
            "piece": seam.first_piece,
            "mm": round(seam.first, 3),
            "times": seam.first_times,
        },
        "second": {
            "piece": seam.second_piece,
            "mm": round(seam.second, 3),
            "times": seam.second_times,
        },
        "difference_mm": round(seam.difference, 3),
        "known_to_mm": finite(seam.known_to),
        "sure": seam.sure,
        "unless": list(seam.whole.explained),
        "ease_mm": list(seam.ease),
        "tolerance_mm": seam.tolerance,
        "notches": [
            {
                "first_mm": round(notch.first, 3),
                "second_mm": round(notch.second, 3),
                "off_mm": round(notch.off, 3),
                "known_to_mm": finite(notch.known_to),
                "good": not notch.fault and not notch.doubt,
            }
            for notch in seam.notches
        ],
        "stretches": [
            {
                "from": stretch.begins,
                "to": stretch.ends,
                "first_mm": round(stretch.first, 3),
                "second_mm": round(stretch.second, 3),
                "off_mm": round(stretch.off, 3),
                "known_to_mm": finite(stretch.known_to),
                "sure": stretch.sure,
                "unless": list(stretch.explained),
            }
            for stretch in seam.stretches
        ],
        "good": seam.sure and not seam.faults,
        "same_edge": seam.of_one_edge,
        "faults": list(seam.faults),
        "notes": list(seam.notes),
    }


def _print(found: Review, notes: Sequence[str], sized: SizeReview | None) -> None:
    from plotout.pattern.truing import PRICK_MORE
    from plotout.review.fold_doubts import TRUE_IT

    trued = [(piece.name, result) for piece in found.pieces for result in piece.trued]
    if trued:
        head = ("piece", "truing", "off, mm", "known to", "put right, mm", "tolerance, mm", "")
        click.echo("Truing\n" + table(head, [_trued_row(*row) for row in trued]) + "\n")
    if found.seams:
        heads = (
            "seam",
            "first",
            "mm",
            "second",
            "mm",
            "difference",
            "known to",
            "ease, mm",
            "notches",
            "",
        )
        within = f"Seams: good up to {found.seams[0].tolerance:g} mm beyond their ease"
        rows = [_seam_row(seam, found) for seam in found.seams]
        click.echo(f"{within}\n{table(heads, rows)}\n")
    if sized and found.seams:
        rows = [_sizes_row(index, seam, sized) for index, seam in enumerate(found.seams)]
        click.echo("Seams by size: first less second, mm")
        click.echo(table(("seam", *sized.reviews, ""), rows) + "\n")
    if found.unsaid:
        click.echo("Understood where the set says no more")
        click.echo("\n".join(f"  {line}" for line in found.unsaid) + "\n")
    faults = (*found.faults, *(sized.faults if sized else ()))
    for note in _advised_once(notes, (TRUE_IT, PRICK_MORE)):
        click.echo(f"Note: {note}")
    for fault in _advised_once(faults, [refused.fix for refused in found.refused]):
        click.echo(f"Fault: {fault}")
    reviews = (found, *(sized.reviews.values() if sized else ()))
    unsure = ", ".join(dict.fromkeys(name for one in reviews for name in _unsure(one)))
    if not found.asked:
        click.echo("Nothing was measured: the set has no [[seam]] and no truing.")
    elif not faults and not unsure:
        where = f" in sizes {', '.join(sized.reviews)}" if sized else ""
        asked = [seam.name for one in reviews for seam in one.seams if one.questioned(seam)]
        but = f"; the notes ask about: {', '.join(dict.fromkeys(asked))}" if asked else ""
        click.echo(f"Everything that was checked matches{where}{but}.")
    elif not faults:
        click.echo(f"No fault found, but the pricks are too inaccurate to judge: {unsure}.")


def _advised_once(lines: Sequence[str], advices: Sequence[str]) -> Iterator[str]:
    """Yield lines, of which the first one alone repeats what several advise."""
    advised: set[str] = set()
    for line in lines:
        same = next((advice for advice in advices if advice and advice in line), "")
        short = line.replace(same, "").replace(".  (", " (").rstrip(" .;:")
        yield short if same in advised else line
        advised |= {same} - {""}


def _sizes_row(index: int, seam: SeamResult, sized: SizeReview) -> tuple[str, ...]:
    seams = [one.seams[index] for one in sized.reviews.values()]
    verdict = _verdict([(one, one.seams[index]) for one in sized.reviews.values()])
    verdict = "FAULT" if seam.name in sized.drifting else verdict
    values = [f"{one.difference:+.1f}" + ("!" if one.faults else "") for one in seams]
    return (seam.name, *values, verdict)


def _trued_row(piece: str, result: Trued) -> tuple[str, ...]:
    return (
        piece,
        f"{result.kind}: {', '.join(result.edges)}",
        f"{result.before:.2f}",
        give_or_take(result.known_to),
        f"{result.after:.2f}" if result.moved else "",
        f"{result.tolerance:g}",
        "FAULT" if result.wrong else "NOT SURE" if result.unsure() else "good",
    )


def _seam_row(seam: SeamResult, found: Review) -> tuple[str, ...]:
    return (
        seam.name,
        _times(seam.first_times, seam.first_piece),
        f"{seam.first:.1f}",
        _times(seam.second_times, seam.second_piece),
        f"{seam.second:.1f}",
        f"{seam.difference:+.1f}",
        give_or_take(seam.known_to),
        f"{seam.ease[0]:g} to {seam.ease[1]:g}",
        str(len(seam.notches)),
        _verdict([(found, seam)]),
    )


def _verdict(walked: Sequence[tuple[Review, SeamResult]]) -> str:
    """Return the last word of a seam's row, over the sizes in which it was walked."""
    if any(seam.faults for _, seam in walked):
        return "FAULT"
    if not all(seam.sure for _, seam in walked):
        return "NOT SURE"
    if any(found.questioned(seam) for found, seam in walked):
        return "see note"
    return "same edge" if all(seam.of_one_edge for _, seam in walked) else "good"


def _times(times: int, piece: str) -> str:
    return f"{times} x {piece}" if times > 1 else piece
