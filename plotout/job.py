"""The whole way from a set file to files that a machine can cut.

read -> finish -> lay -> order -> compile -> emit, as one function a stage and `plan` over all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from plotout import plugins
from plotout.errors import Place, PlotoutError, UserError, nearest
from plotout.files import slug, write_whole
from plotout.flow import Card, Sheet
from plotout.geometry.strokes import FloatArray, Work
from plotout.machine import AUTOMATIC, Bed, Calibration, Machine
from plotout.pattern.drawing import Drawing
from plotout.pattern.model import PatternSet
from plotout.worked import Worked, work

if TYPE_CHECKING:
    from plotout.layout import Again, Laid, Stock, StockSheet

Tell = Callable[[str, float], None]
"""Told a stage in words and the share of it that is done, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Made:
    """A whole job: the set, its cards, how they were laid and what was made of every sheet.

    stem: how the names of what goes with the whole lay begin.
    """

    pattern_set: PatternSet
    machine: Machine
    cards: tuple[Card, ...]
    worked: tuple[Worked, ...]
    laid: Laid
    stem: str

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The sheets as laid."""
        return self.laid.sheets

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
    known = machine.options if driver.options is None else driver.options
    wrong = next((key for key in machine.options if key not in known), None)
    if wrong is not None:
        raise UserError(
            f"machine '{machine.name}': its driver '{driver.name}' has no option '{wrong}'",
            fix=nearest(wrong, known) if known else "Take it out of [options].",
        )
    if machine.bed.advance == AUTOMATIC and not driver.advances:
        raise UserError(
            f"machine '{machine.name}': its driver '{driver.name}' can't have a roll advanced",
            fix='Write advance = "by hand" under [bed]: then each frame has a file.',
        )
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
    works: Sequence[Work] = (),
    again: Again | None = None,
    tell: Tell = quiet,
) -> Made:
    """Do all but write: finish, lay, order, compile, emit and prove.

    seconds: for laying. only: ids of the cards to make; all when empty. works: what is done; all
    when empty. again: an earlier lay to go by.
    Raises UserError where the set doesn't suit the machine or stock.
    """
    from plotout import layout

    stock = layout.stock_on(stock, machine) if stock else layout.stock_for(machine)
    tell("finishing cards", 0.0)
    cards = _finished(pattern_set, machine, stock, only, again)
    more = [f"and-{len(only) - 3}-more"] if len(only) > 3 else []
    stem = "-".join([machine.name, *only[:3], *more])
    made = plan_cards(
        pattern_set, cards, machine, stock=stock, seconds=seconds, stem=stem, works=works,
        again=again, tell=tell,
    )  # fmt: skip
    if only and again:
        made = replace(made, laid=replace(made.laid, whole=False))
    return made


def plan_cards(
    pattern_set: PatternSet,
    cards: tuple[Card, ...],
    machine: Machine,
    *,
    stock: Stock | None = None,
    seconds: float = 10.0,
    stem: str = "",
    works: Sequence[Work] = (),
    again: Again | None = None,
    tell: Tell = quiet,
) -> Made:
    """Do the same for cards that are finished already. stem: of the files' names."""
    from plotout import layout
    from plotout.route import first_time

    stock = stock or layout.stock_for(machine)
    laid = layout.laid(
        cards,
        stock,
        gap=machine.gap,
        seconds=seconds,
        again=again,
        progress=lambda share: tell("laying cards", share),
    )
    title = f"{pattern_set.name}, style {pattern_set.style}, size {pattern_set.size}"
    stem = f"{stem_of(pattern_set)}-{stem or machine.name}"
    found = again.matrix if again else None
    name = "-".join([stem, *works, *(["found"] if found is not None else [])])
    if found is not None:  # it was measured by the machine itself
        machine = replace(machine, calibration=Calibration())
    worked = []
    if first_time():
        tell("preparing to order, once on this computer", 0.0)
    for nth, sheet in enumerate(laid.sheets):
        tell("ordering and compiling", nth / len(laid.sheets))
        kind = laid.stock.kind_of(sheet)
        ready = _ready(replace(sheet, name=title), kind, machine, works, found)
        worked.append(work(ready, machine, name, kind=kind if found is None else None))
    tell("ordering and compiling", 1.0)
    shown = {placed.card.id for sheet in laid.sheets for placed in sheet.placed}
    cards = tuple(card for card in cards if card.id in shown)
    laid = replace(laid, whole=laid.whole and not works and found is None)
    return Made(pattern_set, machine, cards, tuple(worked), laid, stem)


