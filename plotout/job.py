"""The whole way from a set file to files that a machine can cut.

read -> finish -> lay -> order -> compile -> emit, as one function a stage and `plan` over all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from plotout import plugins
from plotout.errors import Place, PlotoutError, UserError
from plotout.files import slug, write_whole
from plotout.flow import Card, Program, Sheet
from plotout.machine import Bed, Calibration, Machine
from plotout.pattern.drawing import Drawing
from plotout.pattern.model import PatternSet

if TYPE_CHECKING:
    from plotout.layout import Stock
    from plotout.route import Route

Tell = Callable[[str, float], None]
"""Told a stage in words and the share of it that is done, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Worked:
    """A sheet with all that was made of it. name: of its files, without a suffix."""

    name: str
    suffix: str
    sheet: Sheet
    route: Route
    program: Program
    data: bytes
    faults: tuple[str, ...]

    @property
    def file(self) -> str:
        """Name of the machine's file; one that failed its proof is kept under another name."""
        return f"{self.name}{self.suffix}" + (".refused" if self.faults else "")


@dataclass(frozen=True, slots=True)
class Made:
    """A whole job: the set, its cards and what was made of every sheet."""

    pattern_set: PatternSet
    machine: Machine
    cards: tuple[Card, ...]
    worked: tuple[Worked, ...]

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The sheets as laid."""
        return tuple(each.sheet for each in self.worked)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Everything that the user should know, each once, in the order of the stages."""
        told = [f"{p.name}: {note}" for p in self.pattern_set.pieces for note in p.notes]
        told += [f"{card.title}: {text}" for card in self.cards for text in card.warnings]
        told += [text for each in self.worked for text in each.program.warnings]
        if self.machine.calibration != Calibration():
            told.append(f"{self.machine.title} is {self.machine.calibration}")
        return tuple(dict.fromkeys(told))


def quiet(_stage: str, _share: float) -> None:
    """Tell nobody."""


def read_set(path: Path) -> PatternSet:
    """Read a set file and the drawings it names. Raises UserError for what is wrong in them."""
    from plotout.pattern import assemble, setfile

    return assemble.assemble(setfile.load(path), _read_drawing)


def _read_drawing(path: Path, pick: Mapping[str, Any]) -> Drawing:
    reader = plugins.reader_for(path)
    wrong = next((key for key in pick if key not in reader.picks), None)
    if wrong is not None:
        raise UserError(
            f"'{wrong}' means nothing to the reader '{reader.name}'",
            fix=f"It takes: {', '.join(reader.picks)}.",
            place=Place(file=path),
        )
    with plugins.blamed(reader.name):
        return reader.read(path, pick)


def load_machine(name: str) -> Machine:
    """Return a machine by its profile's name or path, and check that its driver serves it."""
    from plotout.machine import profile

    machine = profile.load(name, plugins.machine_files())
    driver = plugins.driver(machine.driver)
    if driver.check is not None:
        driver.check(machine)
    return machine


def printer(width: float, height: float) -> Machine:
    """Return a printer of full-size pages of this size in mm, as PDF."""
    base = load_machine("copy-shop")
    return replace(base, name="page", bed=Bed(width, height))


def plan(
    pattern_set: PatternSet,
    machine: Machine,
    *,
    stock: Stock | None = None,
    seconds: float = 10.0,
    only: Sequence[str] = (),
    tell: Tell = quiet,
) -> Made:
    """Do all but write: finish, lay, order, compile, emit and prove.

    seconds: for laying. only: ids of the cards to make; all when empty.
    Raises UserError where the set doesn't suit the machine or stock.
    """
    from plotout import layout
    from plotout.finish import finish

    stock = layout.stock_on(stock, machine) if stock else layout.stock_for(machine)
    tell("finishing cards", 0.0)
    cards = _chosen(finish(pattern_set, window=stock.window), only)
    return plan_cards(pattern_set, cards, machine, stock=stock, seconds=seconds, tell=tell)


def plan_cards(
    pattern_set: PatternSet,
    cards: tuple[Card, ...],
    machine: Machine,
    *,
    stock: Stock | None = None,
    seconds: float = 10.0,
    stem: str = "",
    tell: Tell = quiet,
) -> Made:
    """Do the same for cards that are finished already. stem: of the files' names."""
    from plotout import layout

    sheets = layout.lay(
        cards,
        stock or layout.stock_for(machine),
        gap=machine.gap,
        seconds=seconds,
        progress=lambda share: tell("laying cards", share),
    )
    title = f"{pattern_set.name}, style {pattern_set.style}, size {pattern_set.size}"
    stem = f"{stem_of(pattern_set)}-{stem or machine.name}"
    worked = []
    for nth, sheet in enumerate(sheets):
        tell("ordering and compiling", nth / len(sheets))
        worked.append(work(replace(sheet, name=title), machine, stem))
    tell("ordering and compiling", 1.0)
    return Made(pattern_set, machine, cards, tuple(worked))


