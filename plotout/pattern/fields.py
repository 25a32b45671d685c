"""The smaller tables of a set file, field by field, for the loader and the schema alike."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from plotout.geometry.strokes import NotchKind
from plotout.pattern.model import (
    Corner,
    Cut,
    Defaults,
    Drill,
    InternalLine,
    NotchStyle,
    Split,
)
from plotout.pattern.spec import (
    AreaSpec,
    EdgeSpec,
    GrainSpec,
    NotchSpec,
    Ref,
    TrueSpec,
)
from plotout.pattern.values import (
    ALONG,
    DATE,
    FLAG,
    LENGTH,
    NAME,
    POINT,
    REF,
    SOME_LENGTH,
    WORDS,
    At,
    Field,
    Kind,
    choice,
    count,
    either,
    length,
    many,
    number,
    table,
)

MOST_TO_CUT = 1_000
TRUINGS = ("square", "straight", "equal", "parallel", "symmetric", "on-grain")


def is_text(value: Any) -> bool:
    """True for text."""
    return isinstance(value, str)


def _is_list(value: Any) -> bool:
    return isinstance(value, list)


def _made(maker: Callable[..., Any], **names: str) -> Callable[[At, dict[str, Any]], Any]:
    """Return a builder that calls `maker` with the fields, hyphens as underscores."""

    def build(_at: At, got: dict[str, Any]) -> Any:
        return maker(**{names.get(key, key.replace("-", "_")): got[key] for key in got})

    return build


def one_of(*values: str) -> Kind:
    """One of a few words."""

    def read(at: At) -> str:
        if at.value not in values:
            raise at.wrong(f"'{at.label}' can't be {at.value!r}", f"There is: {', '.join(values)}.")
        return str(at.value)

    return Kind(read, {"enum": list(values)})


_STYLE_FIELDS = {
    "kind": Field(choice(NotchKind), "A notch kind of ASTM D6673."),
    "depth": Field(length(0.5, 50.0), "How deep it goes into the card."),
    "width": Field(length(0.5, 50.0), "How wide it is at the edge."),
    "spacing": Field(length(1.0, 100.0), "Between the notches of a double or triple."),
    "cut": Field(FLAG, "Cut into the card's edge; false: drawn."),
}
STYLE = either(
    is_text,
    Kind(lambda at: NotchStyle(kind=choice(NotchKind).read(at)), choice(NotchKind).schema),
    table(_STYLE_FIELDS, _made(NotchStyle)),
)

_SIMPLE_ALLOWANCE = length(0.0, 500.0)
ALLOWANCE = either(
    _is_list,
    many(_SIMPLE_ALLOWANCE, least=2, most=2),
    Kind(lambda at: (_SIMPLE_ALLOWANCE.read(at),) * 2, _SIMPLE_ALLOWANCE.schema),
)

DEFAULTS = table(
    {
        "allowance": Field(_SIMPLE_ALLOWANCE, "Seam allowance of every edge."),
        "notch": Field(STYLE, "How notches are made."),
        "hole": Field(length(1.0, 50.0), "Diameter of the hanging hole."),
        "hole-inset": Field(length(3.0, 200.0), "From the card's top to the hole's centre."),
        "lettering": Field(length(1.0, 50.0), "Height of capital letters."),
        "tolerance": Field(length(0.0, 20.0, above=True), "What may differ and still match."),
        "corner": Field(choice(Corner), "How the cutting line goes round corners."),
        "mitre-limit": Field(number(1.0, 20.0), "Longest mitre, in allowances."),
        "underlap": Field(length(0.0, 500.0), "Width that one card of a split laps under."),
        "qr": Field(FLAG, "A QR code on every card: set, version and card."),
    },
    _made(Defaults),
)

HEAD = table(
    {
        "name": Field(NAME, "What the set is for.", needed=True),
        "style": Field(NAME, "Style number.", needed=True),
        "size": Field(WORDS, "Size."),
        "date": Field(DATE, "Date of this set, as 2026-04-11."),
        "cautions": Field(many(WORDS), "What the cutter must know."),
    },
    lambda _at, got: got,
)


def _edge_rule(at: At, got: dict[str, Any]) -> EdgeSpec:
    return EdgeSpec(
        Ref(str(at.path[-1]), at.place),
        got.get("allowance"),
        got.get("corner"),
        got.get("seam-notches"),
    )


EDGE_RULE = table(
    {
        "allowance": Field(ALLOWANCE, "Seam allowance, or [at its start, at its end]."),
        "corner": Field(choice(Corner), "How both its corners are made."),
        "seam-notches": Field(FLAG, "Allowance notches at its ends."),
    },
    _edge_rule,
)


def _edge_rules(at: At) -> tuple[EdgeSpec, ...]:
    if not isinstance(at.value, dict):
        raise at.wrong("'edge' must be a table", "Write [piece.edge.NAME].")
    return tuple(EDGE_RULE.read(at.child(name)) for name in at.value)


EDGE_RULES = Kind(_edge_rules, {"type": "object", "additionalProperties": dict(EDGE_RULE.schema)})


def _notch(at: At, got: dict[str, Any]) -> NotchSpec:
    style = {key: got[key] for key in _STYLE_FIELDS if key in got}
    return NotchSpec(
        got["at"], at.place, got.get("edge"), got.get("from") == "end", got.get("count", 1), style
    )


_NOTCH_FIELDS = {
    "at": Field(ALONG, "Distance along the edge, or a percentage of it.", needed=True),
    "from": Field(one_of("start", "end"), "The end that it is measured from."),
    "count": Field(count(3), "1 single, 2 double, 3 triple."),
    **_STYLE_FIELDS,
}
NOTCH = table({"edge": Field(REF, "The edge it lies on.", needed=True), **_NOTCH_FIELDS}, _notch)
SEAM_NOTCH = table(_NOTCH_FIELDS, _notch)


def _grain(at: At, got: dict[str, Any]) -> GrainSpec:
    points, along = "from" in got and "to" in got, "along" in got
    if points == along or ("from" in got) != ("to" in got) or (points and "inset" in got):
        raise at.wrong(
            "the grain line is not clear", "Give 'from' and 'to', or 'along' and 'inset'."
        )
    if points and np.hypot(*np.subtract(got["to"], got["from"])) < 1.0:
        raise at.wrong("the grain line has no length", "'from' and 'to' are the same point.")
    return GrainSpec(
        at.place, got.get("from"), got.get("to"), got.get("along"), got.get("inset", 0.0)
    )


GRAIN = table(
    {
        "from": Field(POINT, "Its tail."),
        "to": Field(POINT, "Its head."),
        "along": Field(REF, "The edge that it is parallel to."),
        "inset": Field(LENGTH, "How far inside that edge it lies."),
    },
    _grain,
)

CUT = table(
    {
        "cloth": Field(NAME, "self, lining, fusing ...", needed=True),
        "count": Field(count(MOST_TO_CUT), "How many, or how many pairs."),
        "pair": Field(FLAG, "Mirrored twos."),
        "on-fold": Field(FLAG, "Cut on the fold of the cloth."),
    },
    _made(Cut),
)

DRILL = table(
    {
        "at": Field(POINT, "Its centre.", needed=True),
        "size": Field(length(0.2, 50.0), "Its diameter."),
        "cross": Field(FLAG, "Drawn as a cross instead of cut."),
    },
    _made(Drill),
)

LINE = table(
    {
        "name": Field(NAME, "What it is.", needed=True),
        "points": Field(many(POINT, least=2), "Its points.", needed=True),
        "kind": Field(one_of("internal", "stripe", "plaid", "cut-out"), "What sort of line."),
    },
    lambda _at, got: InternalLine(
        got["name"], np.array(got["points"], dtype=np.float64), got.get("kind", "internal")
    ),
)


def _split(at: At, got: dict[str, Any]) -> Split:
    line = got.get("line")
    if line is not None and np.hypot(*np.subtract(line[1], line[0])) < 1.0:
        raise at.wrong("the split's line has no length", "Give two points that lie apart.")
    return Split(line, got.get("underlap", -1.0))  # below nothing: the set's own


SPLIT = table(
    {
        "line": Field(many(POINT, least=2, most=2), "Where; left out, the tool chooses."),
        "underlap": Field(length(0.0, 500.0), "Width that the one laps under the other."),
    },
    _split,
)

AREA = table(
    {
        "name": Field(NAME, "What it is for.", needed=True),
        "along": Field(many(REF, least=1), "Edges that it lies along.", needed=True),
        "depth": Field(SOME_LENGTH, "How far it reaches into the piece.", needed=True),
    },
    lambda at, got: AreaSpec(got["name"], got["along"], got["depth"], at.place),
)


def _true(at: At, got: dict[str, Any]) -> TrueSpec:
    kinds = [kind for kind in TRUINGS if kind in got]
    if len(kinds) != 1:
        raise at.wrong("say one thing to true", f"One of: {', '.join(TRUINGS)}.")
    kind = kinds[0]
    edges = got[kind] if isinstance(got[kind], tuple) else (got[kind],)
    if len({edge.name for edge in edges}) != len(edges):
        raise at.wrong(f"'{kind}' names one edge twice", "Name two edges.")
    axis = got.get("axis")
    if axis is not None and kind != "symmetric":
        raise at.wrong("'axis' belongs to 'symmetric' alone", "Leave it out.")
    if isinstance(axis, tuple) and axis[0] == axis[1]:
        raise at.wrong("the axis's two points are one", "Name two points apart.")
    limit = got.get("tolerance")
    return TrueSpec(kind, edges, got.get("put-right", False), limit, at.place, axis)


_PAIR = many(REF, least=2, most=2)
TRUE = table(
    {
        "square": Field(_PAIR, "Two edges that meet square; the first is put right."),
        "straight": Field(REF, "An edge without a bow."),
        "equal": Field(_PAIR, "Two edges of equal length; the first is put right."),
        "parallel": Field(_PAIR, "Two edges that run parallel; the first is put right."),
        "symmetric": Field(_PAIR, "Two edges that mirror each other; the first is put right."),
        "axis": Field(
            either(is_text, REF, many(POINT, least=2, most=2)),
            "What symmetric edges mirror in: an edge, or two points. Without it: what fits best.",
        ),
        "on-grain": Field(REF, "An edge along the grain, or square to it; x and y without one."),
        "put-right": Field(FLAG, "Move the first edge, by no more than the tolerance."),
        "tolerance": Field(length(0.0, 20.0, above=True), "Instead of the set's own."),
    },
    _true,
)
