"""The whole way from a set file to files that a machine can cut.

read -> finish -> lay -> order -> compile -> emit, as one function a stage and `plan` over all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from plotout import parallel, plugins
from plotout.errors import Place, PlotoutError, UserError, nearest
from plotout.files import slug, write_whole
from plotout.geometry.strokes import FloatArray, Work
from plotout.machine import AUTOMATIC, Bed, Calibration, Machine
from plotout.model import Card, Sheet
from plotout.pattern.drawing import Drawing
from plotout.pattern.model import PatternSet
from plotout.sheet_job import UNREAD, SheetResult, make_ready, make_sheet, with_pictures

if TYPE_CHECKING:
    from plotout.layout import EarlierLay, KeptLay, Laid, SplitBy, Stock, StockSheet

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
    results: tuple[SheetResult, ...]
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
        told += [text for each in self.results for text in each.program.warnings]
        told += [
            f"{each.file} was not read back: {UNREAD}"
            for each in self.results
            if not each.read_back
        ]
        told += self.machine.notes
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

    machine = profile.load(name, plugins.machine_files(), plugins.options_model)
    driver = plugins.driver(machine.driver)
    if machine.bed.advance == AUTOMATIC and not driver.advances:
        raise UserError(
            f"machine '{machine.name}': its driver '{driver.name}' can't have a roll advanced",
            fix='Write advance = "by hand" under [bed]: then each frame has a file.',
        )
    if driver.check is not None:
        driver.check(machine)
    return driver.as_driven(machine) if driver.as_driven else machine


def printer(width: float, height: float) -> Machine:
    """Return a printer of full-size pages of this size in mm, as PDF."""
    base = load_machine("copy-shop")
    return replace(base, name="page", bed=Bed(width, height))


def plan(
    source: PatternSet | Path,
    machine: Machine,
    *,
    stock: Stock | None = None,
    seconds: float = 10.0,
    only: Sequence[str] = (),
    works: Sequence[Work] = (),
    again: EarlierLay | None = None,
    earlier: Path | None = None,
    pictures: bool = False,
    tell: Tell = quiet,
) -> Made:
    """Do all but write: read, finish, lay, order, compile, emit and prove.

    source: a set, or the path of its file. seconds: for laying. only: ids of the cards to make; all
    when empty. works: what is done; all when empty. again: an earlier lay to go by. earlier: folder
    in which the lay of the whole set may be kept: a card by itself is then split as it was there.
    pictures: each sheet is drawn.
    Raises UserError for what is wrong in the set, or where it doesn't suit the machine or stock.
    """
    from plotout import layout

    stock = layout.stock_on(stock, machine) if stock else layout.stock_for(machine)
    tell("finishing cards", 0.0)
    finished = parallel.begin(_finished, source, machine, stock, only, again, earlier)
    _make_ready(tell)
    pattern_set, cards, split = finished()
    more = [f"and-{len(only) - 3}-more"] if len(only) > 3 else []
    stem = "-".join([machine.name, *only[:3], *more])
    made = plan_cards(
        pattern_set, cards, machine, stock=stock, seconds=seconds, stem=stem, works=works,
        again=again, pictures=pictures, tell=tell,
    )  # fmt: skip
    whole = made.laid.whole and not (only and again)
    return replace(made, laid=replace(made.laid, whole=whole, split=split))


def plan_cards(
    pattern_set: PatternSet,
    cards: tuple[Card, ...],
    machine: Machine,
    *,
    stock: Stock | None = None,
    seconds: float = 10.0,
    stem: str = "",
    works: Sequence[Work] = (),
    again: EarlierLay | None = None,
    pictures: bool = False,
    tell: Tell = quiet,
) -> Made:
    """Do the same for cards that are finished already. stem: of the files' names."""
    from plotout import layout

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
    _make_ready(tell)

    def through(sheet: Sheet) -> SheetResult:
        kind = laid.stock.kind_of(sheet)
        if machine.kind in ("printer", "file"):  # which take a roll as one page
            kind = replace(kind, window=None)
        ready = _ready(replace(sheet, name=title), kind, machine, works, found)
        done = make_sheet(ready, machine, name, kind=kind if found is None else None)
        return with_pictures(done) if pictures else done

    results: list[SheetResult] = []
    tell("working sheets", 0.0)
    for each in parallel.each(through, laid.sheets, weight=_strokes_on):
        results.append(each)
        tell("working sheets", len(results) / len(laid.sheets))
    shown = {placed.card.id for sheet in laid.sheets for placed in sheet.placed}
    cards = tuple(card for card in cards if card.id in shown)
    laid = replace(laid, whole=laid.whole and not works and found is None)
    return Made(pattern_set, machine, cards, tuple(results), laid, stem)


