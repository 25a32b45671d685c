"""What is cut of a piece, cloth by cloth: how many times each of its edges is there to be sewn."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from plotout.errors import UserError
from plotout.pattern.model import Cut, Piece
from plotout.tongue import Tongue

FUSING = "fusing"
_LINING = re.compile(
    r"lining|\w*futter(stoff)?|doublure|forro|fodera|voering|foder|fôr|fór|vuori|podszewka|podšívka|"
    r"podstava|podloga|bélés|căptuşeală|căptușeală|astar|φόδρα|подклад\w*|підклад\w*|хастар|裏地|里布|안감"
)
"""The word for it, from memory."""
_STIFFENING = re.compile(
    r"interlining|canvas|wadding|batting|foam|buckram|haircloth|stay|stiff\w*|padding|domette|"
    r"\w*board|horsehair|crinoline|boning|whalebone|plastic|cork|plywood|"
    r"(zwischen)?einlage\w*|vlies\w*|watt\w*|schaum\w*|rosshaar|entoilage|triplure|ouat\w*|mousse|crin|"
    r"\w*pappe|\w*karton|fischbein|carton|baleine|plastique|cartón|ballena|plástico|cartone|plastica|"
    r"cartão|kartong|kartonki|muovi|tektura|karton|lepenka|картон|пластик|.*ボール紙|厚紙|"
    r"entretela|guata|espuma|crin|relleno|teletta|imbottitura|ovatta|crine|tussenvoering|vulling|"
    r"schuim\w*|mellanlägg|vadd|skum\w*|mellemlæg|vat|tukikangas|vanu|ocieplina|wata|vatelín|výztuh\w*|"
    r"ватин|синтепон|прокладка|芯|.*芯|中綿|綿"
)
"""Words for what lies between shell and lining, or stiffens a panel here and there; from memory."""
_INTERFACING = re.compile(
    r"interfacings?|interlinings?|(bügel|zwischen)?einlage\w*|vlieseline|entoilage|thermocollante?|"
    r"triplure|entretela|entretelado|teletta|adesivo|fliselin[aey]?|flizelin\w*|vilen[ea]|tussenvoering|"
    r"vlieselin\w*|mellanlägg|mellemlæg|innlegg|tukikangas|výztuh\w*|közbélés|флизелин|дублерин|芯地|接着芯"
)
"""Words for what is fused or sewn onto one side of a cloth; from memory."""
ROW = 3  # pieces that follow each other along a seam: two may be of two cloths on purpose
ON_FOLD = 0.5  # mm by which a piece may lie past its fold


def is_fusing(name: str, say: Tongue) -> bool:
    """Return whether a name says, in English or the set's language, that it is fused."""
    words = name.casefold()
    return FUSING in words.split() or say("fusing").casefold() in words


def is_lining(name: str) -> bool:
    """Return whether a cloth is a lining by its name, in the languages that sets are written in."""
    return _has_word(_LINING, name)


def is_stiffening(name: str) -> bool:
    """Return whether a cloth is an interlining or a padding by its name, in those languages."""
    return _has_word(_STIFFENING, name)


def is_interfacing(name: str, say: Tongue) -> bool:
    """Return whether a cloth is fused or sewn onto another by its name, in those languages."""
    return is_fusing(name, say) or _has_word(_INTERFACING, name)


def _has_word(words: re.Pattern[str], name: str) -> bool:
    return any(map(words.fullmatch, re.findall(r"\w+", name.casefold())))


def sewn_cuts(piece: Piece, say: Tongue) -> tuple[Cut, ...]:
    """Return a piece's cutting orders without fusings, which are not sewn, and without interfacings
    if there are others.

    As many as drawn and reversed, of one cloth, are pairs; a pair on the fold is two whole pieces.
    """
    found: list[Cut] = []
    folded = halves(piece) > 1
    orders = [order for order in piece.cuts if not is_fusing(order.cloth, say)]
    for order in [one for one in orders if not is_interfacing(one.cloth, say)] or orders:
        cut = replace(order, count=order.pieces, pair=False) if folded else order
        mate = Cut(cut.cloth, cut.count, reversed=not cut.reversed)
        if mate in found and not folded:
            found[found.index(mate)] = Cut(cut.cloth, cut.count, pair=True)
        else:
            found.append(cut)
    return tuple(found)


