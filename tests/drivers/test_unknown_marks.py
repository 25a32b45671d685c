"""A mark or a notch that a driver doesn't know is written as the guide to plugins says it is."""

from __future__ import annotations

from enum import StrEnum

import numpy as np
import pytest
from plotout_pdf.style import pen_for

from plotout import Card, Mark, NotchKind, Placed, Sheet, Stroke, Work, job, plugins, proof
from plotout.finish.notch_shapes import profile as profile_of_notch
from plotout.machine import profile
from plotout.pattern.settings import NotchStyle
from plotout.proof import picture
from plotout.tool import compile_sheet


class NewMark(StrEnum):
    """A kind of mark of tomorrow."""

    GATHER = "gathering line"


class NewNotch(StrEnum):
    """A kind of notch that no standard lists."""

    W = "W"


@pytest.fixture
def grown():
    """A mark and a kind of notch that plotout itself has from tomorrow on."""
    added = [_added(Mark, "PLEAT", "pleat line"), _added(NotchKind, "DOT", "dot")]
    yield added
    for member in added:
        kind = type(member)
        del kind._member_map_[member.name], kind._value2member_map_[member.value]
        kind._member_names_.remove(member.name)


def _added(kind: type[StrEnum], name: str, value: str) -> StrEnum:
    """Add a member to an enumeration, as a line in its source would (Python's enum: its maps)."""
    member = str.__new__(kind, value)
    member._name_, member._value_ = name, value
    kind._member_map_[name] = kind._value2member_map_[value] = member
    kind._member_names_.append(name)
    return member


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


@pytest.mark.parametrize("own", [True, False])
@pytest.mark.parametrize("name", sorted(profile.known(plugins.machine_files())))
def test_every_driver_writes_it_and_every_reader_of_files_finds_it(name, own, grown) -> None:
    machine = job.load_machine(name)
    driver = plugins.driver(machine.driver)
    mark, notch = grown if own else (NewMark.GATHER, NewNotch.W)
    assert (mark in list(Mark)) == own
    sheet = sheet_with(mark, notch)
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


def test_a_new_kind_of_notch_is_cut_as_a_slit(grown) -> None:
    _, dot = grown
    slit = profile_of_notch(NotchStyle(NotchKind.SLIT, 5.0, 4.0))
    (line,) = profile_of_notch(NotchStyle(dot, 5.0, 4.0))
    np.testing.assert_array_equal(line, slit[0])
