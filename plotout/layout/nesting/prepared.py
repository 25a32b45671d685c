"""Cards and stock prepared for laying."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from plotout.errors import UserError
from plotout.layout.nesting.filling import Filling, Ground, Rule, Turned
from plotout.layout.nesting.limit import Limit
from plotout.layout.nesting.pack import pack
from plotout.layout.nesting.shape import shape
from plotout.layout.registration.corner_marks import mark_rooms
from plotout.layout.stock.model import MARK_ROOM, Stock, StockSheet
from plotout.model import Card, Placed, Sheet


@dataclass(frozen=True, eq=False)
class Task:
    """Cards prepared for laying. kept: sheets with cards that stay in place."""

    turned: tuple[Turned, ...]
    grounds: tuple[Ground, ...]
    stock: Stock
    gap: float
    kept: tuple[tuple[Ground, tuple[Placed, ...]], ...] = ()

    def pack(
        self,
        order: Sequence[Turned],
        rule: Rule,
        limit: Limit,
        *,
        whole: bool = False,
        off_cuts: int = 0,
    ) -> tuple[list[Filling], list[Turned]]:
        """Lay the cards in this order; see `pack.pack`. off_cuts: kinds begun before all others."""
        begun = [
            Filling.begun(ground, placed, inside=self.stock.inside) for ground, placed in self.kept
        ]
        first = [ground for ground in self.grounds if ground.sheet.off_cut][:off_cuts]
        grounds = (*first, *(ground for ground in self.grounds if ground not in first))
        return pack(order, grounds, begun, rule, limit, whole=whole)

    @property
    def off_cuts(self) -> int:
        """How many kinds of off-cut there are beside others, which they may save."""
        count = sum(ground.sheet.off_cut for ground in self.grounds)
        return count if count < len(self.grounds) else 0


def prepared(
    cards: Sequence[Card], stock: Stock, gap: float, kept: Sequence[Sheet] = ()
) -> Task:  # fmt: skip
    """Prepare cards for laying on the stock, beside those of the sheets that are kept.

    Raises UserError for a card that is too large.
    """
    turned = tuple(_turned(card, stock) for card in cards)
    for shapes in turned:
        _must_fit(shapes, stock)
    begun = [stock.kind_of(sheet) for sheet in kept]
    grounds = _grounds(turned, stock, gap, max((sheet.width for sheet in kept), default=0.0))
    by_kind = {id(ground.sheet): ground for ground in grounds}
    return Task(
        turned,
        tuple(_fewer(ground, begun) for ground in grounds),
        stock,
        gap,
        tuple((by_kind[id(kind)], sheet.placed) for kind, sheet in zip(begun, kept, strict=True)),
    )


def _turned(card: Card, stock: Stock) -> Turned:
    angles = sorted({angle for sheet in stock.sheets for angle in sheet.angles})
    return tuple(shape(card, angle, inside=stock.inside) for angle in angles)


def _grounds(turned: Sequence[Turned], stock: Stock, gap: float, used: float = 0.0) -> list[Ground]:
    """Return the kinds of sheet prepared, largest first. used: mm of a roll already used."""
    need = sum(shapes[0].area for shapes in turned)
    longest = max((max(shapes[0].size) for shapes in turned), default=0.0)
    grounds = []
    for sheet in sorted(stock.sheets, key=lambda one: -one.free.area):
        held = mark_rooms(sheet) if stock.registration else ()
        reach = math.inf
        if sheet.roll:
            reach = used + 1.8 * need / sheet.room[1] + 1.5 * longest + 2.0 * MARK_ROOM
        grounds.append(Ground(sheet, gap, held, reach))
    return grounds


def _fewer(ground: Ground, begun: Sequence[StockSheet]) -> Ground:
    """Return the ground with the sheets already begun subtracted from its count."""
    kind = ground.sheet
    used = sum(one is kind for one in begun)
    if kind.count is None or not used:
        return ground
    return replace(ground, sheet=replace(kind, count=max(0, kind.count - used)))


def _must_fit(turned: Turned, stock: Stock) -> None:
    """Raise UserError, with the shortfall, when no sheet is large enough for the card."""
    least = None
    for sheet in stock.sheets:
        for shapes in turned:
            if shapes.angle not in sheet.angles:
                continue
            over = (shapes.size[0] - sheet.room[0], shapes.size[1] - sheet.room[1])
            if max(over) <= 1e-6:
                return
            if least is None or max(over) < max(least[0]):
                least = (over, shapes.size, sheet)
    assert least is not None
    over, size, sheet = least
    excesses = [
        f"{o:.1f} mm in {w}" for o, w in zip(over, ("length", "width"), strict=True) if o > 0.0
    ]
    raise UserError(
        f"card '{turned[0].card.title}', {size[0]:.1f} x {size[1]:.1f} mm, is too large for "
        f"{sheet.name} ({sheet.room[0]:.1f} x {sheet.room[1]:.1f} mm within its margins) "
        f"by {' and '.join(excesses)}",
        fix="Split the piece in the set file, or use larger stock.",
    )


def what_would_hold(over: Sequence[Turned], task: Task) -> str:
    """Return what would make room for the cards left over: sheets that can hold them."""
    holding: list[StockSheet] = []
    for shapes in over:
        found = [ground.sheet for ground in task.grounds if Filling(ground).lay(shapes)]
        if not found:
            title, (wide, tall) = shapes[0].card.title, shapes[0].size
            return (
                f"Use other stock: even an empty sheet of this one does not hold '{title}', "
                f"{wide:.0f} x {tall:.0f} mm."
            )
        holding += found
    kinds = " or ".join(
        dict.fromkeys(
            f"'{kind.name}' ({kind.length:.0f} x {kind.width:.0f} mm)" for kind in holding
        )
    )
    return f"Add sheets that can hold them: {kinds}."
