"""The whole job, from a set file to the files for a machine.

read -> finish -> lay -> order -> compile -> emit: one function per stage, and `plan` over all of
them. Everything the user asks for is in one `Request`; `output` writes what was made.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from plotout import parallel, plugins
from plotout.errors import UserError
from plotout.finishing import finished
from plotout.machine import Calibration, Machine
from plotout.model import Sheet
from plotout.opening import load_machine, open_set, printer, printer_around, read_set
from plotout.pattern.model import PatternSet
from plotout.request import Finished, Made, Progress, Request, quiet, stem_by, stem_of
from plotout.sheet_job import SheetResult, load_stages, make_ready, make_sheet, with_pictures

if TYPE_CHECKING:
    from plotout.layout import Laid, Stock, StockSheet


__all__ = [
    "Finished",
    "Made",
    "Progress",
    "Request",
    "load_for",
    "load_machine",
    "open_set",
    "plan",
    "plan_each",
    "printer",
    "printer_around",
    "quiet",
    "read_set",
    "stem_by",
    "stem_of",
]


PREPARING = "preparing to order, once on this computer"
"""A stage of some 10 s that can't report how far it has come."""

_FAR_MORE = 1.5, 8.0  # times as many cards, and more


def plan(request: Request, progress: Progress = quiet) -> Made:
    """Do everything but write: read, finish, lay, order, compile, emit and read back.

    Raises UserError for faults in the set, or where it doesn't suit the machine or stock.
    """
    (made,) = plan_each([request], progress)
    return made


def plan_each(requests: Sequence[Request], progress: Progress = quiet) -> Iterator[Made]:
    """Do `plan` for several requests, as for sizes that are laid apart; give each when it is done.

    Their cards are finished beside one another, and so are the sheets of all of them. Raises as
    `plan` does, for any of them, before the first is given.
    """
    progress("finishing cards", 0.0)
    asked = [_settled(request) for request in requests]
    firsts = [
        replace(request, stock=request.stock.split_choices[0]) for request in asked if request.stock
    ]
    _make_ready({request.machine.driver for request in asked}, progress)
    done = list(parallel.results(_tried, firsts))
    laid = []
    for index, (request, first) in enumerate(zip(asked, done, strict=True)):
        share = partial(_part, progress, index, len(asked))
        laid.append(_laid_some_way(request, first, share))
    yield from _made(laid, progress)


def _part(progress: Progress, index: int, lays: int, stage: str, share: float, of: int = 0) -> None:
    """Report how far a stage is that is gone through for one lay after another."""
    progress(stage, (index + share) / lays, of if lays == 1 else lays)


def _tried(request: Request) -> Finished | UserError:
    """Return the finished cards, or why there are none: on other sheets there may be."""
    try:
        return finished(request)
    except UserError as fault:
        return fault


def _laid_some_way(
    request: Request, first: Finished | UserError, progress: Progress
) -> tuple[Request, Finished, Laid]:
    """Return the request with the kind of its sheets that its cards were split for, and the lay.

    first: what finishing gave for the first kind. Raises the first fault where none will do.
    """
    refused: UserError | None = None
    for split, done in _split_choices(request, first):
        try:
            if isinstance(done, UserError):
                raise done
            return split, done, _laid(split, done, progress)
        except UserError as fault:  # split for another kind of its sheets, the stock may do
            refused = refused or fault
    assert refused is not None
    if request.cards and not request.earlier:
        refused.fix += " With the whole set, without --card, a piece is divided for its stock."
    raise refused


def _split_choices(
    request: Request, first: Finished | UserError
) -> Iterator[tuple[Request, Finished | UserError]]:
    """Give the cards as they are split for each kind of the request's sheets, the fewest first.

    Where the first kind divides nothing, the others are tried only after it.
    """
    assert request.stock is not None
    choices = [*request.stock.split_choices, *request.stock.other_split_choices()]
    begun, *others = (replace(request, stock=choice) for choice in choices)
    whole = _is_whole(first)
    if whole:
        yield begun, first
    others_tried = _in_few_parts(others, _count(first))
    tried = [one for one in others_tried if not (whole and _is_whole(one[1]))]
    yield from sorted(tried if whole else [(begun, first), *tried], key=lambda one: _count(one[1]))


def _in_few_parts(
    requests: Sequence[Request], fewest: float
) -> Iterator[tuple[Request, Finished | UserError]]:
    """Give the cards for other kinds of sheets, the widest first, until they are far more.

    fewest: how many they are for the first kind. A set in so many small parts is of no use, and
    lettering them all takes long.
    """
    for request in sorted(requests, key=_narrowest, reverse=True):
        done = _tried(request)
        fewest = min(fewest, _count(done))
        if fewest * _FAR_MORE[0] + _FAR_MORE[1] < _count(done) < math.inf:
            return
        yield request, done


