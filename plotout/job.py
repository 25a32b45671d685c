"""The whole job, from a set file to the files for a machine.

read -> finish -> lay -> order -> compile -> emit: one function per stage, and `plan` over all of
them. Everything the user asks for is in one `Request`; `output` writes what was made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import KW_ONLY, dataclass, replace
from functools import partial
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from plotout import parallel, plugins
from plotout.errors import UserError, all_of, found_in, nearest, told_of
from plotout.files import in_ascii, shortened, slug, slug_among
from plotout.geometry.strokes import FloatArray, Work
from plotout.machine import AUTOMATIC, Bed, Calibration, Machine
from plotout.model import Card, Sheet
from plotout.pattern.model import PatternSet
from plotout.sheet_job import UNREAD, SheetResult, make_ready, make_sheet, with_pictures

if TYPE_CHECKING:
    from plotout.layout import EarlierLay, KeptLay, Laid, SplitBy, Stock, StockSheet
    from plotout.pattern.assemble import ReadSet

_LONGEST = 150  # bytes of the names' beginning: file systems hold 255 of a name


class Tell(Protocol):
    """Called with a stage in words, the share of it done (0 to 1), and how many things it is of."""

    def __call__(self, stage: str, share: float, of: int = 0, /) -> None:
        """Take note. of: 0 where nothing is counted."""


@dataclass(frozen=True, slots=True)
class Finished:
    """A set and its finished cards that are to be made.

    split: what the pieces were split to fit, if it is not the stock on which the cards are laid.
    faults, notes: what walking the set's seams found, in words.
    """

    pattern_set: PatternSet
    cards: tuple[Card, ...]
    split: SplitBy | None = None
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Request:
    """Everything asked of a job. Every stage takes what it needs from it.

    source: the path of a set file, a read one, a set, or finished cards. sizes: those of a set file
    to make, laid together; empty for the drawn one. stock: what to cut from; None: the machine's.
    seconds: time for laying. cards: ids of the only cards to make; empty for all. works: the only
    work to do; empty for all. earlier: the lay to reuse. kept_in: a folder that may hold an earlier
    lay of the whole set; a card made alone is then split as it was there. pictures: draw every
    sheet; travel: also draw travel with the tool up. name: the part of file names after the style;
    empty for the machine and the chosen cards. ascii_names: file names in a to z
    alone. strict: refuse a set that has faults.
    """

    source: Path | ReadSet | PatternSet | Finished
    machine: Machine
    _: KW_ONLY
    sizes: tuple[str, ...] = ()
    stock: Stock | None = None
    seconds: float = 10.0
    cards: tuple[str, ...] = ()
    works: tuple[Work, ...] = ()
    earlier: EarlierLay | None = None
    kept_in: Path | None = None
    pictures: bool = False
    travel: bool = False
    name: str = ""
    ascii_names: bool = False
    strict: bool = False

    @property
    def found(self) -> FloatArray | None:
        """Where the sheet was found on the machine by its marks; see `EarlierLay.matrix`."""
        return self.earlier.matrix if self.earlier else None

    def stem(self, pattern_set: PatternSet) -> str:
        """Return the beginning of the job's file names."""
        more = [f"and-{len(self.cards) - 3}-more"] if len(self.cards) > 3 else []
        name = self.name or "-".join([slug(self.machine.name), *self.cards[:3], *more])
        found = ["found"] if self.found is not None else []
        whole = "-".join([stem_of(pattern_set), name, *self.works, *found])
        return shortened(in_ascii(whole) if self.ascii_names else whole, _LONGEST)