def share_a_cloth(one: Piece, other: Piece, say: Tongue) -> bool:
    """Return whether two pieces are cut of one cloth to be sewn."""
    return bool(cut_by_cloth(one, say).keys() & cut_by_cloth(other, say).keys())


def halves(piece: Piece) -> int:
    """Return how many times a piece has each edge of its card: twice if it is cut on the fold."""
    return 2 if piece.fold or any(cut.on_fold for cut in piece.cuts) else 1


def pieces_cut(piece: Piece, say: Tongue) -> int:
    """Return how many of a piece are cut to be sewn."""
    return sum(cut_by_cloth(piece, say).values())


def cut_by_cloth(piece: Piece, say: Tongue) -> dict[str, int]:
    """Return how many of a piece are cut of each cloth to be sewn, in the order of the set file."""
    counts: dict[str, int] = {}
    for cut in sewn_cuts(piece, say):
        counts[cut.cloth] = counts.get(cut.cloth, 0) + cut.pieces
    return counts


def most_of_a_cloth(piece: Piece, say: Tongue) -> int:
    """Return the most that are cut of a piece to be sewn of any one cloth: a lining is no layer."""
    return max(cut_by_cloth(piece, say).values(), default=0)


def can_take(piece: Piece, wanted: int, each: int, say: Tongue) -> bool:
    """Return whether `wanted` of an edge are all that there are, or those of whole layers of it.

    A layer is an equal share of them: of two pairs two or four edges are sewn alike, of six single
    pieces, or six on the fold, one, two, three or six. Of several cloths each may have a share of
    its own, but in a row of three and more all have the same: of five and five there are no six.
    each: how many of the edge a piece has.
    """
    cuts = sewn_cuts(piece, say)
    in_a_row = wanted >= ROW * each and not any(cut.pair for cut in cuts)
    parts = [[k for k in range(1, cut.count + 1) if cut.count % k == 0] for cut in cuts]
    every = sorted({k for own in parts for k in own})
    return any(
        wanted in _sums([[cut.pieces * each // k for k in own if k in alike]
                         for cut, own in zip(cuts, parts, strict=True)])
        for alike in ([[k] for k in every] if in_a_row else [every])
    )  # fmt: skip


def _sums(choices: Sequence[Sequence[int]]) -> set[int]:
    """Return the sums that can be made of one number of each, or none of it."""
    sums = {0}
    for numbers in choices:
        sums |= {before + number for before in sums for number in numbers}
    return sums


def with_fold_checked(piece: Piece) -> Piece:
    """Return a piece with what can't be of its fold, and what its cutting orders don't say of it.

    An order that needs a missing fold is a fault of the piece, and no error: `show` must still list
    its edges, so that the fold can be named.
    """
    faults, notes = [], []
    if piece.fold is None and piece.whole:
        faults.append("it is to be made whole, but no edge lies on a fold")
    for cut in piece.cuts:
        if cut.on_fold and piece.fold is None:
            faults.append(f"{cut}: but no edge of the piece lies on the fold")
        if piece.fold is not None and not piece.whole and not cut.on_fold:
            notes.append(f"'{cut}': but the card is half a piece; write on-fold = true")
    fix = "Leave out on-fold." if piece.derive else "Write fold = EDGE."
    wrong = [UserError(fault, fix=fix, place=piece.where) for fault in faults]
    wrong += _off_fold(piece)
    return replace(piece, faults=(*piece.faults, *wrong), notes=(*piece.notes, *notes))


def _off_fold(piece: Piece) -> list[UserError]:
    """Return why a piece can't lie on its fold: a part of it lies past it."""
    if piece.fold not in [edge.name for edge in piece.edges]:
        return []
    line = piece.edge(piece.fold).points
    x, y = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    outline = piece.outline
    past = (outline - line[0]) @ np.array([y, -x])  # the piece lies to the left of its edges
    if past.max() <= ON_FOLD:
        return []
    furthest = int(past.argmax())
    at = float(outline[furthest, 0]), float(outline[furthest, 1])
    return [
        UserError(
            f"it lies on both sides of its fold '{piece.fold}': it reaches {past.max():.1f} mm "
            "past it",
            fix="Name the edge on the fold, or mend the drawing there.",
            place=replace(piece.where, at=at),
        )
    ]
