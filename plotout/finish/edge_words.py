"""What a patternmaker letters on a card by hand: words along its edges, and facts about it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from shapely import LineString, Polygon, get_coordinates, line_locate_point, points

from plotout.finish.bare_card import Label, Taper
from plotout.finish.handed import has_no_hand
from plotout.finish.partners import Partners
from plotout.finish.relabel import INNER
from plotout.finish.unfold import OTHER
from plotout.geometry.offset import parallel
from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Cut, Edge, Piece
from plotout.pattern.settings import OnCards
from plotout.pattern.typed import SIDES
from plotout.tongue import Tongue

_CLOSE = 3.5  # mm from the card's edge to letters along it, where it has no allowance
_AT_END = 0.02  # of an edge's length: a part that begins nearer to its end has that end
SHORT = 25.0  # mm: a shorter edge is lettered after the others, where these leave room


def edge_labels(piece: Piece, met: Partners, wanted: OnCards, say: Tongue) -> tuple[Label, ...]:
    """Return the words along every edge, the fullest first, then shorter ones for less room.

    met: what the edges are sewn to.
    """
    usual = usual_allowance(piece)
    found = []
    for edge in sorted(piece.edges, key=lambda edge: length(edge.points) < SHORT):
        if edge.name == piece.fold:
            continue
        before, after = piece.beside(edge)
        ends = _named(before, piece, say), _named(after, piece, say)
        name = edge.name.removesuffix(OTHER)
        texts = list(_texts(edge, name, ends, piece, met, wanted, usual, say))
        if texts:
            inside = max(0.0, _CLOSE - min(edge.allowance))
            line = parallel(edge.points, -inside, -inside) if inside else edge.points
            tapers = None
            if len(set(edge.allowance)) > 1:
                tapers = Taper(edge.allowance, ends)
            found.append(Label(line, tuple(dict.fromkeys(texts)), inward=True, tapers=tapers))
    return tuple(found)


def _named(edge: Edge, piece: Piece, say: Tongue) -> str:
    """Return an edge's name as it is lettered; "" for one that has only a number."""
    return "" if edge.name.isdigit() else lettered(edge.name.removesuffix(OTHER), piece, say)


def lettered(name: str, piece: Piece, say: Tongue) -> str:
    """Return the name of a piece's edge as it is lettered: in the language if it isn't the user's.

    The sides of a rectangle, and the inner edge of a facing, have names without any being given.
    """
    inner, _, number = name.partition(INNER)
    if not inner and name.startswith(INNER):
        return say("inner edge") + number
    names = {edge.name.removesuffix(OTHER) for edge in piece.edges}
    if all(other in SIDES or other.startswith(INNER) for other in names):
        return {
            "bottom": say("bottom"), "right": say("right"), "top": say("top"), "left": say("left")
        }.get(name, name)  # fmt: skip
    return name


def of_part(label: Label, outline: FloatArray, say: Tongue) -> Label:
    """Return the words of a part of a card, with the tapered allowance as it is there.

    outline: the part's, closed, (n, 2), mm.
    """
    line = LineString(label.points)
    inside = line.intersection(Polygon(outline))
    if label.tapers is None or inside.length < 1e-6:
        return label
    ends = line_locate_point(line, points(get_coordinates(inside)), normalized=True)
    start, end = label.tapers.widths
    at = float(ends.min()), float(ends.max())
    here = tuple(round(start + (end - start) * share, 1) for share in at)
    first, last = label.tapers.ends
    own = first if at[0] < _AT_END else "", last if at[1] > 1.0 - _AT_END else ""
    own_words = _width((here[0], here[1]), own, say)
    whole = _width(label.tapers.widths, label.tapers.ends, say)
    return replace(label, texts=tuple(text.replace(whole, own_words) for text in label.texts))


def _texts(
    edge: Edge,
    name: str,
    ends: tuple[str, str],
    piece: Piece,
    met: Partners,
    wanted: OnCards,
    usual: tuple[float, float] | None,
    say: Tongue,
) -> Iterator[str]:
    named = lettered(name, piece, say) if wanted.edges and not name.isdigit() else ""
    if wanted.front and piece.front == name and say("front") not in named.casefold():
        named = say("front: {edge}", edge=named) if named else say("front")
    other = sewn_to(name, piece, met, say) if wanted.sewn_to else ""
    to = say("to {piece}", piece=other) if other else ""
    wide = ""
    if wanted.allowance and edge.allowance != (usual or (0.0, 0.0)):
        wide = _width(edge.allowance, ends, say)
    if edge.facing and wanted.facing:
        wide = say("facing {width}", width=wide) if wide else say("facing")
    for parts in ((named, to, wide), (named, wide), (named, to), (named,), (to,), (wide,)):
        text = say.listed(*parts)
        if text:
            yield text


