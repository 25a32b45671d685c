"""Lays cards by an earlier lay: cards stay in their places, and new ones are laid in between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray
from plotout.layout.nesting.check import faults
from plotout.layout.nesting.laid import Laid
from plotout.layout.nesting.lay import Progress, lay
from plotout.layout.nesting.lay_file import KeptLay, KeptSheet
from plotout.layout.stock.model import Stock
from plotout.model import Card, Sheet


@dataclass(frozen=True, slots=True, eq=False)
class EarlierLay:
    """A lay to reuse. sheet: the number of the only one to make; None: all.

    matrix: (2, 3), where that sheet was found on the machine: from its mm to the bed's mm.
    """

    lay: KeptLay
    sheet: int | None = None
    matrix: FloatArray | None = None


def laid(
    cards: Sequence[Card],
    stock: Stock,
    *,
    gap: float,
    seconds: float,
    again: EarlierLay | None = None,
    progress: Progress | None = None,
) -> Laid:
    """Lay cards anew or by an earlier lay; see `lay` and `lay_again`."""
    if again is None:
        sheets = lay(cards, stock, gap=gap, seconds=seconds, progress=progress)
        return Laid(sheets, stock, gap)
    sheets, stock = lay_again(
        again.lay, cards, stock, only=again.sheet, seconds=seconds, progress=progress
    )
    return Laid(sheets, stock, again.lay.gap, whole=again.sheet is None)


def lay_again(
    earlier: KeptLay,
    cards: Sequence[Card],
    stock: Stock,
    *,
    only: int | None = None,
    seconds: float = 10.0,
    progress: Progress | None = None,
) -> tuple[tuple[Sheet, ...], Stock]:
    """Lay cards where they lay before, and new ones in between or on sheets of `stock`.

    A card whose size has changed is new. Cards of the earlier lay that are not among `cards` are
    left out, and so are empty sheets. only: number of the one sheet to return; then nothing is laid
    anew, and none of its cards may have changed.
    Returns the sheets and their stock. Raises UserError where that is impossible.
    """
    chosen = earlier.sheets if only is None else (earlier.numbered(only),)
    places = {spot.card: spot for kept in chosen for spot in kept.spots}
    known = {card.id: card for card in cards if card.id in places}
    same = {name: card for name, card in known.items() if places[name].holds(card)}
    if only is not None and len(same) < len(known):
        changed = next(card for name, card in known.items() if name not in same)
        raise UserError(
            f"card '{changed.title}' no longer has the size that it has on sheet {only}",
            fix="Make the set by its lay without naming a sheet, to lay the card anew.",
        )
    pairs = [(kept, kept.sheet(same)) for kept in chosen]
    begun = [(pair, sheet) for pair, sheet in pairs if sheet.placed]
    for kept, sheet in begun:
        _check(kept, sheet, earlier.gap, stock.inside)
    sheets = tuple(sheet for _, sheet in begun)
    both = _with(stock, [one for one, _ in begun], marked=any(sheet.marks for sheet in sheets))
    new = [card for card in cards if card.id not in same]
    if only is None and new:
        laid = lay(new, both, gap=earlier.gap, seconds=seconds, progress=progress, kept=sheets)
        return laid, both
    if not sheets:
        raise UserError("none of the cards is in the earlier lay", fix="Lay them without it.")
    return sheets, both


def _check(kept_sheet: KeptSheet, sheet: Sheet, gap: float, inside: bool) -> None:
    for fault in faults(sheet.placed, kept_sheet.kind.free, gap, inside=inside):
        raise UserError(
            f"sheet {sheet.number} can't be laid as before: {fault}",
            fix="Lay the cards anew: their outlines have changed.",
        )


def _with(stock: Stock, begun: Sequence[KeptSheet], *, marked: bool) -> Stock:
    """Return the stock with the kinds of the sheets already begun, and no more of those."""
    missing: list[KeptSheet] = []
    for kept in begun:
        if not any(_alike(kept, kind.name, kind.width) for kind in stock.sheets) and not any(
            _alike(kept, other.kind.name, other.kind.width) for other in missing
        ):
            missing.append(kept)
    added = tuple(
        replace(
            one.kind,
            count=sum(_alike(other, one.kind.name, one.kind.width) for other in begun),
        )
        for one in missing
    )
    return replace(stock, sheets=stock.sheets + added, registration=stock.registration or marked)


def _alike(kept_sheet: KeptSheet, name: str, width: float) -> bool:
    return (kept_sheet.kind.name, kept_sheet.kind.width) == (name, width)
