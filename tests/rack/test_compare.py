"""Every field of a set is changed in turn, and `compare` must tell it. No source: our promise."""

from dataclasses import fields, replace

import numpy as np
import pytest

from plotout import job
from plotout.geometry.strokes import NotchKind, Work
from plotout.pattern.findings import Trued
from plotout.pattern.model import (
    Area,
    Cut,
    Derivation,
    Derive,
    Drill,
    Edge,
    InternalLine,
    Notch,
    PatternSet,
    Piece,
    Seam,
    Side,
    Split,
)
from plotout.pattern.settings import Corner, Defaults, NotchStyle, OnCards
from plotout.rack.compare import compare
from plotout.rack.piece_changes import piece_changes
from plotout.rack.sets import words
from plotout.tongue import Tongue

SET = """
[set]
name = "Apron"
style = "A-1"
size = ""
date = "2026-04-11"
version = "2"
language = "en"
unit = "mm"
cautions = ["Pre-shrink the cloth."]
[defaults]
allowance = "12 mm"
notch = { kind = "V", depth = "5 mm", width = "4 mm", spacing = "6 mm", cut = true }
hole = "8 mm"
hole-inset = "20 mm"
lettering = "5 mm"
tolerance = "0.5 mm"
corner = "mitre"
mitre-limit = 2.5
underlap = "20 mm"
qr = false
one-way = false
[defaults.on-cards]
edges = true
sewn-to = true
front = true
right-side = false
as-drawn = true
one-way = true
allowance = true
dated = true
facing = true

[[piece]]
name = "Front"
points = [[0, 0], [200, 0], [200, 300], [0, 300]]
outline = "stitching"
edges = ["hem", "side", "top", "centre"]
fold = "centre"
whole = false
front = "centre"
bias = false
one-way = true
grain = { along = "centre", inset = "30 mm" }
cut = [{ cloth = "self", count = 1, pair = false, on-fold = true, reversed = false }]
allowance = ["10 mm", "15 mm"]
words = ["wash first"]
[piece.edge.hem]
allowance = "40 mm"
corner = "turned back"
facing = false
seam-notches = false
[[piece.notch]]
edge = "side"
at = "40 %"
from = "end"
count = 2
kind = "T"
depth = 4
width = 3
spacing = 8
cut = true
[[piece.drill]]
at = [50, 50]
size = "3 mm"
cross = true
name = "pocket"
[[piece.line]]
name = "pleat"
points = [[20, 20], [20, 280]]
kind = "internal"
work = "draw"
[[piece.split]]
line = [[0, 150], [200, 150]]
underlap = "25 mm"
[[piece.area]]
name = "stay"
along = ["hem"]
depth = "40 mm"
[[piece.true]]
square = ["side", "hem"]
put-right = false
tolerance = "1 mm"

[[piece]]
name = "Back"
rectangle = ["200 mm", "300 mm"]
edges = ["hem", "side", "top", "centre"]
grain = { from = [100, 50], to = [100, 250] }
cut = [{ cloth = "self", count = 2 }]
[[piece.divide]]
edge = "top"
at = "40 %"
from = "end"
into = ["top back", "top front"]

[[piece]]
name = "Hem facing"
derive = { from = "Back", how = "facing", along = ["hem"], width = "50 mm", marked = false }
[[piece]]
name = "Stay"
derive = { from = "Back", how = "fusing", inset = "3 mm", marked = false }
[[piece]]
name = "Lining"
derive = { from = "Back", how = "lining", ease = "5 mm", hem = { edge = "hem", shorter = "20 mm" } }
[[piece]]
name = "Under back"
derive = { from = "Back", how = "copy", smaller = "1 mm" }
[[piece]]
name = "Corner"
points = [[0, 0], [120, 0], [60, 90]]
edges = ["long", "right", "left"]

[[seam]]
name = "side"
first = { piece = "Front", edges = ["side"], times = 2 }
second = [{ piece = "Back", edges = ["-side"] }]
ease = ["-1 mm", "30 mm"]
[[seam.notch]]
at = "60 mm"
from = "start"
count = 1
ease = "2 mm"
[[seam]]
name = "shoulder"
first = { piece = "Front", edges = ["top"] }
second = { piece = "Back", edges = ["-centre"] }
[[seam.stretch]]
ease = ["0 mm", "3 mm"]
"""
DIVIDED = SET[SET.index("[[piece.divide]]") : SET.index('[[piece]]\nname = "Hem facing"')]
FIELDS = [
    ('name = "Apron"', 'name = "Smock"', "name: 'Apron' is now 'Smock'"),
    ('style = "A-1"', 'style = "A-2"', "style: 'A-1' is now 'A-2'"),
    ('size = ""', 'size = "L"', "size: none is now 'L'"),
    ("2026-04-11", "2026-04-12", "date:"),
    ('version = "2"', 'version = "3"', "version: '2' is now '3'"),
    ('language = "en"', 'language = "de"', "language: 'en' is now 'de'"),
    ('unit = "mm"', 'unit = "in"', "unit: 'mm' is now 'in'"),
    ("Pre-shrink the", "Press the", "caution 'Press the cloth.' added"),
    ('allowance = "12 mm"', 'allowance = "13 mm"', "Back: allowance of"),
    ('allowance = "12 mm"', 'allowance = "13 mm"', "defaults: allowance: 12 mm is now 13 mm"),
    ('kind = "V"', 'kind = "U"', "defaults: notch: kind: 'V' is now 'U'"),
    ('depth = "5 mm"', 'depth = "6 mm"', "defaults: notch: depth: 5 mm is now 6 mm"),
    ('width = "4 mm"', 'width = "5 mm"', "defaults: notch: width"),
    ('spacing = "6 mm"', 'spacing = "7 mm"', "defaults: notch: spacing"),
    ("cut = true }", "cut = false }", "defaults: notch: cut: yes is now no"),
    ('hole = "8 mm"', 'hole = "9 mm"', "defaults: hole: 8 mm is now 9 mm"),
    ('hole-inset = "20 mm"', 'hole-inset = "21 mm"', "defaults: hole-inset"),
    ('lettering = "5 mm"', 'lettering = "6 mm"', "defaults: lettering"),
    ('tolerance = "0.5 mm"', 'tolerance = "0.6 mm"', "defaults: tolerance"),
    ('corner = "mitre"', 'corner = "square"', "defaults: corner: 'mitre' is now 'square'"),
    ('corner = "mitre"', 'corner = "square"', "Back: corners of 'centre'"),
    ("mitre-limit = 2.5", "mitre-limit = 3", "defaults: mitre-limit: 2.5 is now 3"),
    ('underlap = "20 mm"', 'underlap = "21 mm"', "defaults: underlap"),
    ("qr = false", "qr = true", "defaults: qr: no is now yes"),
    ("one-way = false", "one-way = true", "defaults: one-way: no is now yes"),
    *[
        (f"\n{key} = {was}", f"\n{key} = {now}", f"defaults: on-cards: {key}:")
        for key, was, now in [
            ("edges", "true", "false"), ("sewn-to", "true", "false"), ("front", "true", "false"),
            ("right-side", "false", "true"), ("as-drawn", "true", "false"),
            ("one-way", "true", "false"), ("allowance", "true", "false"),
            ("dated", "true", "false"), ("facing", "true", "false"),
        ]
    ],
    ('name = "Corner"', 'name = "Gore"', "Corner: piece dropped"),
    ('name = "Corner"', 'name = "Gore"', "Gore: piece added"),
    ('outline = "stitching"', 'outline = "cutting"', "Front: line moved"),
    ('"right", "left"]', '"right", "slope"]', "Corner: edges: 'long', 'right', 'left' is now"),
    ('fold = "centre"\n', "", "Front: fold: 'centre' is now none"),
    ("whole = false", "whole = true", "Front: made unfolded: no is now yes"),
    ('front = "centre"', 'front = "hem"', "Front: front end: 'centre' is now 'hem'"),
    ("bias = false", "bias = true", "Front: on the bias: no is now yes"),
    ("one-way = true\ngrain", "grain", "Front: lies one way in the cloth: yes is now no"),
    ('inset = "30 mm"', 'inset = "40 mm"', "Front: grain line moved by up to 10.00 mm"),
    ("to = [100, 250]", "to = [110, 250]", "turned by -2.86 degrees"),
    ('"self", count = 1', '"lining", count = 1', "Front: 'cut 1 self on fold' is now 'cut 1 lin"),
    ("count = 1, pair", "count = 3, pair", "is now 'cut 3 self"),
    ("pair = false", "pair = true", "is now 'cut 1 pair self"),
    ("on-fold = true", "on-fold = false", "is now 'cut 1 self'"),
    ("reversed = false", "reversed = true", "is now 'cut 1 self on fold, reversed'"),
    ('["10 mm", "15 mm"]', '["10 mm", "16 mm"]', "10 to 15 mm is now 10 to 16 mm"),
    ('words = ["wash first"]', 'words = ["iron first"]', "words: 'wash first' is now 'iron first'"),
    ('allowance = "40 mm"', 'allowance = "41 mm"', "allowance of 'hem': 40 mm is now 41 mm"),
    ('corner = "turned back"', 'corner = "blunt"', "corners of 'hem': 'turned back' is now 'bl"),
    ("facing = false", "facing = true", "fold-over facing of 'hem': no is now yes"),
    ("seam-notches = false", "seam-notches = true", "allowance notches of 'hem': no is now yes"),
    ('edge = "side"\nat', 'edge = "top"\nat', "notch on 'side' at 180 mm removed"),
    ('edge = "side"\nat', 'edge = "top"\nat', "notch on 'top' at 120 mm added"),
    ('at = "40 %"\nfrom = "end"\ncount', 'at = "30 %"\nfrom = "end"\ncount', "at 210 mm added"),
    ('from = "end"\ncount', 'from = "start"\ncount', "notch on 'side' at 120 mm added"),
    ("count = 2\nkind", "count = 3\nkind", "notches on 'side' at 180 mm: 2 is now 3"),
    ('kind = "T"', 'kind = "castle"', "kind of the notch on 'side' at 180 mm: 'T' is now 'castle'"),
    ("depth = 4", "depth = 5", "depth of the notch on 'side' at 180 mm: 4 mm is now 5 mm"),
    ("width = 3", "width = 4", "width of the notch"),
    ("spacing = 8", "spacing = 9", "spacing of the notch"),
    ("cut = true\n[[piece.drill]]", "cut = false\n[[piece.drill]]", "cut of the notch on"),
    ("at = [50, 50]", "at = [51, 50]", "drill hole at (51, 50) added"),
    ('size = "3 mm"', 'size = "4 mm"', "drill hole at (50, 50): size: 3 mm is now 4 mm"),
    ("cross = true", "cross = false", "drill hole at (50, 50): cross: yes is now no"),
    ('name = "pocket"', 'name = "flap"', "drill hole at (50, 50): name: 'pocket' is now 'flap'"),
    ('name = "pleat"', 'name = "tuck"', "line 'pleat' removed"),
    ("[20, 280]]", "[20, 270]]", "line 'pleat' moved by up to 10.00 mm"),
    ('kind = "internal"', 'kind = "stripe"', "line 'pleat': kind: 'internal' is now 'stripe'"),
    ('work = "draw"', 'work = "score"', "line 'pleat': work: 'draw' is now 'score'"),
    ("[200, 150]]", "[200, 160]]", "split through (0, 150) and (200, 160) added"),
    ('underlap = "25 mm"', 'underlap = "26 mm"', "underlap: 25 mm is now 26 mm"),
    ('name = "stay"', 'name = "tape"', "area 'stay' removed"),
    ('along = ["hem"]\ndepth', 'along = ["side"]\ndepth', "area 'stay' moved by up to"),
    ('depth = "40 mm"', 'depth = "42 mm"', "area 'stay' moved by up to 2.00 mm"),
    ('square = ["side", "hem"]', 'square = ["side", "top"]', "truing 'square' of 'side', 'top'"),
    ('tolerance = "1 mm"', 'tolerance = "2 mm"', "truing 'square' of 'side', 'hem', within 2 mm"),
    ('rectangle = ["200 mm"', 'rectangle = ["201 mm"', "Back: line moved by up to 1.00 mm"),
    ('into = ["top back"', 'into = ["nape"', "Back: edges: "),
    ('at = "40 %"\nfrom = "end"\ninto', 'at = "45 %"\nfrom = "end"\ninto',
     "Back: edge 'top back' begins or ends elsewhere on the line"),
    ('from = "end"\ninto', 'from = "start"\ninto', "Back: edge 'top front' begins or ends"),
    (DIVIDED, "", "Back: edges: 'hem', 'side', 'top back', 'top front', 'centre' is now 'hem', "),
    ('how = "facing", along = ["hem"]', 'how = "facing", along = ["side"]', "Hem facing: line"),
    ('width = "50 mm"', 'width = "55 mm"', "derived: width: 50 mm is now 55 mm"),
    ("marked = false", "marked = true", "it is marked on the card of 'Back'"),
    ('from = "Back", how = "fusing"', 'from = "Front", how = "fusing"', "derived from: 'Back'"),
    ('inset = "3 mm"', 'inset = "4 mm"', "derived: inset"),
    ('how = "lining", ease = "5 mm"', 'how = "lining", ease = "6 mm"', "derived: ease"),
    ('shorter = "20 mm"', 'shorter = "25 mm"', "derived: hem: 'hem', 20 mm is now 'hem', 25 mm"),
    ('smaller = "1 mm"', 'smaller = "2 mm"', "derived: smaller: 1 mm is now 2 mm"),
    ("[60, 90]]", "[60, 95]]", "Corner: line moved by up to"),
    ('"right", "left"]', '"left", "right"]', "Corner: edge 'left' begins or ends elsewhere"),
    ('[[seam]]\nname = "side"', '[[seam]]\nname = "flank"', "seam 'side' dropped"),
    ('"Front", edges = ["side"]', '"Front", edges = ["top"]', "first side: 'side' of 'Front' is"),
    ("times = 2", "times = 1", "first side: times: 2 is now 1"),
    ('edges = ["-side"]', 'edges = ["side"]', "second side: 'side' of 'Back' backwards is now"),
    ('ease = ["-1 mm"', 'ease = ["-2 mm"', "seam 'side': ease -1 to 30 mm is now -2 to 30 mm"),
    ('at = "60 mm"', 'at = "61 mm"', "Front: notch on 'side' at 62 mm removed"),
    ('from = "start"\ncount = 1', 'from = "end"\ncount = 1', "Front: notch on 'side' at 62 mm"),
    ("count = 1\nease", "count = 2\nease", "Back: notches on 'side' at "),
    ('count = 1\nease = "2 mm"', 'count = 1\nease = "3 mm"', "Front: notch on 'side' at 62 mm"),
    ('ease = ["0 mm"', 'ease = ["1 mm"', "ease of its stretches: 0 to 3 mm is now 1 to 3 mm"),
]  # fmt: skip


