"""Writes what a job made: the machine's files, pictures, the lay, marks to be measured."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from plotout.errors import Place, PlotoutError
from plotout.job import Made, Progress, quiet
from plotout.manifest import Job, named_alike, write_files
from plotout.sheet_job import SheetResult


def write(
    made: Made, folder: Path, progress: Progress = quiet, *, force: bool = False
) -> tuple[str, ...]:
    """Write every sheet's file, its pictures if drawn, the lay and the off-cuts.

    Returns in words which files of an earlier run were removed or kept. Raises UserError, before
    anything is written, if that would replace another job's file, unless `force`; PlotoutError,
    after everything is written, if a file failed its proof.
    """
    progress("writing", 0.0)
    files = {name: data for sheet in made.results for name, data in _of_sheet(sheet).items()}
    lay, marks = _lay(made)
    request, pattern_set = made.request, made.pattern_set
    earlier = request.earlier
    lines = tuple(_named_apart(made, folder))
    notes = write_files(
        folder,
        Job(made.stem, request.what(pattern_set)),
        files | lay | marks | _off_cuts(made) | _contact(made),
        kept=marks,  # they may hold measurements
        part=earlier is not None and earlier.sheet is not None,
        force=force,
    )
    progress("writing", 1.0)
    _check_proofs(made.results, folder)
    return lines + notes


def _named_apart(made: Made, folder: Path) -> Iterator[str]:
    """Say why the files have other names than they would have in an empty folder."""
    plain = made.request.job(made.pattern_set)
    if made.stem != plain.stem:
        yield (
            f"files that begin with {plain.stem} belong to another job in {folder}: "
            f"{named_alike(folder, plain)}; so these begin with {made.stem}"
        )


def _check_proofs(results: Sequence[SheetResult], folder: Path) -> None:
    for result in results:
        if result.faults:
            raise PlotoutError(
                f"read back, it is not what was meant: {result.faults[0]}",
                fix="Don't cut it. Report this fault of plotout or of a plugin to its maker.",
                place=Place(file=folder / result.file),
            )


def write_sheets(
    results: Sequence[SheetResult], folder: Path, job: Job, *, force: bool = False
) -> tuple[str, ...]:
    """Write sheets that are not a set's cards, such as a chart, with pictures; see `write`.

    Return what the user should know of the files and of the work in them.
    """
    files = {name: data for result in results for name, data in _of_sheet(result).items()}
    notes = write_files(folder, job, files, force=force)
    _check_proofs(results, folder)
    warnings = (text for result in results for text in result.warnings)
    return tuple(dict.fromkeys((*notes, *warnings)))


def off_cut(made: Made, result: SheetResult) -> dict[str, Any] | None:
    """Return the off-cut that a sheet leaves; None for a roll, for pages and for scraps.

    Also None for a part of a lay: what else was cut from the sheet is not known.
    """
    from plotout import layout

    left, sheet = result.left, result.sheet
    if left is None or not made.laid.whole:
        return None
    name = f"left of {made.pattern_set.style}, sheet {sheet.number}"
    return {
        "area_mm2": round(left.area, 1),
        "outline_mm": left.outline.round(2).tolist(),
        "rectangle_mm": [round(value, 1) for value in left.rectangle],
        "stock": layout.as_stock(left, name),
    }


def off_cuts_file(made: Made) -> str:
    """Return the name of the stock file of the off-cuts."""
    return f"{made.stem}-left-over.toml"


def _of_sheet(result: SheetResult) -> dict[str, bytes]:
    pictures = {f"{result.name}{suffix}": data for suffix, data in result.pictures.items()}
    return pictures | result.files


def _lay(made: Made) -> tuple[dict[str, bytes], dict[str, bytes]]:
    """Return the lay file of a whole lay, and the file of marks for every marked sheet."""
    from plotout import layout
    from plotout.layout.nesting import lay_file
    from plotout.layout.registration import mark_file

    if not made.laid.whole:
        return {}, {}
    pattern_set = made.pattern_set
    kept = layout.kept(made.laid, style=pattern_set.style, size=pattern_set.size)
    marks = {
        f"{result.name}-marks.csv": mark_file.to_fill_in(sheet.marks).encode()
        for result, sheet in zip(made.results, kept.sheets, strict=True)
        if len(sheet.marks)
    }
    return {f"{made.stem}-lay.json": lay_file.as_text(kept).encode()}, marks


def _contact(made: Made) -> dict[str, bytes]:
    """Return a picture of all sheets together, where there are several."""
    from plotout.proof import picture

    if not made.request.for_files or len(made.results) < 2:
        return {}
    timed = made.machine.kind not in ("printer", "file")
    seconds = sum(result.figures.seconds for result in made.results) if timed else 0.0
    sheets = [result.sheet for result in made.results]
    drawn = picture.contact_sheet(sheets, seconds, made.pattern_set.say)
    return {
        f"{made.stem}-all-sheets.png": picture.to_png(drawn),
        f"{made.stem}-all-sheets.svg": picture.to_svg(drawn).encode(),
    }


def _off_cuts(made: Made) -> dict[str, bytes]:
    """Return a stock file of the off-cuts, if any."""
    left = [off_cut(made, result) for result in made.results]
    stocks = [str(one["stock"]) for one in left if one]
    return {off_cuts_file(made): "\n".join(stocks).encode()} if stocks else {}
