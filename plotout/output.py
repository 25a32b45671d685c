"""Writes what a job made: the machine's files, pictures, the lay, marks to be measured."""

from __future__ import annotations

from pathlib import Path

from plotout.errors import Place, PlotoutError
from plotout.files import write_whole
from plotout.job import Made, Tell, quiet
from plotout.sheet_job import SheetResult


def write(made: Made, folder: Path, tell: Tell = quiet) -> None:
    """Write every sheet's file, and its pictures if they were drawn, to `folder`.

    Raises PlotoutError, after all is written, when a file failed its proof.
    """
    for nth, each in enumerate(made.results):
        tell("writing", nth / len(made.results))
        write_sheet(each, folder)
    _write_lay(made, folder)
    tell("writing", 1.0)
    for each in made.results:
        if each.faults:
            raise PlotoutError(
                f"read back, it is not what was meant: {each.faults[0]}",
                fix="Don't cut it. This is a fault of plotout or of a plugin: tell its maker.",
                place=Place(file=folder / each.file),
            )


def _write_lay(made: Made, folder: Path) -> None:
    """Write how a whole lay lies, and for each marked sheet where its marks are meant to be."""
    from plotout import layout
    from plotout.layout.nesting import lay_file
    from plotout.layout.registration import mark_file

    if not made.laid.whole:
        return
    pattern_set = made.pattern_set
    kept = layout.kept(made.laid, style=pattern_set.style, size=pattern_set.size)
    write_whole(folder / f"{made.stem}-lay.json", lay_file.as_text(kept).encode())
    for each, sheet in zip(made.results, kept.sheets, strict=True):
        path = folder / f"{each.name}-marks.csv"
        if len(sheet.marks) and not path.exists():  # it may hold what was measured
            write_whole(path, mark_file.to_fill_in(sheet.marks).encode())


def write_sheet(each: SheetResult, folder: Path) -> None:
    """Write one sheet's file, and its pictures beside it."""
    for suffix, data in each.pictures.items():
        write_whole(folder / f"{each.name}{suffix}", data)
    for name, data in each.files.items():
        write_whole(folder / name, data)
