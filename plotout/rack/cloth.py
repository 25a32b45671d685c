"""How much cloth a set takes: its cut pieces laid at the cloth's width.

A pair is cut once as drawn and once mirrored; a piece on the fold is unfolded or, on folded cloth,
laid along the fold. A piece wider than the cloth is pieced: divided, with a seam allowance on both
sides of the join.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from plotout.errors import Place, UserError
from plotout.finish.derive import cut_pieces
from plotout.finish.handed import has_no_hand
from plotout.finish.prepare import bare_card, lengthwise
from plotout.finish.split import parts
from plotout.finish.unfold import unfolded
from plotout.geometry.polyline import moved, signed_area
from plotout.geometry.region import lines_in
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.layout import Stock, StockSheet, lay
from plotout.layout.stock.model import checked
from plotout.model import Card, Placed, Sheet
from plotout.pattern.model import Cut, PatternSet, Piece, Split
from plotout.pattern.settings import Defaults
from plotout.rack.repeats import Matched, ahead, lines_of, names, settled, swept
from plotout.rack.seam_stripes import Parted, parted
from plotout.tongue import Tongue

MIRRORED = ", mirrored"
_MATCHED = {"stripe": Mark.STRIPE, "plaid": Mark.PLAID}
LONGEST = 100_000.0  # mm of cloth: more is a mistake
_TURN = np.array(
    [[0.0, -1.0, 0.0], [1.0, 0.0, 0.0]]
)  # turns a card's grain from upright to lengthwise


@dataclass(frozen=True, slots=True)
class Cloth:
    """A cloth and how it is laid, mm.

    nap: every piece lies in one direction. folded: it lies folded lengthwise, selvedge to selvedge.
    lean: degrees by which a piece may lie off the grain. repeat: of stripes or plaid, lengthwise
    and crosswise; the pieces' stripe and plaid lines all lie at the same place in it.
    shrinkage: lengthwise and crosswise, per cent of the cloth before shrinking (as ISO 5077 states
    dimensional change): what shrinks by 5 is cut 1 / 0.95 as long. price: per metre.
    """

    name: str
    width: float
    gap: float = 3.0
    nap: bool = False
    folded: bool = False
    lean: float = 0.0
    repeat: tuple[float, float] = (0.0, 0.0)
    shrinkage: tuple[float, float] = (0.0, 0.0)
    price: float | None = None

    @property
    def title(self) -> str:
        """The cloth in words."""
        folded = f", folded to {self.width / 2.0:g} mm" if self.folded else ""
        return f"{self.name}, {self.width:g} mm wide{folded}"


@dataclass(frozen=True, slots=True)
class Need:
    """How much of a cloth a set takes. length: mm. bound: the length for its area alone, mm.

    used: per cent of the cloth covered by pieces. pieced: names of pieces that were divided.
    unmatched: names of pieces without a stripe or plaid line for the cloth's repeat. one_handed:
    names of pieces of which the second layer of folded cloth gives the wrong hand. parted: seams
    across which the stripes can't meet. one_way: names of pieces that must lie in one direction,
    for which all do.
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
    along_fold, free, (pieced, one_handed), lines = _cards(pattern_set, cloth, width)
    if not (along_fold or free):
        raise UserError(f"nothing of this set is cut from '{cloth.name}'",
                        fix="It is cut from: " + ", ".join(cloths(pattern_set)) + ".")  # fmt: skip
    roll = StockSheet(cloth.title, LONGEST, width, grain="length",
                      roll=True, nap=cloth.nap, lean=cloth.lean)  # fmt: skip
    stock = Stock((checked(roll),))
    kept = _row(along_fold, cloth, width, lines) if along_fold else ()
    reserved = [
        replace(card, outline=swept(card.outline, lines[card.id].needs(cloth.repeat)))
        for card in free
    ]
    sheets = lay(reserved, stock, gap=cloth.gap, seconds=seconds, progress=progress, kept=kept)
    own = {card.id: card for card in free}
    every = tuple(
        settled(one, replace(one, card=own[one.card.id]), lines[one.card.id], cloth.repeat)
        if one.card.id in own
        else one
        for one in sheets[0].placed
    )
    length = max(float(placed.outline[:, 0].max()) for placed in every)
    area = sum(signed_area(placed.card.outline) for placed in every)
    sheet = replace(sheets[0], placed=every, width=math.ceil(length), name=roll.name)
    missed = parted(pattern_set, cloth.name, cloth.repeat[0], float(_grown(cloth)[1]))
    return Need(cloth, float(math.ceil(length)), area / width,
                100.0 * area / (math.ceil(length) * width), len(every), pieced, sheet,
                names([(placed.card.piece, lines[placed.card.id]) for placed in every],
                      cloth.repeat), one_handed, missed, one_way)  # fmt: skip


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


