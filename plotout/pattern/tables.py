"""The large tables of a set file: derived pieces, seams, pieces, and the set itself."""

from __future__ import annotations

from typing import Any

from plotout.pattern.fields import (
    ALLOWANCE,
    AREA,
    CUT,
    DEFAULTS,
    DRILL,
    EDGE_RULES,
    GRAIN,
    HEAD,
    LINE,
    NOTCH,
    SEAM_NOTCH,
    SPLIT,
    TRUE,
    is_text,
    one_of,
)
from plotout.pattern.model import Derive
from plotout.pattern.spec import DeriveSpec, PieceSpec, SeamSpec, SideSpec
from plotout.pattern.values import (
    EDGE,
    FLAG,
    LENGTH,
    NAME,
    POINT,
    REF,
    SIGNED_LENGTH,
    SOME_LENGTH,
    WALKED,
    WORDS,
    At,
    Field,
    Kind,
    choice,
    count,
    either,
    many,
    number,
    table,
)

HEM = table(
    {
        "edge": Field(REF, "The parent's hem.", needed=True),
        "shorter": Field(LENGTH, "How much shorter the lining is.", needed=True),
    },
    lambda _at, got: (got["edge"], got["shorter"]),
)


def _derive(at: At, got: dict[str, Any]) -> DeriveSpec:
    how: Derive = got["how"]
    needs = {Derive.FACING: ("along", "width"), Derive.COPY: ("smaller",)}.get(how, ())
    for key in needs:
        if key not in got:
            raise at.wrong(f"a {how} needs '{key}'", f"Add {key} = ...")
    if how is Derive.FUSING and "along" in got and "width" not in got:
        raise at.wrong("a fusing along edges needs 'width'", "Add width = ...")
    fits = {
        Derive.FACING: {"along", "width"},
        Derive.FUSING: {"along", "width", "inset"},
        Derive.LINING: {"ease", "hem"},
        Derive.COPY: {"smaller"},
    }[how] | {"from", "how", "marked"}
    for key in got:
        if key not in fits:
            raise at.child(key).wrong(
                f"'{key}' means nothing for a {how}", f"It takes: {', '.join(sorted(fits))}."
            )
    made = {key: value for key, value in got.items() if key != "from"}
    return DeriveSpec(parent=got["from"], **made)


DERIVE = table(
    {
        "from": Field(REF, "The parent piece.", needed=True),
        "how": Field(choice(Derive), "How it follows its parent.", needed=True),
        "along": Field(many(REF, least=1), "Edges of the parent, in order."),
        "width": Field(SOME_LENGTH, "Width of the band along those edges."),
        "inset": Field(LENGTH, "How far a fusing stays inside the cutting line."),
        "smaller": Field(LENGTH, "How much a copy is drawn in all round."),
        "ease": Field(LENGTH, "How much a lining is wider at each side."),
        "hem": Field(HEM, "The edge that a lining is shortened at."),
        "marked": Field(FLAG, "Drawn on the parent's card; no card of its own."),
    },
    _derive,
)


def _drawing(at: At) -> tuple[At, dict[str, Any]]:
    if not isinstance(at.value, dict) or "file" not in at.value:
        raise at.wrong("'from' must name a file", 'Write from = { file = "front.csv" }.')
    NAME.read(at.child("file"))
    return at, dict(at.value)


DRAWING = Kind(
    _drawing,
    {
        "type": "object",
        "required": ["file"],
        "properties": {"file": {"type": "string", "minLength": 1}},
        "additionalProperties": True,
    },
)


def _side(_at: At, got: dict[str, Any]) -> SideSpec:
    return SideSpec(got["piece"], got["edges"], got.get("times"))


SIDE = table(
    {
        "piece": Field(REF, "The piece.", needed=True),
        "edges": Field(many(WALKED, least=1), '"-name": from its end to its start.', needed=True),
        "times": Field(count(100), "How many of these make up the whole seam."),
    },
    _side,
)


def _ease(at: At, got: tuple[float, float]) -> tuple[float, float]:
    if got[0] > got[1]:
        raise at.wrong("the least ease is more than the most", "Write [least, most].")
    return got


_TWO_LENGTHS = many(SIGNED_LENGTH, least=2, most=2)
EASE = Kind(lambda at: _ease(at, _TWO_LENGTHS.read(at)), _TWO_LENGTHS.schema)