def _narrowest(request: Request) -> float:
    assert request.stock is not None
    return min(request.stock.window)


def _is_whole(done: Finished | UserError) -> bool:
    return isinstance(done, Finished) and _most_parts(done) == 1


def _most_parts(done: Finished) -> int:
    return max(Counter(card.piece for card in done.cards).values(), default=1)


def _count(done: Finished | UserError) -> float:
    return math.inf if isinstance(done, UserError) else len(done.cards)


def _settled(request: Request) -> Request:
    """Return the request with its stock, and the machine as it will be used."""
    from plotout import layout

    machine, stock = request.machine, request.stock
    stock = layout.stock_on(stock, machine) if stock else layout.stock_for(machine)
    grids = plugins.driver(machine.driver).grids
    if grids is not None:
        pages = tuple(grids(machine))
        stock = replace(stock, sheets=tuple(replace(sheet, pages=pages) for sheet in stock.sheets))
    if request.found is not None:
        # the marks were measured with the machine, so its errors are already in the fit
        machine = replace(machine, calibration=Calibration())
    return replace(request, machine=machine, stock=stock)


def _laid(request: Request, done: Finished, progress: Progress) -> Laid:
    from plotout import layout

    assert request.stock is not None
    laid = layout.laid(
        done.cards,
        request.stock,
        gap=request.machine.gap,
        seconds=request.seconds,
        again=request.earlier,
        progress=lambda share: progress("laying cards", share),
    )
    part = request.works or request.found is not None or (request.cards and request.earlier)
    return replace(laid, whole=laid.whole and not part, split=done.split)


def _made(all_laid: Sequence[tuple[Request, Finished, Laid]], progress: Progress) -> Iterator[Made]:
    """Work every sheet of every lay, several at a time; give each lay's when they are done."""
    stems = [request.stem(done.pattern_set) for request, done, _ in all_laid]
    items = [
        (request, laid.stock, stem, sheet)
        for stem, (request, done, laid) in zip(stems, all_laid, strict=True)
        for sheet in _named(request, done, laid)
    ]
    progress("working sheets", 0.0, len(items))
    known = [placed.card for *_, sheet in items for placed in sheet.placed]
    worked = parallel.results(
        _sheet_made, items, weight=lambda item: _strokes_on(item[3]), known=known
    )
    count = 0
    for stem, (request, done, laid) in zip(stems, all_laid, strict=True):
        results = []
        for _ in laid.sheets:
            results.append(next(worked))
            count += 1
            progress("working sheets", count / len(items), len(items))
        shown = {placed.card.id for sheet in laid.sheets for placed in sheet.placed}
        cards = tuple(card for card in done.cards if card.id in shown)
        yield Made(
            request, done.pattern_set, cards, tuple(results), laid, stem, done.faults, done.notes
        )


def _title(pattern_set: PatternSet) -> str:
    say = pattern_set.say
    parts = [pattern_set.name, say("style {style}", style=pattern_set.style)]
    if pattern_set.sizes and pattern_set.size not in pattern_set.sizes:
        parts.append(say("sizes {sizes}", sizes=pattern_set.size))  # of a nest
    elif pattern_set.size:
        parts.append(say("size {size}", size=pattern_set.size))
    return say.listed(*parts)


def _named(request: Request, done: Finished, laid: Laid) -> list[Sheet]:
    """Return the sheets of a lay with what each says of itself."""
    title, say = _title(done.pattern_set), done.pattern_set.say
    earlier = len(request.earlier.lay.sheets) if request.earlier else 0
    of = max(earlier, len(laid.sheets))
    return [replace(sheet, name=title, say=say, of=of) for sheet in laid.sheets]


def _sheet_made(item: tuple[Request, Stock, str, Sheet]) -> SheetResult:
    from plotout import layout

    request, stock, stem, sheet = item
    kind = stock.kind_of(sheet)
    if request.machine.kind in ("printer", "file"):  # which take a roll as one page
        kind = replace(kind, window=None)
    ready = _ready(sheet, kind, request)
    known = kind if request.found is None else None
    result = make_sheet(ready, request.machine, stem, kind=known)
    if not request.for_files:
        return result
    if request.machine.kind not in ("printer", "file") and not kind.roll:
        result = replace(result, left=layout.left_over(sheet, request.machine.gap))
    return replace(with_pictures(result, travel=request.travel), work=None)


def load_for(machine: Machine) -> None:
    """Load what making a set for a machine needs, as far as that is done in a moment."""
    from plotout.route import first_time

    if first_time():
        load_stages()
    else:
        make_ready(machine.driver)


def _make_ready(drivers: Iterable[str], progress: Progress) -> None:
    from plotout.route import first_time

    if first_time():
        progress(PREPARING, 0.0)
    for driver in drivers:
        make_ready(driver)


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