def check(cloth: Cloth) -> None:
    """Raise UserError for an impossible cloth."""
    wrong = ""
    if not 50.0 <= cloth.width <= 10_000.0:
        wrong = f"a width of {cloth.width:g} mm is impossible for cloth"
    elif min(cloth.repeat) < 0.0 or min(cloth.shrinkage) < 0.0 or cloth.gap < 0.0:
        wrong = "repeat, shrinkage and gap can't be negative"
    elif max(cloth.shrinkage) > 30.0:
        wrong = f"a shrinkage of {max(cloth.shrinkage):g} per cent is too large"
    elif not 0.0 <= cloth.lean <= 15.0:
        wrong = f"{cloth.lean:g} degrees off the grain is too much"
    if wrong:
        raise UserError(wrong, fix="Widths and repeats take a unit: 1400 mm, 36 cm, 60 in.")


def _cards(pattern_set: PatternSet, cloth: Cloth, width: float) -> tuple[
        list[Card], list[Card], tuple[tuple[str, ...], tuple[str, ...]],
        dict[str, Matched]]:  # fmt: skip
    """Return the cards along the fold, the others, the names of pieced pieces and of those of which
    folded cloth gives every second one mirrored, and by card where its stripe and plaid lines lie.
    """
    along_fold: list[Card] = []
    free: list[Card] = []
    pieced: list[str] = []
    one_handed: list[str] = []
    lines: dict[str, Matched] = {}
    for piece in cut_pieces(pattern_set):
        for cut in piece.cuts:
            if cut.cloth != cloth.name:
                continue
            on_fold = piece.fold is not None and (cut.on_fold or piece.whole)
            half = on_fold and cloth.folded and _level_fold(piece)
            laid = lengthwise(piece if half or not on_fold else unfolded(piece))
            outlines = _outlines(laid, pattern_set.defaults, width, cloth)
            if len(outlines) > 1:
                pieced.append(piece.name)
            inner = tuple(_within(laid, outlines, cloth))
            layers = 2 if cloth.folded and not half else 1
            if layers == 2 and _one_handed(laid, cut):
                layers = 1
                one_handed += [piece.name] if cut.pieces > 1 else []
            cards = list(_copies(piece, cut, outlines, inner, cloth, pattern_set.say, layers))
            here = lines_of(laid).scaled(_grown(cloth))
            for card in cards:
                turned = card.id.endswith(MIRRORED)
                lines[card.id] = here.scaled(np.array([-1.0, 1.0])) if turned else here
            (along_fold if half else free).extend(cards)
    notes = tuple(dict.fromkeys(pieced)), tuple(dict.fromkeys(one_handed))
    return along_fold, free, notes, lines


def _one_handed(piece: Piece, cut: Cut) -> bool:
    """Return whether all are cut the same way round, so that a second layer's are of no use."""
    return not cut.pair and not has_no_hand(piece)


def _level_fold(piece: Piece) -> bool:
    """Return whether the fold runs along the grain, so that it can lie on the cloth's fold."""
    if piece.fold is None or piece.grain is None:
        return piece.fold is not None
    fold = piece.edge(piece.fold).points
    a, b = fold[-1] - fold[0], piece.grain[1] - piece.grain[0]
    return bool(abs(a @ b) > 0.99 * np.hypot(*a) * np.hypot(*b))


