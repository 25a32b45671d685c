"""How much cloth a set takes: its cut pieces laid at the cloth's width."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from plotout.errors import UserError
from plotout.finish.derive import cut_pieces
from plotout.geometry.polyline import moved, signed_area
from plotout.geometry.strokes import FloatArray
from plotout.layout import Stock, StockSheet, lay
from plotout.layout.stock.model import checked
from plotout.model import Card, Placed, Sheet
from plotout.pattern.model import PatternSet
from plotout.rack.cloth_pieces import Cloth, check, laid_pieces, mirrored
from plotout.rack.repeats import Matched, ahead, closed_up, names, settled, swept
from plotout.rack.seam_stripes import Parted, parted

LONGEST = 100_000.0  # mm of cloth: more is a mistake
_TURN = np.array(
    [[0.0, -1.0, 0.0], [1.0, 0.0, 0.0]]
)  # turns a card's grain from upright to lengthwise


@dataclass(frozen=True, slots=True)
class Need:
    """How much of a cloth a set takes. length: mm. bound: the length for its area alone, mm.

    used: per cent of the cloth covered by pieces. pieced: names of pieces that were divided.
    unmatched: names of pieces without a stripe or plaid line for the cloth's repeat. one_handed:
    names of pieces of which the second layer of folded cloth gives the wrong hand. parted: seams
    across which the stripes can't meet. one_way: names of pieces that must lie in one direction,
    for which all do. opened: names of pieces on a fold that can't lie on that of the cloth. uneven:
    by name, mm by which the stripes of pieces on a fold miss those of the others, or of their other
    half.
    """

    cloth: Cloth
    length: float
    bound: float
    used: float
    pieces: int
    pieced: tuple[str, ...]
    sheet: Sheet
    unmatched: tuple[str, ...] = ()
    one_handed: tuple[str, ...] = ()
    parted: tuple[Parted, ...] = ()
    one_way: tuple[str, ...] = ()
    opened: tuple[str, ...] = ()
    uneven: Mapping[str, float] = field(default_factory=dict)

    @property
    def cost(self) -> float | None:
        """The price of the length, if the price per metre is known."""
        return None if self.cloth.price is None else self.length / 1000.0 * self.cloth.price


def cloths(pattern_set: PatternSet) -> tuple[str, ...]:
    """Return the cloths that the set is cut from, in its order."""
    names = [cut.cloth for piece in cut_pieces(pattern_set) for cut in piece.cuts]
    return tuple(dict.fromkeys(names))


def need(pattern_set: PatternSet, cloth: Cloth, *, seconds: float = 10.0,
         progress: Callable[[float], None] | None = None) -> Need:  # fmt: skip
    """Lay the set's pieces of this cloth and return what they take. Raises UserError."""
    check(cloth)
    one_way = _one_way(pattern_set, cloth)
    cloth = replace(cloth, nap=cloth.nap or bool(one_way))
    width = cloth.width / 2.0 if cloth.folded else cloth.width
    found = laid_pieces(pattern_set, cloth, width)
    lines, layers = found.lines, found.layers
    if not (found.along_fold or found.free):
        raise UserError(f"nothing of this set is cut from '{cloth.name}'",
                        fix="It is cut from: " + ", ".join(cloths(pattern_set)) + ".")  # fmt: skip
    roll = StockSheet(cloth.title, LONGEST, width, grain="length",
                      roll=True, nap=cloth.nap, lean=cloth.lean)  # fmt: skip
    stock = Stock((checked(roll),))
    kept = _row(found.along_fold, cloth, width, lines) if found.along_fold else ()
    reserved = [
        replace(card, outline=swept(card.outline, lines[card.id].needs(cloth.repeat)))
        for card in found.free
    ]
    sheets = lay(reserved, stock, gap=cloth.gap, seconds=seconds, progress=progress, kept=kept)
    own = {card.id: card for card in found.free}
    every = tuple(
        settled(one, replace(one, card=own[one.card.id]), lines[one.card.id], cloth.repeat)
        if one.card.id in own
        else one
        for one in sheets[0].placed
    )
    if cloth.repeat[0]:
        every = closed_up(every, cloth.repeat[0], cloth.gap)
    length = max(float(placed.outline[:, 0].max()) for placed in every)
    areas = [signed_area(placed.card.outline) * layers[placed.card.id].areas for placed in every]
    area = sum(areas)
    sheet = replace(sheets[0], placed=every, width=math.ceil(length), name=roll.name)
    missed = parted(pattern_set, cloth.name, cloth.repeat[0], float(cloth.grown[1]))
    pieces = sum(layers[placed.card.id].pieces for placed in every)
    return Need(
        cloth,
        float(math.ceil(length)),
        area / cloth.width,
        100.0 * area / (math.ceil(length) * cloth.width),
        pieces,
        tuple(found.pieced),
        sheet,
        names([(placed.card.piece, lines[placed.card.id]) for placed in every], cloth.repeat),
        tuple(found.one_handed),
        missed,
        one_way,
        tuple(found.opened),
        found.uneven,
    )


def _one_way(pattern_set: PatternSet, cloth: Cloth) -> tuple[str, ...]:
    """Return the names of the pieces that must lie in one direction of this cloth.

    All are laid as they are, since a print or a nap is in the cloth: the others of a garment would
    show it too.
    """
    if cloth.nap:
        return ()
    found = (
        piece.name
        for piece in cut_pieces(pattern_set)
        if piece.one_way and any(cut.cloth == cloth.name for cut in piece.cuts)
    )
    return tuple(dict.fromkeys(found))


def _row(cards: Sequence[Card], cloth: Cloth, width: float,
         lines: Mapping[str, Matched]) -> tuple[Sheet, ...]:  # fmt: skip
    """Lay halves end to end with their folds on the fold of the cloth, y = 0."""
    placed: list[Placed] = []
    x = 0.0
    for one in cards:
        card = one
        # the fold is the longest straight side, and must come to lie at y = 0
        angle = 90.0 if _straight_at(moved(card.outline, _TURN), low=True) else 270.0
        if cloth.nap and angle != 90.0:  # the other layer's half lies up: all have one direction
            card, angle = mirrored(card), 90.0
        low = Placed(card, angle, (0.0, 0.0)).outline.min(axis=0)
        here = Placed(card, angle, (float(x - low[0]), float(-low[1])))
        along = lines[card.id].along
        if along is not None and cloth.repeat[0]:
            line = float((here.matrix @ np.array([0.0, along, 1.0]))[0])
            shift = here.shift[0] + ahead(line, cloth.repeat[0])
            here = replace(here, shift=(shift, here.shift[1]))
        placed.append(here)
        x = float(here.outline[:, 0].max()) + cloth.gap
    return (Sheet(cloth.title, 1, x, width, tuple(placed), stock=cloth.title),)


def _straight_at(outline: FloatArray, *, low: bool) -> bool:
    y = outline[:, 1]
    edge = y.min() if low else y.max()
    on = np.abs(y - edge) < 0.5
    return bool(np.ptp(outline[on, 0]) >= 0.9 * np.ptp(outline[:, 0])) if on.any() else False