def sewn_to(edge: str, piece: Piece, met: Partners, say: Tongue) -> str:
    """Return what the edge is sewn to: pieces, or edges of its own piece; "" without a seam."""
    found = [
        lettered(its, piece, say) if of == piece.name else of
        for of, its in met.get((piece.name, edge), ())
    ]
    return and_so_on([*dict.fromkeys(found)], say)


def and_so_on(names: Sequence[str], say: Tongue) -> str:
    """Return names joined by words: "A", "A and B", "A, B and C"."""
    if len(names) < 2:
        return "".join(names)
    return say("{first} and {last}", first=say.listed(*names[:-1]), last=names[-1])


def usual_allowance(piece: Piece) -> tuple[float, float] | None:
    """Return the allowance of most of the piece's sewn edge, mm; None where it has none."""
    wide: Counter[tuple[float, float]] = Counter()
    for edge in piece.edges:
        if edge.name != piece.fold and max(edge.allowance) > 0.0:
            wide[edge.allowance] += round(length(edge.points), 3)  # type: ignore[assignment]
    return wide.most_common(1)[0][0] if wide else None


def figure(allowance: tuple[float, float], say: Tongue) -> str:
    """Return an allowance in figures."""
    start, end = map(say.figure, allowance)
    return start if start == end else say("{start} to {end}", start=start, end=end)


def _width(allowance: tuple[float, float], ends: tuple[str, str], say: Tongue) -> str:
    """Return an allowance with its unit, and of a taper what lies beside each end, if it has names.

    Words may run either way along an edge, so that their order doesn't show which end is which.
    """
    if allowance[0] == allowance[1] or not any(ends):
        return say.with_unit(figure(allowance, say))
    start, end = (
        say.with_unit(say.figure(wide)) + (f" ({name})" if name else "")
        for wide, name in zip(allowance, ends, strict=True)
    )
    return say("{start} to {end}", start=start, end=end)


def cut_words(cut: Cut, say: Tongue) -> str:
    """Return a cutting order in words, with the side up where the card is turned over."""
    words = _count_words(cut, say)
    return say("{order}, reversed", order=words) if cut.reversed else words


def _count_words(cut: Cut, say: Tongue) -> str:
    if cut.pair and cut.on_fold:
        return say.many(
            "cut {count} pair {cloth} on fold", "cut {count} pairs {cloth} on fold", cut.count,
            cloth=cut.cloth,
        )  # fmt: skip
    if cut.pair:
        return say.many(
            "cut {count} pair {cloth}", "cut {count} pairs {cloth}", cut.count, cloth=cut.cloth
        )
    if cut.on_fold:
        return say("cut {count} {cloth} on fold", count=cut.count, cloth=cut.cloth)
    return say("cut {count} {cloth}", count=cut.count, cloth=cut.cloth)


def cut_orders(piece: Piece, say: Tongue) -> tuple[tuple[Cut, str], ...]:
    """Return a piece's cuts and their orders in words; a whole card is not laid on the fold."""
    cuts = (replace(cut, on_fold=cut.on_fold and not piece.whole) for cut in piece.cuts)
    return tuple((cut, cut_words(cut, say)) for cut in cuts)


def order(cut: Cut, piece: Piece, outline: FloatArray, wanted: OnCards, say: Tongue) -> str:
    """Return a cutting order in words, with the side up for a single asymmetric piece.

    outline: the piece's cutting line, closed, (n, 2), mm.
    """
    words = cut_words(cut, say)
    single = not (cut.pair or cut.on_fold or piece.fold or cut.reversed)
    if wanted.as_drawn and single and not has_no_hand(piece, outline=outline):
        return say("{order}, as drawn", order=words)
    return words


def laying(piece: Piece, say: Tongue, *, one_way: bool = True) -> tuple[str, ...]:
    """Return in words how a piece lies in the cloth, where that isn't the usual way.

    one_way: whether to say that it lies one way.
    """
    phrases = (
        (piece.bias, say("cut on the bias")),
        (piece.one_way and one_way, say("lay one way")),
    )
    return tuple(text for true, text in phrases if true)


def facts(piece: Piece, wanted: OnCards, say: Tongue) -> tuple[str, ...]:
    """Return lines for the card's block, the most important first.

    Of a piece that is cut with its card turned over, the card's face is not the right side.
    """
    usual = usual_allowance(piece)
    allowance = say("no allowance")
    if usual:
        allowance = say("allowance {width}", width=say.with_unit(figure(usual, say)))
    turned_over = any(cut.reversed for cut in piece.cuts)
    lines = (
        (wanted.right_side and not turned_over, say("right side up")),
        (wanted.allowance, allowance),
    )
    return tuple(text for true, text in lines if true)
