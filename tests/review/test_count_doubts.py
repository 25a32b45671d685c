"""What costs cloth: too many cut, a grain line across, an ease or a cloth that can't be meant.

A tunic: a front and a back on the fold, a pair of sleeves, cuffs in two layers. That none of
its right forms is asked about, and all of the slips are, is common practice, from memory.
"""

import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review
from plotout.tables import parse_toml

HEM = 'allowance = "25 mm"\ncorner = "turned back"'
TUNIC = f"""
[set]
name = "Tunic"
style = "TU-1"
[[piece]]
name = "Front"
points = [[0, 0], [200, 0], [200, 220], [160, 396], [60, 400], [0, 370]]
edges = ["bottom", "right", "top", "shoulder", "neck", "left"]
fold = "left"
grain = {{ along = "left" }}
cut = {{ cloth = "self", count = 1, on-fold = true }}
[piece.edge.bottom]
{HEM}
[[piece]]
name = "Back"
points = [[0, 0], [200, 0], [200, 220], [160, 396], [60, 400], [0, 370]]
edges = ["bottom", "right", "top", "shoulder", "neck", "left"]
fold = "left"
grain = {{ along = "left" }}
cut = {{ cloth = "self", count = 1, on-fold = true }}
[piece.edge.bottom]
{HEM}
[[piece]]
name = "Sleeve"
rectangle = [366, 330]
grain = {{ along = "left" }}
cut = {{ cloth = "self", count = 1, pair = true }}
[[piece]]
name = "Cuff"
rectangle = [366, 60]
grain = {{ along = "bottom" }}
cut = {{ cloth = "self", count = 2, pair = true }}
[[piece]]
name = "Pocket bag"
rectangle = [160, 250]
grain = {{ along = "left" }}
cut = {{ cloth = "drill", count = 2, pair = true }}
[[piece]]
name = "Top facing"
derive = {{ from = "Front", how = "facing", along = ["top"], width = "50 mm" }}
cut = {{ cloth = "self", count = 1, on-fold = true }}
[[piece]]
name = "Front lining"
derive = {{ from = "Front", how = "lining", ease = "3 mm" }}
cut = {{ cloth = "lining", count = 1, on-fold = true }}
[[seam]]
name = "side"
first = {{ piece = "Front", edges = ["right"] }}
second = {{ piece = "Back", edges = ["right"] }}
[[seam]]
name = "armhole"
first = {{ piece = "Sleeve", edges = ["top"] }}
second = [{{ piece = "Front", edges = ["top"] }}, {{ piece = "Back", edges = ["-top"] }}]
ease = ["0 mm", "20 mm"]
[[seam]]
name = "under arm"
first = {{ piece = "Sleeve", edges = ["right"] }}
second = {{ piece = "Sleeve", edges = ["-left"] }}
[[seam]]
name = "cuff end"
first = {{ piece = "Cuff", edges = ["right"] }}
second = {{ piece = "Cuff", edges = ["-left"] }}
[[seam]]
name = "cuff"
first = {{ piece = "Cuff", edges = ["top"] }}
second = {{ piece = "Sleeve", edges = ["bottom"] }}
"""
ABOUT = ("count", "to a tube", "almost whatever", "its ease", "is a lining", "is along right")


def asked(*changes):
    """Return what is asked about of the changed tunic. Each: a piece or seam, from, to."""
    text = TUNIC
    for name, old, new in changes:
        begins = text.index(f'name = "{name}"')
        rest = text[begins:]
        assert old in rest
        text = text[:begins] + rest.replace(old, new, 1)
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    return [note for note in review(made).notes if any(words in note for words in ABOUT)]


def test_a_right_tunic_is_not_asked_about():
    assert asked() == []


