"""What is cut from a cloth, as shapes to lay.

A pair is cut once as drawn and once mirrored; a piece on the fold is unfolded or, on folded cloth,
laid along the fold. A piece wider than the cloth is pieced: divided, with a seam allowance on both
sides of the join.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from plotout.errors import Place, UserError
from plotout.finish.derive import cut_pieces
from plotout.finish.handed import has_no_hand
from plotout.finish.prepare import bare_card, lengthwise
from plotout.finish.split import parts
from plotout.finish.unfold import unfolded
from plotout.geometry.region import lines_in
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.model import Card
from plotout.pattern.model import Cut, PatternSet, Piece, Split
from plotout.pattern.settings import Defaults
from plotout.rack.repeats import Matched, lines_of, off_at_fold
from plotout.review.fold_doubts import SLANT
from plotout.tongue import Tongue

MIRRORED = ", mirrored"
_MATCHED = {"stripe": Mark.STRIPE, "plaid": Mark.PLAID}


@dataclass(frozen=True, slots=True)
class Cloth:
    """A cloth and how it is laid, mm.

    gap: between pieces; at 0 two may share a cut. nap: every piece lies in one direction. folded:
    it lies folded lengthwise, selvedge to selvedge. lean: degrees by which a piece may lie off the
    grain. repeat: of stripes or plaid, lengthwise and crosswise; the pieces' stripe and plaid lines
    all lie at the same place in it.
    shrinkage: lengthwise and crosswise, per cent of the cloth before shrinking (as ISO 5077 states
    dimensional change): what shrinks by 5 is cut 1 / 0.95 as long. price: per metre.
    """

    name: str
    width: float
    gap: float = 0.0
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

    @property
    def grown(self) -> FloatArray:
        """The factors by which a piece is cut larger to allow for shrinkage, (2,)."""
        return np.asarray(1.0 / (1.0 - np.array(self.shrinkage[::-1]) / 100.0))


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
        raise UserError(wrong, fix="Widths, repeats and gaps take a unit: 1400 mm, 36 cm, 60 in.")


@dataclass(frozen=True, slots=True)
class Layers:
    """What a laid shape gives: how many pieces, and how many times its area they cover."""

    pieces: int = 1
    areas: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """The pieces of a cloth, as cards to lay.

    along_fold: halves on the fold of the cloth; free: the others. pieced: names of pieces that were
    divided. one_handed: names of those of which folded cloth gives every second one mirrored.
    opened: names of pieces on a fold that is not along the cloth's, which are laid unfolded.
    uneven: by name, mm by which the stripes of pieces on the fold miss (`off_at_fold`).
    lines, layers: by card, where its stripe and plaid lines lie, and what the layers of the cloth
    give of it.
    """

    along_fold: list[Card] = field(default_factory=list)
    free: list[Card] = field(default_factory=list)
    pieced: list[str] = field(default_factory=list)
    one_handed: list[str] = field(default_factory=list)
    opened: list[str] = field(default_factory=list)
    uneven: dict[str, float] = field(default_factory=dict)
    lines: dict[str, Matched] = field(default_factory=dict)
    layers: dict[str, Layers] = field(default_factory=dict)


def laid_pieces(pattern_set: PatternSet, cloth: Cloth, width: float) -> Laid:
    """Return what is cut from a cloth. width: of the cloth as it lies, mm. Raises UserError."""
    found = Laid()
    for piece in cut_pieces(pattern_set):
        cuts = [cut for cut in piece.cuts if cut.cloth == cloth.name]
        for cut in _as_pairs(cuts) if cloth.folded else cuts:
            _add(found, piece, cut, cloth, width, pattern_set)
    return found


def _as_pairs(cuts: Sequence[Cut]) -> Iterator[Cut]:
    """Yield orders of one cloth; as many as drawn and reversed are one order, of pairs.

    Two layers of folded cloth give both at once.
    """
    left = list(cuts)
    while left:
        cut = left.pop(0)
        mate = replace(cut, reversed=not cut.reversed)
        if cut.pair or cut.on_fold or mate not in left:
            yield cut
        else:
            left.remove(mate)
            yield replace(cut, pair=True, reversed=False)


def _add(found: Laid, piece: Piece, cut: Cut, cloth: Cloth, width: float,
         pattern_set: PatternSet) -> None:  # fmt: skip
    """Add the cards of one order of a piece."""
    on_fold = piece.fold is not None and (cut.on_fold or piece.whole)
    half = on_fold and cloth.folded and _level_fold(piece)
    if on_fold and cloth.folded and not half and piece.name not in found.opened:
        found.opened.append(piece.name)
    if on_fold and piece.fold is not None and not piece.bias:
        upright = lengthwise(piece)
        fold = upright.edge(piece.fold).points
        off = off_at_fold(upright, fold, cloth.repeat, cloth.grown, half=half)
        if off > pattern_set.defaults.tolerance:
            found.uneven[piece.name] = off
    turned = lengthwise(piece if half or not on_fold else unfolded(piece))
    opened = 0.0 if half else cloth.width
    outlines = _outlines(turned, pattern_set.defaults, width, cloth, opened)
    if len(outlines) > 1 and piece.name not in found.pieced:
        found.pieced.append(piece.name)
    inner = tuple(_within(turned, outlines, cloth))
    layers = 2 if cloth.folded and not half else 1
    if layers == 2 and _one_handed(turned, cut):
        layers = 1
        if cut.pieces > 1 and piece.name not in found.one_handed:
            found.one_handed.append(piece.name)
    cards = list(_copies(piece, cut, outlines, inner, cloth, pattern_set.say, layers))
    found.layers.update(_given(cards, cut, half=half, layers=layers))
    here = lines_of(turned).scaled(cloth.grown)
    for card in cards:
        over = card.id.endswith(MIRRORED)
        found.lines[card.id] = here.scaled(np.array([-1.0, 1.0])) if over else here
    (found.along_fold if half else found.free).extend(cards)


def _given(cards: Sequence[Card], cut: Cut, *, half: bool, layers: int) -> dict[str, Layers]:
    """Return by card what it gives: of an odd number in two layers, the last lies in one."""
    if half:
        return {card.id: Layers(1, 2) for card in cards}
    odd = layers == 2 and cut.pieces % 2 == 1
    last = max((card.number for card in cards), default=0)
    return {
        card.id: Layers() if layers == 1 or (odd and card.number == last) else Layers(2, 2)
        for card in cards
    }


def _one_handed(piece: Piece, cut: Cut) -> bool:
    """Return whether all are cut the same way round, so that a second layer's are of no use."""
    return not cut.pair and not has_no_hand(piece)