def _outlines(piece: Piece, defaults: Defaults, width: float, cloth: Cloth) -> list[FloatArray]:
    """Return the piece's cutting line, enlarged for shrinkage; several lines if it is pieced."""
    made = bare_card(piece, defaults)
    grown = _grown(cloth)
    wide, tall = np.ptp(made.outline, axis=0)
    room = (
        width / grown[0],
        tall + 1.0,
    )  # no higher than the piece, so that it is not turned to fit
    if wide <= room[0]:
        return [made.outline * grown]
    lap = Split(underlap=2.0 * defaults.allowance)
    try:
        return [part.outline * grown for part in parts(made, (lap,), room, lap.underlap)]
    except UserError as fault:
        raise UserError(
            f"it is wider than the cloth and can't be pieced: {fault.problem}",
            fix="Use wider cloth.",
            place=Place(piece=piece.name),
        ) from fault


def _grown(cloth: Cloth) -> FloatArray:
    """Return the factors by which a piece is cut larger to allow for shrinkage, (2,)."""
    return np.asarray(1.0 / (1.0 - np.array(cloth.shrinkage[::-1]) / 100.0))


def _within(piece: Piece, outlines: Sequence[FloatArray], cloth: Cloth) -> Iterator[Stroke]:
    """Give the lines to see in a lay's picture: the lengthwise grain, stripes and plaids.

    A piece that is pieced shows none.
    """
    if len(outlines) > 1:
        return
    shape = shapely.Polygon(outlines[0])
    if piece.grain is not None:  # only a part of it, so that a name has room
        tail, head = piece.grain * _grown(cloth)
        share = min(1.0, 0.3 * float(np.ptp(outlines[0][:, 1])) / float(np.hypot(*(head - tail))))
        ends = np.array([tail, tail + share * (head - tail)])
        yield from _clipped(ends, shape, Mark.GRAIN)
    for line in piece.lines:
        if line.kind in _MATCHED:
            yield from _clipped(line.points * _grown(cloth), shape, _MATCHED[line.kind])


def _clipped(points: FloatArray, shape: BaseGeometry, mark: Mark) -> Iterator[Stroke]:
    for part in lines_in(shape.intersection(shapely.LineString(points))):
        yield Stroke(np.asarray(part.coords), Work.DRAW, mark)


def _copies(piece: Piece, cut: Cut, outlines: Sequence[FloatArray], inner: Sequence[Stroke],
            cloth: Cloth, say: Tongue, layers: int) -> Iterator[Card]:  # fmt: skip
    """Give as many cards as are cut, alternately mirrored for pairs; half as many in two layers."""
    many = -(-cut.pieces // layers)
    for index in range(many):
        mirrored = (cut.pair and index % 2 == 1 and not cloth.folded) != cut.reversed
        for part, outline in enumerate(outlines):
            name = f"{piece.name} {index + 1}" + (f" part {part + 1}" if len(outlines) > 1 else "")
            name += MIRRORED if mirrored else ""
            title = piece.name
            if len(outlines) > 1:
                title = say(
                    "{piece}, part {part} of {of}", piece=title, part=part + 1, of=len(outlines)
                )
            title = say.listed(title, say("mirrored") if mirrored else "")
            strokes = (Stroke(outline, Work.CUT, Mark.OUTLINE), *inner)
            strokes = tuple(stroke.of_card(name) for stroke in strokes)
            card = Card(name, piece.name, title, index + 1, many, outline, strokes, say=say)
            yield _mirrored(card) if mirrored else card


def _mirrored(card: Card) -> Card:
    strokes = tuple(
        replace(stroke, points=(stroke.points * [-1.0, 1.0])[::-1]) for stroke in card.strokes
    )
    return replace(card, outline=strokes[0].points, strokes=strokes)


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
            card, angle = _mirrored(card), 90.0
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