def _ready(
    sheet: Sheet,
    kind: StockSheet,
    machine: Machine,
    works: Sequence[Work],
    found: FloatArray | None,
) -> Sheet:
    """Return a sheet with what is to be done on it, where it is to be done."""
    from plotout import layout

    if works:
        sheet = layout.part_of(sheet, works)
    if found is not None:
        return layout.as_found(sheet, found, machine.bed)
    return layout.with_joints(sheet, kind)


def stem_of(pattern_set: PatternSet) -> str:
    """Return how the names of a set's files begin."""
    return slug(pattern_set.style)


def _finished(
    pattern_set: PatternSet,
    machine: Machine,
    stock: Stock,
    only: Sequence[str],
    again: Again | None,
) -> tuple[Card, ...]:
    """Return the cards to make, split as they were split before.

    A card by itself is a part of the set as the machine's whole bed holds it: it may well be cut
    from an off-cut that holds nothing else.
    """
    from plotout import layout
    from plotout.finish import finish

    if again is not None:
        again.lay.must_be_of(pattern_set.style, pattern_set.size)
        cards = finish(pattern_set, window=again.lay.window, upright=again.lay.upright)
    else:
        size = layout.stock_for(machine) if only else stock
        cards = finish(pattern_set, window=size.window, upright=size.upright)
    ids = [card.id for card in cards]
    for wanted in only:
        if wanted not in ids:
            raise UserError(f"there is no card '{wanted}'", fix=nearest(wanted, ids))
    return tuple(card for card in cards if card.id in only) if only else cards


def write(made: Made, folder: Path, tell: Tell = quiet) -> None:
    """Write every sheet's file and its pictures (SVG, PNG) to `folder`.

    Raises PlotoutError, after all is written, when a file failed its proof.
    """
    for nth, each in enumerate(made.worked):
        tell("writing", nth / len(made.worked))
        write_worked(each, folder)
    write_lay(made, folder)
    tell("writing", 1.0)
    for each in made.worked:
        if each.faults:
            raise PlotoutError(
                f"read back, it is not what was meant: {each.faults[0]}",
                fix="Don't cut it. This is a fault of plotout or of a plugin: tell its maker.",
                place=Place(file=folder / each.file),
            )


def write_lay(made: Made, folder: Path) -> None:
    """Write how a whole lay lies, and for each marked sheet where its marks are meant to be."""
    from plotout import layout
    from plotout.layout import layfile, markfile

    if not made.laid.whole:
        return
    pattern_set = made.pattern_set
    kept = layout.kept(made.laid, style=pattern_set.style, size=pattern_set.size)
    write_whole(folder / f"{made.stem}-lay.json", layfile.as_text(kept).encode())
    for each, sheet in zip(made.worked, kept.sheets, strict=True):
        path = folder / f"{each.name}-marks.csv"
        if len(sheet.marks) and not path.exists():  # it may hold what was measured
            write_whole(path, markfile.to_fill_in(sheet.marks).encode())


def write_worked(each: Worked, folder: Path) -> None:
    """Write one sheet's file, and its pictures beside it."""
    from plotout.proof import picture

    scene = picture.sheet_picture(each.program, each.sheet)
    write_whole(folder / f"{each.name}.svg", picture.to_svg(scene).encode())
    write_whole(folder / f"{each.name}.png", picture.to_png(scene))
    for name, data in each.files.items():
        write_whole(folder / name, data)