@pytest.fixture(scope="module")
def read(tmp_path_factory):
    folder = tmp_path_factory.mktemp("set")

    def made(text):
        (folder / "set.toml").write_text(text)
        return job.read_set(folder / "set.toml")

    return made


@pytest.mark.thorough
def test_every_field_of_a_set_file_is_told(read):
    before = read(SET)
    assert compare(before, read(SET)) == ()
    silent = []
    for was, now, told in FIELDS:
        assert was in SET, was
        changes = [words(change) for change in compare(before, read(SET.replace(was, now, 1)))]
        if not any(told in line for line in changes):
            silent.append((was, now, changes))
    assert not silent


# For each class that flows, another value for every field: one that is added must be added here.
UNTOLD = {
    (Piece, "name"), (Edge, "name"), (Seam, "name"),  # by which they are found
    (Piece, "derive"), (Piece, "edges"), (Derivation, "marked"),  # tried by the set file above
    (Derivation, "allowance"), (Derivation, "rules"),  # show in the edges that they make
    (Derivation, "bias"), (Derivation, "one_way"),  # show in how the piece lies
    (Edge, "known_to"), (Edge, "unproved"), (Edge, "otherwise"), (Edge, "against"),
    (Edge, "headings_to"),
    (Piece, "notes"), (Piece, "faults"), (Piece, "unfair"),
    (Trued, "before"),
    (Trued, "after"), (Trued, "detail"), (Trued, "moved"), (Trued, "refused"),
    (Trued, "known_to"), (Trued, "doubt"), (Trued, "otherwise"),  # follow from them
    (Piece, "graded"), (PatternSet, "notes"),  # of other sizes
    (Piece, "turn"), (Piece, "place"), (Seam, "place"),  # how it lies; where in the set file
    (Edge, "part_of"), (Notch, "measured_from"),  # only for messages
    (Seam, "marked"),  # show in its pieces' notches
    (Edge, "grows"),  # only for messages; the sizes have their own points
    (Edge, "twin_of"),  # only of a half that is unfolded for its card
    (PatternSet, "file"),  # where it was read
}  # fmt: skip
RING = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 50.0], [0.0, 50.0], [0.0, 0.0]])
SQUARE = RING[::-1] / 2.0
OTHER = {
    Edge: {"points": RING + 1.0, "allowance": (1.0, 2.0), "corner": Corner.BLUNT,
           "seam_notches": False, "facing": True},
    Notch: {"edge": "other", "along": 7.0, "count": 3, "style": NotchStyle(depth=9.0)},
    NotchStyle: {"kind": NotchKind.U, "depth": 9.0, "width": 9.0, "spacing": 9.0, "cut": False},
    Cut: {"cloth": "lining", "count": 2, "pair": True, "on_fold": True, "reversed": True},
    Drill: {"at": (1.0, 2.0), "size": 1.0, "cross": True, "name": "other"},
    InternalLine: {"name": "other", "points": RING, "kind": "plaid", "work": Work.SCORE},
    Area: {"name": "other", "points": RING},
    Split: {"line": ((0.0, 1.0), (9.0, 1.0)), "underlap": 1.0},
    Trued: {"kind": "square", "edges": ("other",), "tolerance": 2.0},
    Derivation: {"how": Derive.COPY, "along": ("top",), "width": 1.0, "inset": 1.0, "smaller": 1.0,
                 "ease": 1.0, "hem": ("hem", 1.0)},
    Piece: {"cuts": (), "fold": "only", "whole": True, "grain": None, "notches": (), "drills": (),
            "lines": (), "areas": (), "splits": (), "parent": "Back", "words": ("wash",),
            "trued": (), "bias": True, "one_way": True, "front": "only"},
    Side: {"edges": (("Body", "only", True),), "times": 3},
    Seam: {"first": Side((("Body", "only", True),)), "second": Side((("Body", "only", True),)),
           "ease": (0.0, 1.0), "stretches": ((0.0, 1.0),)},
    PatternSet: {"name": "other", "style": "other", "size": "L", "date": "2026-01-01",
                 "pieces": (), "defaults": Defaults(hole=9.0), "seams": (), "cautions": ("hot",),
                 "version": "2", "sizes": ("M", "L"), "say": Tongue(inches=True)},
    OnCards: {field.name: False for field in fields(OnCards)},
    Defaults: {"allowance": 1.0, "notch": NotchStyle(cut=False), "hole": 9.0, "hole_inset": 9.0,
               "lettering": 9.0, "tolerance": 1.0, "corner": Corner.BLUNT, "mitre_limit": 9.0,
               "underlap": 1.0, "one_way": True, "on_cards": OnCards(edges=False), "qr": True},
}  # fmt: skip
BODY = Piece(
    "Body", (Edge("only", RING, (5.0, 5.0)),), (Cut("self"),), grain=RING[:2],
    notches=(Notch("only", 3.0),), drills=(Drill((5.0, 5.0)),), lines=(InternalLine("a", SQUARE),),
    areas=(Area("b", SQUARE),), splits=(Split(),), derive=Derivation(Derive.FACING),
    trued=(Trued("straight", ("only",), 0.0, 0.0, 1.0),),
)  # fmt: skip
SEAM = Seam("side", Side((("Body", "only", False),)), Side((("Body", "only", False),)))
WHOLE = PatternSet("Apron", "A-1", "M", "", (replace(BODY, derive=None),), seams=(SEAM,))
START = {Piece: BODY, PatternSet: WHOLE, Notch: BODY.notches[0], Defaults: WHOLE.defaults,
         Seam: SEAM}  # fmt: skip