CROSS = ("Sleeve", 'along = "left"', 'along = "bottom"')
FOUR = ("Sleeve", "count = 1, pair", "count = 2, pair")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (CROSS, "seam 'under arm': it closes 'Sleeve' to a tube, but the grain runs round"),
        (FOUR, "Sleeve: seam 'under arm' closes 4 of it, but seam 'armhole' takes only 2"),
        (("Back", "count = 1", "count = 2"), "Back: it is cut 2 times as often as 'Front' takes"),
        (("Front", "count = 1", "count = 3"), "Front: it is cut 3 times as often as 'Back' takes"),
        (("Pocket bag", "count = 2, pair = true", "count = 1"), "Pocket bag: one is cut of it"),
        (("Top facing", '["top"]', '["right"]'), "it runs along 'right' of 'Front', but it is"),
        (("Front lining", '"3 mm"', '"30 mm"'), "Front lining: its ease is 30 mm"),
        (("Front lining", '"lining", count', '"self", count'), "it is a lining, but it is cut of"),
        (("armhole", '"0 mm", "20 mm"', '"10 mm", "200 mm"'), "almost whatever its lengths are"),
        (("armhole", '"0 mm", "20 mm"', '"-90 mm", "0 mm"'), "almost whatever its lengths are"),
    ],
)
def test_a_slip_that_costs_cloth_is_asked_about(change, told):
    found = asked(change)
    assert len(found) == 1, found
    assert told in found[0]


@pytest.mark.parametrize(
    "changes",
    [
        [("Cuff", 'along = "bottom"', 'along = "left"')],  # a band lies either way
        [("Front", "count = 1", "count = 2"), ("Back", "count = 1", "count = 2")],  # all double
        [("Sleeve", "pair = true }", 'pair = true }, { cloth = "net", count = 1, pair = true }'),
         ("Sleeve", "cut = {", "cut = [{"), ("Sleeve", "\n[[piece]]", "]\n[[piece]]")],
        [("Pocket bag", "count = 2, pair = true", "count = 1, pair = true")],
        [("Top facing", "Top facing", "Facing"), ("Facing", '["top"]', '["right"]')],
        [("Back", "count = 1", "count = 2"), ("Back", '"self"', '"lining"')],  # to front and lining
        [("armhole", '"0 mm", "20 mm"', '"200 mm", "300 mm"')],  # gathered
        [("armhole", '"0 mm", "20 mm"', '"0 mm", "50 mm"')],
    ],
)  # fmt: skip
def test_what_is_cut_so_on_purpose_is_not_asked_about(changes):
    assert asked(*changes) == []


def test_a_dart_makes_no_tube():
    """The dart's legs are as far apart as the tube's would be, but the cloth lies outside them."""
    text = """
[set]
name = "Skirt"
style = "SK-1"
[[piece]]
name = "Panel"
points = [[0, 0], [600, 0], [600, 300], [350, 300], [340, 60], [260, 60], [250, 300], [0, 300]]
edges = ["hem", "right", "waist right", "leg right", "end", "leg left", "waist left", "left"]
grain = { along = "hem" }
cut = { cloth = "self", count = 1 }
[[seam]]
name = "dart"
first = { piece = "Panel", edges = ["leg right"] }
second = { piece = "Panel", edges = ["-leg left"] }
"""
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    assert not [note for note in review(made).notes if "tube" in note]


def test_a_facing_of_what_is_folded_over_is_asked_about():
    """Its name says nothing of the edge."""
    renamed = ("Top facing", "Top facing", "Facing")
    assert asked(renamed, ("Facing", '["top"]', '["bottom"]')) == [
        "Facing: it faces 'bottom' of 'Front', which is folded over itself: is along right?"
    ]


@pytest.mark.parametrize(("fronts", "backs", "told"), [(2, 1, 1), (1, 1, 0), (2, 2, 0)])
def test_four_fronts_for_two_backs_are_asked_about(fronts, backs, told):
    """The centre seam sews all of them, in pairs; the side seams need only two."""
    piece = """
[[piece]]
name = "{name}"
rectangle = [200, 400]
grain = {{ along = "left" }}
cut = {{ cloth = "self", count = {count}, pair = true }}
[piece.edge.bottom]
allowance = "25 mm"
corner = "turned back"
"""
    text = (
        '[set]\nname = "Shorts"\nstyle = "SH-1"\n'
        + piece.format(name="Front", count=fronts)
        + piece.format(name="Back", count=backs)
        + '[[seam]]\nname = "side"\nfirst = { piece = "Front", edges = ["right"] }\n'
        'second = { piece = "Back", edges = ["right"] }\n'
        '[[seam]]\nname = "centre"\nfirst = { piece = "Front", edges = ["left"] }\n'
        'second = { piece = "Front", edges = ["left"] }\n'
    )
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    found = [note for note in review(made).notes if "is its count right" in note]
    assert len(found) == told
    assert all("Front: it is cut 2 times as often as 'Back' takes" in note for note in found)


