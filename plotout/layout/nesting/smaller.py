"""Replaces sheets by smaller ones that hold the same cards."""

from __future__ import annotations

from collections.abc import Sequence

from plotout.layout.nesting.filling import Filling, Ground, Rule, Turned


def on_smaller(
    sheets: Sequence[Filling], grounds: Sequence[Ground], turned: Sequence[Turned]
) -> list[Filling]:
    """Return the lay with every sheet replaced by the smallest kind that holds its cards.

    An off-cut is not replaced by a whole sheet.
    turned: every card that was laid. A sheet with other cards, which stay, is not replaced.
    """
    by_id = {shapes[0].card.id: shapes for shapes in turned}
    used = [sheet.ground for sheet in sheets]
    changed = []
    for sheet in sheets:
        cards = [by_id.get(placed.card.id) for placed in sheet.placed]
        order = sorted((card for card in cards if card), key=lambda card: -card[0].area)
        better = None
        if len(order) == len(cards) and not sheet.ground.sheet.roll:
            better = _smallest(sheet, order, grounds, used)
        if better is not None:
            used.remove(sheet.ground)
            used.append(better.ground)
        changed.append(better or sheet)
    return changed


def _smallest(
    sheet: Filling, order: Sequence[Turned], grounds: Sequence[Ground], used: Sequence[Ground]
) -> Filling | None:
    for ground in sorted(grounds, key=lambda one: one.free.area):
        kind = ground.sheet
        if ground.free.area >= sheet.ground.free.area:
            return None
        if kind.count is not None and sum(one is ground for one in used) >= kind.count:
            continue
        if kind.roll or (sheet.ground.sheet.off_cut and not kind.off_cut):
            continue
        if sum(card[0].area for card in order) > ground.free.area:
            continue
        for rule in Rule:
            tried = Filling(ground)
            if all(tried.lay(card, rule) for card in order):
                return tried
    return None