SEAM = table(
    {
        "name": Field(NAME, "What the seam is called.", needed=True),
        "first": Field(SIDE, "The side that may be longer.", needed=True),
        "second": Field(SIDE, "The side that it is sewn to.", needed=True),
        "ease": Field(EASE, "Least and most of first less second."),
        "notch": Field(many(SEAM_NOTCH), "Notches drawn on both sides."),
    },
    lambda at, got: SeamSpec(
        got["name"],
        got["first"],
        got["second"],
        got.get("ease", (0.0, 0.0)),
        got.get("notch", ()),
        at.place,
    ),
)


def _piece(at: At, got: dict[str, Any]) -> PieceSpec:
    drawing, pick = got.pop("from", (None, {}))
    derive = got.get("derive")
    if (drawing is None) == (derive is None):
        raise at.wrong("a piece is either drawn or derived", "Give one of 'from' and 'derive'.")
    unfit = [key for key in got if derive is not None and key not in _OF_DERIVED]
    if unfit:
        raise at.child(unfit[0]).wrong(
            f"'{unfit[0]}' means nothing for a derived piece", "It follows its parent."
        )
    line = got.get("line", ())  # a word for the outline, or the piece's own lines
    return PieceSpec(
        name=got["name"],
        place=at.place,
        drawing=at.source.file.parent / pick.pop("file") if drawing else None,
        pick=pick,
        drawing_place=drawing.place if drawing else at.place,
        derive=derive,
        cutting="cutting" in (got.get("outline"), line),
        edges=got.get("edges", ()),
        edges_place=at.child("edges").place if "edges" in got else at.place,
        start=got.get("start"),
        turn_angle=got.get("turn-angle"),
        fold=got.get("fold"),
        whole=got.get("whole", False),
        grain=got.get("grain"),
        cuts=got.get("cut", ()),
        allowance=got.get("allowance"),
        words=got.get("words", ()),
        edge_rules=got.get("edge", ()),
        notches=got.get("notch", ()),
        drills=got.get("drill", ()),
        lines=() if isinstance(line, str) else line,
        splits=got.get("split", ()),
        areas=got.get("area", ()),
        truings=got.get("true", ()),
    )


_OF_DERIVED = {"name", "derive", "whole", "cut", "allowance", "words", "edge", "split"}
_DRAWN = one_of("stitching", "cutting")

PIECE = table(
    {
        "name": Field(NAME, "What the piece is called.", needed=True),
        "from": Field(DRAWING, "Its drawing: a file, and what the reader takes of it."),
        "derive": Field(DERIVE, "The piece that it follows."),
        "outline": Field(_DRAWN, "Which line the drawing gives as outline."),
        "line": Field(
            either(is_text, _DRAWN, many(LINE)), "Lines within the piece; or as 'outline'."
        ),
        "edges": Field(many(EDGE, least=1), "Names, counter-clockwise from 'start'."),
        "start": Field(POINT, "The turn point nearest here begins the first edge."),
        "turn-angle": Field(number(1.0, 170.0), "Corners sharper than this are turn points."),
        "fold": Field(REF, "The edge that lies on the fold."),
        "whole": Field(FLAG, "Given as half; its card is made unfolded."),
        "grain": Field(GRAIN, "The grain line."),
        "cut": Field(many(CUT), "What to cut with it."),
        "allowance": Field(ALLOWANCE, "Seam allowance of all its edges."),
        "words": Field(many(WORDS), "More lettering."),
        "edge": Field(EDGE_RULES, "What one edge has of its own."),
        "notch": Field(many(NOTCH), "Match notches."),
        "drill": Field(many(DRILL), "Drill holes."),
        "split": Field(many(SPLIT), "Where it is divided."),
        "area": Field(many(AREA), "Bands marked along edges."),
        "true": Field(many(TRUE), "What is measured, and put right if asked."),
    },
    _piece,
)

SET = table(
    {
        "set": Field(HEAD, "The set.", needed=True),
        "defaults": Field(DEFAULTS, "What holds for every piece unless it says otherwise."),
        "piece": Field(many(PIECE, least=1), "The pieces.", needed=True),
        "seam": Field(many(SEAM), "What is sewn to what."),
    },
    lambda _at, got: got,
)