FUSED = """
[set]
name = "Cuffs"
style = "CU-1"
[[piece]]
name = "Sleeve"
rectangle = [280, 400]
grain = { along = "left" }
cut = { cloth = "self", pair = true }
[[piece]]
name = "Cuff"
rectangle = [280, 100]
grain = { along = "bottom" }
cut = [{ cloth = "self", MANY }, { cloth = "fusing", FUSED }]
[[seam]]
name = "cuff"
first = { piece = "Sleeve", edges = ["bottom"] }
second = { piece = "Cuff", edges = ["-top"] }
"""


@pytest.mark.parametrize(
    ("many", "fused", "told"),
    [
        ("count = 2", "count = 1", 1),
        ("count = 2", "count = 2", 0),
        ("count = 4", "count = 2", 0),  # two layers of each, of which one is fused
        ("pair = true", "count = 1", 0),  # the side of the buttons alone
    ],
)
def test_one_fusing_for_two_cuffs_is_asked_about(many, fused, told):
    text = FUSED.replace("MANY", many).replace("FUSED", fused)
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    found = [note for note in review(made).notes if "of fusing, but" in note]
    assert len(found) == told


@pytest.mark.parametrize(
    ("many", "fused", "edge", "told"),
    [
        (2, 1, "bottom", 0),  # a peak: one layer is stiff
        (4, 2, "bottom", 0),  # a brim in two halves, doubled
        (4, 1, "bottom", 1),
        (4, 3, "bottom", 1),
        (2, 1, "left", 1),  # a waistband in two halves, joined at the centre back
    ],
)
def test_of_two_layers_that_a_seam_joins_one_may_be_fused(many, fused, edge, told):
    """Common practice, from memory: the layer on top is fused, or the one beneath, or both are."""
    text = FUSED.replace("MANY", f"count = {many}").replace("FUSED", f"count = {fused}")
    itself = f'{{ piece = "Cuff", edges = ["{edge}"] }}'
    text = text[: text.index("[[seam]]")].replace("pair = true", f"count = {many}") + (
        f'[[seam]]\nname = "edge"\nfirst = {itself}\nsecond = {itself}\n'
        '[[seam]]\nname = "cuff"\nfirst = { piece = "Sleeve", edges = ["bottom"] }\n'
        'second = { piece = "Cuff", edges = ["-top"] }\n'
    )
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    assert len([note for note in review(made).notes if "of fusing, but" in note]) == told


@pytest.mark.parametrize(
    ("many", "sides", "times", "ring", "told"),
    [
        (2, 2, 1, True, 1),  # two halves of a ring, for two rings that lie on each other
        (2, 2, 1, False, 0),  # two halves of a tent's roof, each with a door
        (4, 2, 1, True, 0),
        (2, 1, 1, True, 0),
        (2, 1, 2, True, 0),
    ],
)
def test_of_a_doubled_brim_both_layers_go_into_the_crown(many, sides, times, ring, told):
    """The sum by hand: two halves to a ring, two rings to a brim."""
    itself = '{ piece = "Cuff", edges = ["bottom"] }'
    text = FUSED.replace("MANY", f"count = {many}").replace("FUSED", f"count = {many}")
    text = text[: text.index("[[seam]]")].replace("pair = true", f"count = {sides}")
    text = text.replace("[280, 400]", f"[{280 * times}, 400]") + (
        f'[[seam]]\nname = "edge"\nfirst = {itself}\nsecond = {itself}\n'
        '[[seam]]\nname = "set on"\nfirst = { piece = "Sleeve", edges = ["bottom"] }\n'
        f'second = {{ piece = "Cuff", edges = ["-top"], times = {times} }}\n'
    )
    ends = '{ piece = "Cuff", edges = ["left"] }', '{ piece = "Cuff", edges = ["-right"] }'
    text += f'[[seam]]\nname = "ends"\nfirst = {ends[0]}\nsecond = {ends[1]}\n' * ring
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    found = [note for note in review(made).notes if "one on the other" in note]
    assert found == told * [
        "Cuff: a seam sews two of it to each other, one on the other, but seam 'set on' takes all "
        "2 that are cut of it one by one: is its count right?"
    ]