def _make_ready(tell: Tell) -> None:
    from plotout.route import first_time

    if first_time():
        tell("preparing to order, once on this computer", 0.0)
    make_ready()


def _strokes_on(sheet: Sheet) -> float:
    return sum(len(placed.card.strokes) for placed in sheet.placed)


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
        return layout.as_registered(sheet, found, machine.bed)
    return layout.with_joints(sheet, kind)


def stem_of(pattern_set: PatternSet) -> str:
    """Return how the names of a set's files begin."""
    return slug(pattern_set.style)


def _finished(
    source: PatternSet | Path,
    machine: Machine,
    stock: Stock,
    only: Sequence[str],
    again: EarlierLay | None,
    earlier: Path | None,
) -> tuple[PatternSet, tuple[Card, ...], SplitBy]:
    """Return the set and the cards to make, split as they were split before.

    A card by itself is a part of the set as it was made before, else as the machine's whole bed
    holds it: it may well be cut from an off-cut that holds nothing else.
    """
    from plotout import layout
    from plotout.finish import finish

    pattern_set = read_set(source) if isinstance(source, Path) else source
    if again is not None:
        again.lay.must_be_of(pattern_set.style, pattern_set.size)
    kept = again.lay if again else None
    if only and not kept:
        kept = _kept_before(earlier, pattern_set, machine)
    size: Stock | KeptLay = kept or (layout.stock_for(machine) if only else stock)
    cards = finish(pattern_set, window=size.window, upright=size.upright)
    if only and not kept:
        cards = _with_doubt(cards)
    ids = [card.id for card in cards]
    for wanted in only:
        if wanted not in ids:
            raise UserError(
                f"there is no card '{wanted}'",
                fix=f"{nearest(wanted, ids)} If its piece was split for other stock, add --lay: "
                "the file ending in -lay.json that was kept then.",
            )
    split = layout.SplitBy(size.window, size.upright)
    return pattern_set, tuple(card for card in cards if card.id in only or not only), split


def _with_doubt(cards: Sequence[Card]) -> tuple[Card, ...]:
    """Return the cards; each that is a part of a piece says by what the piece was divided."""
    parts = Counter(card.piece for card in cards)
    doubt = (
        "its piece is divided as the machine's bed asks; if the rest of the set was made for other "
        "stock, add --lay with the file ending in -lay.json that was kept then",
    )
    return tuple(
        replace(card, warnings=card.warnings + doubt) if parts[card.piece] > 1 else card
        for card in cards
    )


def _kept_before(folder: Path | None, pattern_set: PatternSet, machine: Machine) -> KeptLay | None:
    """Return the lay of the whole set that was kept in a folder before, if there is one."""
    from plotout import layout

    path = (folder or Path()) / f"{stem_of(pattern_set)}-{machine.name}-lay.json"
    if folder is None or not path.exists():
        return None
    lay = layout.load_lay(path)
    same = (lay.style, lay.size) == (pattern_set.style, pattern_set.size)
    return lay if same else None


def write(made: Made, folder: Path, tell: Tell = quiet) -> None:
    """Write every sheet's file, and its pictures if they were drawn, to `folder`.

    Raises PlotoutError, after all is written, when a file failed its proof.
    """
    for nth, each in enumerate(made.results):
        tell("writing", nth / len(made.results))
        write_sheet(each, folder)
    write_lay(made, folder)
    tell("writing", 1.0)
    for each in made.results:
        if each.faults:
            raise PlotoutError(
                f"read back, it is not what was meant: {each.faults[0]}",
                fix="Don't cut it. This is a fault of plotout or of a plugin: tell its maker.",
                place=Place(file=folder / each.file),
            )


def write_lay(made: Made, folder: Path) -> None:
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