@dataclass(frozen=True, slots=True)
class Made:
    """A whole job: its request, the set, its cards, their lay, and the result of every sheet.

    stem: the beginning of the names of files for the whole lay. faults, notes: as in `Finished`.
    """

    request: Request
    pattern_set: PatternSet
    cards: tuple[Card, ...]
    results: tuple[SheetResult, ...]
    laid: Laid
    stem: str
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def machine(self) -> Machine:
        """The machine for which it was made."""
        return self.request.machine

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The sheets as laid."""
        return self.laid.sheets

    @property
    def warnings(self) -> tuple[str, ...]:
        """Everything the user should know, without repeats, in the order of the stages."""
        told = [*self.notes, *(f"{text}: left out" for text in self.laid.stock.unfit)]
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


def quiet(_stage: str, _share: float, _of: int = 0, /) -> None:
    """Report nothing."""


def open_set(path: Path) -> ReadSet:
    """Read a set file and the drawings it names, once for all its sizes.

    Raises UserError for faults in them.
    """
    from plotout.pattern import assemble, setfile

    set_file = setfile.load(path)
    drawn = set_file.sizes.base if set_file.sizes else set_file.head.size
    return assemble.read_drawings(
        set_file, lambda file, pick: plugins.read_drawing(file, pick, drawn)
    )


def read_set(path: Path, size: str = "") -> PatternSet:
    """Read a set file and its drawings, in one of its sizes; "" is the one drawn.

    Raises UserError for what is wrong in them.
    """
    return open_set(path).in_size(size)


def load_machine(name: str) -> Machine:
    """Return a machine by its profile's name or path, and check that its driver serves it."""
    from plotout.machine import profile

    path = profile.find(name, plugins.machine_files())
    machine = profile.load(path, (), plugins.options_model)
    with found_in(path):
        driver = plugins.driver(machine.driver)
        if machine.bed.advance == AUTOMATIC and not driver.advances:
            raise UserError(
                f"machine '{machine.name}': its driver '{driver.name}' can't have a roll advanced",
                fix='Write advance = "by hand" under [bed], so that every frame gets a file.',
            )
        if driver.check is not None:
            driver.check(machine)
        return driver.as_driven(machine) if driver.as_driven else machine


def printer(width: float, height: float, band: str = "auto") -> Machine:
    """Return a printer of full-size pages of this size in mm, as PDF.

    band: the side for the page's words and scale; the bed's margins leave room for it.
    """
    base = load_machine("copy-shop")
    machine = replace(base, name="page", bed=Bed(width, height), options={"band": band})
    driver = plugins.driver(machine.driver)
    return driver.as_driven(machine) if driver.as_driven else machine


def printer_around(width: float, height: float) -> Machine:
    """Return a printer of pages that hold just this much, mm, beside the page's own words."""
    left, bottom, right, top = printer(width, height, "foot").bed.margins
    return printer(width + left + right, height + bottom + top, "foot")


def plan(request: Request, tell: Tell = quiet) -> Made:
    """Do everything but write: read, finish, lay, order, compile, emit and read back.

    Raises UserError for faults in the set, or where it doesn't suit the machine or stock.
    """
    (made,) = plan_each([request], tell)
    return made


def plan_each(requests: Sequence[Request], tell: Tell = quiet) -> Iterator[Made]:
    """Do `plan` for several requests, as for sizes that are laid apart; give each when it is done.

    Their cards are finished beside one another, and so are the sheets of all of them. Raises as
    `plan` does, for any of them, before the first is given.
    """
    tell("finishing cards", 0.0)
    asked = [_settled(each) for each in requests]
    firsts = [replace(each, stock=each.stock.ways[0]) for each in asked if each.stock]
    if len(firsts) == 1:
        finishing = parallel.begin(_tried, firsts[0])
        _make_ready(tell)
        done = [finishing()]
    else:
        _make_ready(tell)
        done = list(parallel.each(_tried, firsts))
    laid = []
    for nth, (request, first) in enumerate(zip(asked, done, strict=True)):
        share = partial(_part, tell, nth, len(asked))
        laid.append(_laid_some_way(request, first, share))
    yield from _made(laid, tell)


def _part(tell: Tell, nth: int, lays: int, stage: str, share: float, of: int = 0) -> None:
    """Tell how far a stage is that is gone through for one lay after another."""
    tell(stage, (nth + share) / lays, of if lays == 1 else lays)


def _tried(request: Request) -> Finished | UserError:
    """Return the finished cards, or why there are none: on other sheets there may be."""
    try:
        return finished(request)
    except UserError as fault:
        return fault


def _laid_some_way(
    request: Request, first: Finished | UserError, tell: Tell
) -> tuple[Request, Finished, Laid]:
    """Return the request with the kind of its sheets that its cards were split for, and the lay.

    first: what finishing gave for the first kind. Raises the first fault where none will do.
    """
    assert request.stock is not None
    refused: UserError | None = None
    for nth, way in enumerate(chain(request.stock.ways, request.stock.other_ways())):
        split = replace(request, stock=way)
        try:
            done = first if nth == 0 else finished(split)
            if isinstance(done, UserError):
                raise done
            return split, done, _laid(split, done, tell)
        except UserError as fault:  # split for another kind of its sheets, the stock may do
            refused = refused or fault
    assert refused is not None
    raise refused


