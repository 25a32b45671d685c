"""The set of a request, read and finished: its cards, and what walking its seams found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from plotout.errors import UserError, all_of, collecting_errors, each_of, in_context, nearest
from plotout.model import Card
from plotout.opening import open_set
from plotout.pattern.model import PatternSet
from plotout.request import Finished, Request, size_slug

if TYPE_CHECKING:
    from plotout.layout import KeptLay, Stock
    from plotout.pattern.assemble import ReadSet
    from plotout.review.whole_set import Review


def finished(request: Request) -> Finished:
    """Return the set and the cards to make, split as before.

    A card made alone is split as the set was before, else to fit the machine's whole bed: it may be
    cut from an off-cut that holds nothing else.
    """
    from plotout import layout
    from plotout.finish import finish
    from plotout.review.common_warnings import card_warnings
    from plotout.review.whole_set import review

    source, machine, only = request.source, request.machine, request.cards
    if isinstance(source, Finished):
        return source
    sets = _sets(source, request.sizes)
    pattern_set = replace(sets[0], size=", ".join(in_size.size for in_size in sets))
    reviews = [review(in_size) for in_size in sets]
    faults = _faults(sets, reviews)
    kept = request.earlier.lay if request.earlier else None
    if kept:
        kept.must_be_of(pattern_set.style, pattern_set.size)
    elif only:
        kept = _kept_before(request, pattern_set)
    stock = request.stock if request.stock and not only else layout.stock_for(machine)
    size: Stock | KeptLay = kept or stock
    cards: tuple[Card, ...] = ()
    with _with_notes(lambda: _notes_of_cards(sets, reviews)):
        for in_size, found in zip(sets, reviews, strict=True):
            with in_context(f"in size {in_size.size}" if in_size.sizes else ""), _beside(found):
                made = finish(in_size, window=size.window, upright=size.upright)
            if len(sets) > 1:
                made = tuple(_of_size(card, size_slug(in_size)) for card in made)
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
    faults += tuple(f"{card.title}: {fault}" for card in chosen for fault in card.faults)
    notes = _of_sizes(sets, [found.notes for found in reviews])
    if request.strict:
        with _with_notes(lambda: [*notes, *card_warnings(chosen)]):
            _refuse(faults)
    split = layout.SplitBy(size.window, size.upright)
    return Finished(pattern_set, chosen, split, faults, notes)


@contextmanager
def _with_notes(notes: Callable[[], Iterable[str]]) -> Iterator[None]:
    """Have a refusal report these notes beside what is wrong, as 'plotout check' does."""
    try:
        yield
    except UserError as fault:
        fault.notes = tuple(notes())
        raise


def _notes_of_cards(sets: Sequence[PatternSet], reviews: Sequence[Review]) -> tuple[str, ...]:
    """Return the notes of every size, with those of all cards that can be made."""
    from plotout.review.whole_set import with_cards

    pairs = zip(reviews, sets, strict=True)
    return _of_sizes(sets, [with_cards(found, in_size).notes for found, in_size in pairs])


@contextmanager
def _beside(found: Review) -> Iterator[None]:
    """Refuse what can't be made or walked, with the other faults of the set, all at once."""
    errors: list[UserError] = []
    try:
        yield
    except UserError as fault:
        errors += each_of(fault)
    reported = [(error.problem, error.place) for error in errors]
    errors += [one for one in found.refused if (one.problem, one.place) not in reported]
    if errors:
        others = [UserError(text, fix="Correct it, too.") for text in found.mismatches]
        raise all_of([*errors, *others])


@dataclass(frozen=True, slots=True)
class Told:
    """What a review of a set in some sizes found, in words."""

    faults: tuple[str, ...]
    notes: tuple[str, ...]

    def as_lines(self) -> list[str]:
        """Return lines for a terminal."""
        return [f"Note: {text}" for text in self.notes] + [f"Fault: {text}" for text in self.faults]

    def as_data(self) -> dict[str, list[str]]:
        """Return it for JSON."""
        return {"faults": list(self.faults), "notes": list(self.notes)}


def reviewed(
    sets: Sequence[PatternSet], progress: Callable[[str, float, int], None] = lambda *_: None
) -> Told:
    """Return what is wrong with a set in these sizes, for commands that make no cards.

    Raises UserError, with all else that is wrong, for what can't be made or walked.
    """
    from plotout.review.whole_set import review, with_bare_cards

    reviews = []
    for in_size in sets:
        reviews.append(with_bare_cards(review(in_size), in_size))
        progress("checking", len(reviews) / len(sets), len(sets))
    notes = _of_sizes(sets, [found.notes for found in reviews])
    with _with_notes(lambda: notes), collecting_errors() as trying:
        for in_size, found in zip(sets, reviews, strict=True):
            with (
                trying(),
                in_context(f"in size {in_size.size}" if in_size.sizes else ""),
                _beside(found),
            ):
                pass
    return Told(_faults(sets, reviews), notes)


def _of_size(card: Card, size: str) -> Card:
    """Return the card named with its size, beside others: in notes, on pictures, on its strokes.

    size: as in names of files. Work is kept apart by the names that strokes have.
    """
    name = f"{size}-{card.id}"
    return replace(
        card,
        id=name,
        title=card.say.listed(card.title, card.say("size {size}", size=card.size)),
        strokes=tuple(stroke.of_card(name) for stroke in card.strokes),
    )


def _refuse(faults: Sequence[str]) -> None:
    if faults:
        fix = "Correct it, or leave out --strict."
        raise all_of([UserError(fault, fix=fix) for fault in faults])


def _in_sizes(sizes: Sequence[str], text: str) -> str:
    """Return a finding on a piece or seam with its sizes, in the words of 'plotout check'."""
    subject, colon, words = text.partition(": ")
    where = f"in size {', '.join(sizes)}"
    return f"{subject} {where}: {words}" if colon else f"{where}: {text}"


def _faults(sets: Sequence[PatternSet], reviews: Sequence[Review]) -> tuple[str, ...]:
    """Return the faults of every size, and of seams that can't match in all of them."""
    from plotout.pattern.drift import drifting

    seams = {in_size.size: one.seams for in_size, one in zip(sets, reviews, strict=True)}
    drifts = tuple(f"seam '{name}': {words}" for name, words in drifting(seams).items())
    return _of_sizes(sets, [found.faults for found in reviews]) + drifts


def _of_sizes(sets: Sequence[PatternSet], notes: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Return the findings of every size; what all of them share, once."""
    if len(sets) == 1:
        return tuple(notes[0])
    sizes: dict[str, list[str]] = {}
    for in_size, texts in zip(sets, notes, strict=True):
        for text in texts:
            sizes.setdefault(text, []).append(in_size.size)
    return tuple(
        text if len(found) == len(sets) else _in_sizes(found, text) for text, found in sizes.items()
    )


def _sets(source: Path | ReadSet | PatternSet, sizes: Sequence[str]) -> tuple[PatternSet, ...]:
    """Return the set in every size that is made together."""
    if isinstance(source, PatternSet):
        return (source,)
    read = open_set(source) if isinstance(source, Path) else source
    return tuple(read.in_sizes(read.named(sizes)).values())


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
    path = (request.folder or Path()) / f"{whole.stem(pattern_set)}-lay.json"
    if request.folder is None or not path.exists():
        return None
    lay = layout.load_lay(path)
    same = (lay.style, lay.size) == (pattern_set.style, pattern_set.size)
    return lay if same else None