def stem_of(pattern_set: PatternSet) -> str:
    """Return how the names of a set's files begin."""
    return slug(pattern_set.style)


def _chosen(cards: tuple[Card, ...], only: Sequence[str]) -> tuple[Card, ...]:
    from plotout.errors import nearest

    ids = [card.id for card in cards]
    for wanted in only:
        if wanted not in ids:
            raise UserError(f"there is no card '{wanted}'", fix=nearest(wanted, ids))
    return tuple(card for card in cards if card.id in only) if only else cards


def work(sheet: Sheet, machine: Machine, stem: str) -> Worked:
    """Order, compile, emit and read back one sheet."""
    from plotout import layout, proof, route, tool

    driver = plugins.driver(machine.driver)
    ordered = route.order(sheet.strokes)
    true = layout.corrected(ordered.strokes, machine.calibration)
    program = tool.compile_sheet(sheet, true, machine)
    with plugins.blamed(driver.name):
        data = driver.emit(program, sheet)
    interpreter = plugins.interpreter_for(driver.name)
    faults = proof.verify(program, sheet, data, interpreter) if interpreter else ()
    name = f"{stem}-sheet-{sheet.number:02d}"
    return Worked(name, driver.suffix, sheet, ordered, program, data, tuple(faults))


def write(made: Made, folder: Path, tell: Tell = quiet) -> None:
    """Write every sheet's file and its pictures (SVG, PNG) to `folder`.

    Raises PlotoutError, after all is written, when a file failed its proof.
    """
    for nth, each in enumerate(made.worked):
        tell("writing", nth / len(made.worked))
        write_worked(each, folder)
    tell("writing", 1.0)
    for each in made.worked:
        if each.faults:
            raise PlotoutError(
                f"read back, it is not what was meant: {each.faults[0]}",
                fix="Don't cut it. This is a fault of plotout or of a plugin: tell its maker.",
                place=Place(file=folder / each.file),
            )


def write_worked(each: Worked, folder: Path) -> None:
    """Write one sheet's file, and its pictures beside it."""
    from plotout.proof import picture

    scene = picture.sheet_picture(each.program, each.sheet)
    write_whole(folder / f"{each.name}.svg", picture.to_svg(scene).encode())
    write_whole(folder / f"{each.name}.png", picture.to_png(scene))
    write_whole(folder / each.file, each.data)


def report(made: Made) -> dict[str, Any]:
    """Return what was made as plain data, fit for JSON. mm, mm2, s, per cent."""
    from plotout.geometry.polyline import length, signed_area

    pieces = []
    for name in dict.fromkeys(card.piece for card in made.cards):
        cards = [card for card in made.cards if card.piece == name]
        pieces.append(
            {
                "name": name,
                "cards": len(cards),
                "area_mm2": round(sum(signed_area(card.outline) for card in cards), 2),
                "perimeter_mm": round(sum(length(card.outline) for card in cards), 2),
                "hole_mm": [
                    [round(v, 2) for v in card.hole] if card.hole else None for card in cards
                ],
            }
        )
    used = sum(each.sheet.width * each.sheet.height for each in made.worked)
    covered = sum(signed_area(card.outline) for card in made.cards)
    return {
        "set": made.pattern_set.name,
        "machine": made.machine.name,
        "pieces": pieces,
        "sheets": [_sheet_report(each) for each in made.worked],
        "use_percent": round(100.0 * covered / used, 1) if used else 0.0,
        "warnings": list(made.warnings),
    }


def _sheet_report(each: Worked) -> dict[str, Any]:
    return {
        "file": each.file,
        "width_mm": round(each.sheet.width, 2),
        "height_mm": round(each.sheet.height, 2),
        "stock": each.sheet.stock,
        "cards": [placed.card.id for placed in each.sheet.placed],
        "strokes": len(each.route.strokes),
        "work_mm": round(sum(stroke.length for stroke in each.route.strokes), 1),
        "travel_mm": round(each.route.travel, 1),
        "travel_as_read_mm": round(each.route.travel_as_read, 1),
        "seconds": round(each.program.seconds, 1),
        "seconds_by_tool": {k: round(v, 1) for k, v in each.program.seconds_by_tool.items()},
        "faults": list(each.faults),
    }
