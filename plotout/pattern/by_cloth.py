"""Seams that are sewn once in each of several cloths: a shell and its lining, from the same cards.

What is cut of all cloths together can match where no cloth does: of the lining, one too few.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import replace

from plotout.pattern.chain import Chain
from plotout.pattern.cloths import ROW, cut_by_cloth, is_lining, is_stiffening, sewn_cuts
from plotout.pattern.model import Piece
from plotout.pattern.number_cut import Key, Sides, Use, are, left_over, sewn_to_themselves, uses
from plotout.tongue import Tongue


def by_cloth(seams: Mapping[str, Sides], say: Tongue) -> dict[str, dict[str, Sides]]:
    """Return by cloth the seams that are sewn in it and in another, with what is cut of it alone.

    All their pieces are cut of both, as drawn (a left of one cloth and a right of another are sewn
    to each other's), and enough of them; and so it is in all other seams of their edges. Panels of
    two colours in one row are no shell and lining.
    """
    closed = sewn_to_themselves(seams)
    shared = {name: _shared(sides, closed, say) for name, sides in seams.items()}
    mixed = {key for name, alone in shared.items() if len(alone) < 2 for key in _keys(seams[name])}
    found: dict[str, dict[str, Sides]] = {}
    for name, sides in seams.items():
        if not mixed.intersection(_keys(sides)):
            for cloth, alone in shared[name].items():
                found.setdefault(cloth, {})[name] = alone
    return found


def together_and_by_cloth(seams: Mapping[str, Sides], say: Tongue) -> list[dict[str, Sides]]:
    """Return the seams with all that is cut, and those of `by_cloth`, cloth by cloth."""
    return [{**seams}, *by_cloth(seams, say).values()]


def left_over_by_cloth(seams: Mapping[str, Sides], say: Tongue) -> dict[str, list[str]]:
    """Return by seam the pieces of which more are cut than it can take, of all cloths or of one."""
    found = left_over(seams, say)
    for cloth, alone in by_cloth(seams, say).items():
        for name, words in left_over(alone, say).items():
            found.setdefault(name, [f"of {cloth}, {over}" for over in words])
    for name, words in _short_rows(seams, say).items():
        found.setdefault(name, words)
    return found


def _short_rows(seams: Mapping[str, Sides], say: Tongue) -> dict[str, list[str]]:
    """Return by seam the pieces in a row of which too few are cut of the other side's cloth, or for
    a lining, while those of another cloth alone make up the row: five to a cap of six. Up to half
    of them may be lined, as stiffened, on purpose. Of two in a row, all must be cut of two cloths.
    """
    closed, found = sewn_to_themselves(seams), {}
    for name, sides in seams.items():
        together = uses(sides, closed, say)
        for use in together:
            row, own = use.times // use.each, cut_by_cloth(use.piece, say)
            others = [cut_by_cloth(one.piece, say)
                      for one in together if one.piece.name != use.piece.name]  # fmt: skip
            short = [
                f"of {cloth}, only {many} of '{use.piece.name}' {are(many)} cut, and it takes "
                f"{row}: is 'cut' right?"
                for cloth, many in own.items()
                if many < row <= max(own.values())
                if _all_have(others, cloth, row, own) or (is_lining(cloth) and row < 2 * many)
            ]
            if short:
                found[name] = short
        if halved := _two_halves(sides, together, say):
            found[name] = [halved]
    return found


def _two_halves(sides: Sides, together: Sequence[Use], say: Tongue) -> str:
    """Return in words that a left is sewn to a right of which there is one of each cloth, none of
    them turned over: a layer of each, and no other half. Empty if it isn't so.
    """
    if _keys(sides[:1]) != _keys(sides[1:]) or len({use.piece.name for use in together}) != 1:
        return ""
    piece, cuts = together[0].piece, sewn_cuts(together[0].piece, say)
    if piece.fold is not None or len(cuts) < 2:
        return ""
    if any(cut.pair or cut.reversed or cut.count > 1 for cut in cuts):
        return ""
    return (
        f"it takes a left and a right of '{piece.name}', but one of each cloth is cut, all as "
        "drawn: is 'pair' missing?"
    )


def _all_have(
    others: Sequence[Mapping[str, int]], cloth: str, row: int, own: Mapping[str, int]
) -> bool:
    """Return whether all that a row is sewn to is cut of a cloth; beside two, of a second one of
    the row, too. A left that is sewn to its right is a row of two.
    """
    if not others and is_stiffening(cloth):
        return False  # one half of two may be stiffened, as the front that laps over
    common = [one for one in own if all(one in other for other in others)]
    return cloth in common and len(common) > (0 if row >= ROW else 1)


def _shared(sides: Sides, closed: Set[Key], say: Tongue) -> dict[str, Sides]:
    """Return the cloths of which enough are cut of every piece of a seam, each with its pieces."""
    pieces = [link.piece for side in sides for link in side.links]
    cloths = [_cloths(piece, say) for piece in pieces]
    common = [cloth for cloth in cloths[0] if all(cloth in others for others in cloths)]
    found = {cloth: (_alone(sides[0], cloth), _alone(sides[1], cloth)) for cloth in common}
    enough = all(use.often for alone in found.values() for use in uses(alone, closed, say))
    return found if enough else {}


def _cloths(piece: Piece, say: Tongue) -> list[str]:
    """Return the cloths of which a piece is cut as drawn or in pairs; none if some are reversed."""
    cuts = sewn_cuts(piece, say)
    return [] if any(cut.reversed for cut in cuts) else [cut.cloth for cut in cuts]


def _keys(sides: Sequence[Chain]) -> list[Key]:
    return [(link.piece.name, link.edge.name) for side in sides for link in side.links]


def _alone(side: Chain, cloth: str) -> Chain:
    """Return a side as if its pieces were cut of one cloth only."""
    links = tuple(replace(link, piece=_of(link.piece, cloth)) for link in side.links)
    return replace(side, links=links)


def _of(piece: Piece, cloth: str) -> Piece:
    return replace(piece, cuts=tuple(cut for cut in piece.cuts if cut.cloth == cloth))