def _level_fold(piece: Piece) -> bool:
    """Return whether the fold runs along the threads, so that it can lie on the cloth's fold."""
    if piece.fold is None or piece.grain is None:
        return piece.fold is not None
    fold = lengthwise(piece).edge(piece.fold).points
    wide, tall = np.abs(fold[-1] - fold[0])
    return bool(wide <= tall * np.tan(np.radians(SLANT)))


def _outlines(
    piece: Piece, defaults: Defaults, width: float, cloth: Cloth, opened: float
) -> list[FloatArray]:
    """Return the piece's cutting line, enlarged for shrinkage; several lines if it is pieced.

    width: of the cloth as it lies; opened: on which the piece could lie if it were not folded.
    """
    made = bare_card(piece, defaults)
    grown = cloth.grown
    wide, tall = np.ptp(made.outline, axis=0)
    room = (
        width / grown[0],
        tall + 1.0,
    )  # no higher than the piece, so that it is not turned to fit
    if wide <= room[0]:
        return [made.outline * grown]
    if wide * grown[0] <= opened:
        raise UserError(
            f"it is {wide * grown[0]:.0f} mm wide, but the folded cloth only {width:g} mm: it "
            "would have to be divided, and need not be on the open cloth",
            fix="Leave out --folded.",
            place=Place(piece=piece.name),
        )
    lap = Split(underlap=2.0 * defaults.allowance)
    try:
        return [part.outline * grown for part in parts(made, (lap,), room, lap.underlap)]
    except UserError as fault:
        raise UserError(
            f"it is wider than the cloth and can't be pieced: {fault.problem}",
            fix="Use wider cloth.",
            place=Place(piece=piece.name),
        ) from fault


def _within(piece: Piece, outlines: Sequence[FloatArray], cloth: Cloth) -> Iterator[Stroke]:
    """Give the lines to see in a lay's picture: the lengthwise grain, stripes and plaids.

    A piece that is pieced shows none.
    """
    if len(outlines) > 1:
        return
    shape = shapely.Polygon(outlines[0])
    if piece.grain is not None:  # only a part of it, so that a name has room
        tail, head = piece.grain * cloth.grown
        share = min(1.0, 0.3 * float(np.ptp(outlines[0][:, 1])) / float(np.hypot(*(head - tail))))
        ends = np.array([tail, tail + share * (head - tail)])
        yield from _clipped(ends, shape, Mark.GRAIN)
    for line in piece.lines:
        if line.kind in _MATCHED:
            yield from _clipped(line.points * cloth.grown, shape, _MATCHED[line.kind])


def _clipped(points: FloatArray, shape: BaseGeometry, mark: Mark) -> Iterator[Stroke]:
    for part in lines_in(shape.intersection(shapely.LineString(points))):
        yield Stroke(np.asarray(part.coords), Work.DRAW, mark)


def _copies(piece: Piece, cut: Cut, outlines: Sequence[FloatArray], inner: Sequence[Stroke],
            cloth: Cloth, say: Tongue, layers: int) -> Iterator[Card]:  # fmt: skip
    """Give as many cards as are cut, alternately mirrored for pairs; half as many in two layers."""
    many = -(-cut.pieces // layers)
    for index in range(many):
        over = (cut.pair and index % 2 == 1 and not cloth.folded) != cut.reversed
        for part, outline in enumerate(outlines):
            name = f"{piece.name} {index + 1}" + (f" part {part + 1}" if len(outlines) > 1 else "")
            name += MIRRORED if over else ""
            title = piece.name
            if len(outlines) > 1:
                title = say(
                    "{piece}, part {part} of {of}", piece=title, part=part + 1, of=len(outlines)
                )
            title = say.listed(title, say("mirrored") if over else "")
            strokes = (Stroke(outline, Work.CUT, Mark.OUTLINE), *inner)
            strokes = tuple(stroke.of_card(name) for stroke in strokes)
            card = Card(name, piece.name, title, index + 1, many, outline, strokes, say=say)
            yield mirrored(card) if over else card


def mirrored(card: Card) -> Card:
    """Return a card as its piece lies face down."""
    strokes = tuple(
        replace(stroke, points=(stroke.points * [-1.0, 1.0])[::-1]) for stroke in card.strokes
    )
    return replace(card, outline=strokes[0].points, strokes=strokes)