WITHIN = {
    Edge: (Piece, "edges"), Notch: (Piece, "notches"), Cut: (Piece, "cuts"),
    Drill: (Piece, "drills"), InternalLine: (Piece, "lines"), Area: (Piece, "areas"),
    Split: (Piece, "splits"), Trued: (Piece, "trued"), Derivation: (Piece, "derive"),
    NotchStyle: (Notch, "style"), Seam: (PatternSet, "seams"), Side: (Seam, "first"),
    Defaults: (PatternSet, "defaults"), OnCards: (Defaults, "on_cards"),
}  # fmt: skip


@pytest.mark.parametrize("kind", OTHER)
def test_every_field_that_flows_is_told_or_known_not_to_be(kind):
    for field in fields(kind):
        if (kind, field.name) not in UNTOLD:
            assert _changes(kind, {field.name: OTHER[kind][field.name]}), field.name


def _changes(kind, other):
    if kind is Piece:
        return list(piece_changes(BODY, replace(BODY, **other)))
    if kind is PatternSet:
        return compare(WHOLE, replace(WHOLE, **other))
    outer, field = WITHIN[kind]
    held = getattr(START[outer], field)
    if isinstance(held, tuple):
        return _changes(outer, {field: (replace(held[0], **other),)})
    return _changes(outer, {field: replace(held, **other)})