def _settled(request: Request) -> Request:
    """Return the request with its stock, and the machine as it will be used."""
    from plotout import layout

    machine, stock = request.machine, request.stock
    stock = layout.stock_on(stock, machine) if stock else layout.stock_for(machine)
    grids = plugins.driver(machine.driver).grids
    if grids is not None:
        pages = tuple(grids(machine))
        stock = replace(stock, sheets=tuple(replace(each, pages=pages) for each in stock.sheets))
    if request.found is not None:
        # the marks were measured with the machine, so its errors are already in the fit
        machine = replace(machine, calibration=Calibration())
    return replace(request, machine=machine, stock=stock)


def _laid(request: Request, done: Finished, tell: Tell) -> Laid:
    from plotout import layout

    assert request.stock is not None
    laid = layout.laid(
        done.cards,
        request.stock,
        gap=request.machine.gap,
        seconds=request.seconds,
        again=request.earlier,
        progress=lambda share: tell("laying cards", share),
    )
    part = request.works or request.found is not None or (request.cards and request.earlier)
    return replace(laid, whole=laid.whole and not part, split=done.split)


def _made(all_laid: Sequence[tuple[Request, Finished, Laid]], tell: Tell) -> Iterator[Made]:
    """Work every sheet of every lay, several at a time; give each lay's when they are done."""
    stems = [request.stem(done.pattern_set) for request, done, _ in all_laid]
    items = [
        (request, laid.stock, stem, sheet)
        for stem, (request, done, laid) in zip(stems, all_laid, strict=True)
        for sheet in _named(request, done, laid)
    ]
    tell("working sheets", 0.0, len(items))
    worked = parallel.each(_sheet_made, items, weight=lambda item: _strokes_on(item[3]))
    count = 0
    for stem, (request, done, laid) in zip(stems, all_laid, strict=True):
        results = []
        for _ in laid.sheets:
            results.append(next(worked))
            count += 1
            tell("working sheets", count / len(items), len(items))
        shown = {placed.card.id for sheet in laid.sheets for placed in sheet.placed}
        cards = tuple(card for card in done.cards if card.id in shown)
        yield Made(
            request, done.pattern_set, cards, tuple(results), laid, stem, done.faults, done.notes
        )


def _title(pattern_set: PatternSet) -> str:
    say = pattern_set.say
    told = [pattern_set.name, say("style {style}", style=pattern_set.style)]
    if pattern_set.size:
        told.append(say("size {size}", size=pattern_set.size))
    return say.listed(*told)


def _named(request: Request, done: Finished, laid: Laid) -> list[Sheet]:
    """Return the sheets of a lay with what each says of itself."""
    title, say = _title(done.pattern_set), done.pattern_set.say
    earlier = len(request.earlier.lay.sheets) if request.earlier else 0
    of = max(earlier, len(laid.sheets))
    return [replace(sheet, name=title, say=say, of=of) for sheet in laid.sheets]


def _sheet_made(item: tuple[Request, Stock, str, Sheet]) -> SheetResult:
    request, stock, stem, sheet = item
    kind = stock.kind_of(sheet)
    if request.machine.kind in ("printer", "file"):  # which take a roll as one page
        kind = replace(kind, window=None)
    ready = _ready(sheet, kind, request)
    known = kind if request.found is None else None
    result = make_sheet(ready, request.machine, stem, kind=known)
    return with_pictures(result, travel=request.travel) if request.pictures else result


def _make_ready(tell: Tell) -> None:
    from plotout.route import first_time

    if first_time():
        tell("preparing to order, once on this computer", 0.0)
    make_ready()


def _strokes_on(sheet: Sheet) -> float:
    return sum(len(placed.card.strokes) for placed in sheet.placed)


def _ready(sheet: Sheet, kind: StockSheet, request: Request) -> Sheet:
    """Return a sheet with the work to do on it, in its place."""
    from plotout import layout

    if request.works:
        sheet = layout.part_of(sheet, request.works)
    if request.found is not None:
        return layout.as_registered(sheet, request.found, request.machine.bed)
    return layout.with_joints(sheet, kind)


