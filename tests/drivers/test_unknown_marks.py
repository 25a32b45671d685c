"""A mark or a notch that a driver doesn't know is written as the guide to plugins says it is."""

from __future__ import annotations

from enum import StrEnum

import numpy as np
import pytest
from plotout_pdf.style import pen_for

from plotout import Card, Mark, NotchKind, Placed, Sheet, Stroke, Work, job, plugins, proof
from plotout.machine import profile
from plotout.proof import picture
from plotout.tool import compile_sheet


class NewMark(StrEnum):
    """A kind of mark of tomorrow."""

    GATHER = "gathering line"


class NewNotch(StrEnum):
    """A kind of notch that no standard lists."""

    W = "W"


def sheet_with(mark: str, notch: str) -> Sheet:
    square = np.array([[50.0, 50.0], [150.0, 50.0], [150.0, 150.0], [50.0, 150.0], [50.0, 50.0]])
    strokes = (
        Stroke(square[:2] + np.array([0.0, 40.0]), Work.DRAW, mark, card="c"),  # type: ignore[arg-type]
        Stroke(np.array([[50.0, 100.0], [56.0, 100.0]]), Work.CUT, Mark.NOTCH, card="c",
               notch=notch),  # type: ignore[arg-type]
        Stroke(square, Work.CUT, Mark.OUTLINE, card="c"),
    )  # fmt: skip
    card = Card("c", "Piece", "Piece", 1, 1, square, strokes)
    return Sheet("sheet", 1, 200.0, 200.0, (Placed(card, 0.0, (20.0, 0.0)),))


@pytest.mark.parametrize("name", sorted(profile.known(plugins.machine_files())))
def test_every_driver_writes_it_and_every_reader_of_files_finds_it(name: str) -> None:
    machine = job.load_machine(name)
    driver = plugins.driver(machine.driver)
    sheet = sheet_with(NewMark.GATHER, NewNotch.W)
    program = compile_sheet(sheet, sheet.strokes, machine, arcs=driver.arcs)
    data = driver.emit(program, sheet)
    interpreter = plugins.interpreter_for(driver.name)
    assert interpreter is not None
    assert proof.verify(program, sheet, data, interpreter) == ()
    assert picture.to_png(picture.sheet_picture(program, sheet)).startswith(b"\x89PNG")


@pytest.mark.parametrize("name", ["svg-file", "dxf-file"])
def test_it_is_written_as_the_stated_default(name: str) -> None:
    """The same bytes as for an internal line and a slit, but for what the file calls it."""
    machine = job.load_machine(name)
    driver = plugins.driver(machine.driver)
    files = []
    for mark, notch in ((NewMark.GATHER, NewNotch.W), (Mark.INTERNAL, NotchKind.SLIT)):
        sheet = sheet_with(mark, notch)
        data = driver.emit(compile_sheet(sheet, sheet.strokes, machine), sheet)
        files.append(data.replace(b"gathering-line", b"internal-line"))
    assert files[0] == files[1]


def test_it_is_printed_as_an_internal_line() -> None:
    line = np.array([[0.0, 0.0], [9.0, 0.0]])
    unknown = Stroke(line, Work.DRAW, NewMark.GATHER)  # type: ignore[arg-type]
    assert pen_for(unknown) == pen_for(Stroke(line, Work.DRAW, Mark.INTERNAL))