def stem_of(pattern_set: PatternSet) -> str:
    """Return how the names of a set's files begin."""
    said = [slug(each) for each in (pattern_set.name, pattern_set.style) if each]
    return "-".join(dict.fromkeys([*said, *([size_slug(pattern_set)] if pattern_set.size else [])]))


def size_slug(pattern_set: PatternSet) -> str:
    """Return the set's size as a part of a file's name, other than that of its other sizes."""
    return slug_among(pattern_set.size, pattern_set.sizes)


def finished(request: Request) -> Finished:
    """Return the set and the cards to make, split as before.

    A card made alone is split as the set was before, else to fit the machine's whole bed: it may be
    cut from an off-cut that holds nothing else.
    """
    from plotout import layout
    from plotout.finish import finish
    from plotout.finish.review import review

    source, machine, only = request.source, request.machine, request.cards
    if isinstance(source, Finished):
        return source
    sets = _sets(source, request.sizes)
    pattern_set = replace(sets[0], size=", ".join(each.size for each in sets))
    reviews = [review(each) for each in sets]
    faults = _of_sizes(sets, [each.faults for each in reviews])
    if request.strict and faults:
        fix = "Correct it, or leave out --strict."
        raise all_of([UserError(fault, fix=fix) for fault in faults])
    kept = request.earlier.lay if request.earlier else None
    if kept:
        kept.must_be_of(pattern_set.style, pattern_set.size)
    elif only:
        kept = _kept_before(request, pattern_set)
    stock = request.stock if request.stock and not only else layout.stock_for(machine)
    size: Stock | KeptLay = kept or stock
    cards: tuple[Card, ...] = ()
    for each in sets:
        with told_of(f"in size {each.size}" if each.sizes else ""):
            made = finish(each, window=size.window, upright=size.upright)
        if len(sets) > 1:
            made = tuple(replace(card, id=f"{size_slug(each)}-{card.id}") for card in made)
        cards += made
    if only and not kept:
        cards = _with_doubt(cards)
    ids = [card.id for card in cards]
    for wanted in only:
        if wanted not in ids:
            raise UserError(
                f"there is no card '{wanted}'",
                fix=f"{nearest(wanted, ids)} If its piece was split for other stock, add --lay and "
                "the -lay.json file written then.",
            )
    chosen = tuple(card for card in cards if card.id in only or not only)
    split = layout.SplitBy(size.window, size.upright)
    notes = _of_sizes(sets, [each.notes for each in reviews])
    return Finished(pattern_set, chosen, split, faults, notes)


def _of_sizes(sets: Sequence[PatternSet], told: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Return what is told of each size; what is told of all alike, once."""
    if len(sets) == 1:
        return tuple(told[0])
    sizes: dict[str, list[str]] = {}
    for each, texts in zip(sets, told, strict=True):
        for text in texts:
            sizes.setdefault(text, []).append(each.size)
    return tuple(
        text if len(found) == len(sets) else f"size {', '.join(found)}: {text}"
        for text, found in sizes.items()
    )


def _sets(source: Path | ReadSet | PatternSet, sizes: Sequence[str]) -> tuple[PatternSet, ...]:
    """Return the set in every size that is made together."""
    if isinstance(source, PatternSet):
        return (source,)
    read = open_set(source) if isinstance(source, Path) else source
    return tuple(read.in_size(size) for size in sizes or ("",))


def _with_doubt(cards: Sequence[Card]) -> tuple[Card, ...]:
    """Return the cards; parts of a divided piece say how it was divided."""
    parts = Counter(card.piece for card in cards)
    doubt = (
        "its piece is divided to fit the machine's bed; if the rest of the set was made for other "
        "stock, add --lay with the -lay.json file written then",
    )
    return tuple(
        replace(card, warnings=card.warnings + doubt) if parts[card.piece] > 1 else card
        for card in cards
    )


def _kept_before(request: Request, pattern_set: PatternSet) -> KeptLay | None:
    """Return the lay of the whole set that was kept in its folder before, if there is one."""
    from plotout import layout

    whole = replace(request, cards=(), works=(), earlier=None)
    path = (request.kept_in or Path()) / f"{whole.stem(pattern_set)}-lay.json"
    if request.kept_in is None or not path.exists():
        return None
    lay = layout.load_lay(path)
    same = (lay.style, lay.size) == (pattern_set.style, pattern_set.size)
    return lay if same else None
