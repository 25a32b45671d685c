"""Edges that have a name without being given one are lettered in the language of the set.

The words are the trade's, from memory, as in the catalogues.
"""

import pytest

from plotout.finish.derive import all_pieces
from plotout.finish.edge_words import edge_labels
from plotout.finish.partners import partners
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.tables import parse_toml

SET = """
[set]
name = "Kittel"
style = "KI-1"
language = "LANGUAGE"
[[piece]]
name = "Rumpf"
points = [[0, 0], [260, 0], [260, 400], [0, 400]]
edges = ["saum", "left", "hals", "mitte"]
cut = { cloth = "stoff", pair = true }
[[piece]]
name = "Beleg"
derive = { from = "Rumpf", how = "facing", along = "hals", width = "45 mm" }
cut = { cloth = "stoff", pair = true }
[[piece]]
name = "Streifen"
rectangle = ["300 mm", "60 mm"]
cut = { cloth = "stoff", count = 1 }
[[seam]]
name = "hals"
first = { piece = "Beleg", edges = "hals" }
second = { piece = "Rumpf", edges = "hals" }
[[seam]]
name = "ring"
first = { piece = "Streifen", edges = "left" }
second = { piece = "Streifen", edges = "-right" }
[[seam]]
name = "tasche"
first = { piece = "Rumpf", edges = "left" }
second = { piece = "Rumpf", edges = "-mitte" }
"""


def words(language, piece):
    made = setfile.of(parse_toml(SET.replace("LANGUAGE", language), "set file"))
    made = read_drawings(made, lambda *_: None).in_size()
    made = made.with_pieces(all_pieces(made))
    labels = edge_labels(made.piece(piece), partners(made), made.defaults.on_cards, made.say)
    return [label.texts[0] for label in labels]


@pytest.mark.parametrize(
    ("language", "inner"), [("en", "inner edge"), ("de", "Innenkante"), ("fr", "bord intérieur")]
)
def test_the_inner_edge_of_a_facing_is(language, inner):
    found = words(language, "Beleg")
    assert any(text.startswith(inner) for text in found)
    assert language == "en" or not any("inner" in text for text in found)


def test_the_sides_of_a_rectangle_are():
    assert words("de", "Streifen") == ["unten", "rechts, an links", "oben", "links, an rechts"]


def test_names_of_the_user_s_are_as_they_were_written():
    assert "left, an mitte" in words("de", "Rumpf")


def test_a_facing_is_sewn_to_its_parent_and_not_to_itself():
    assert "hals, an Rumpf" in words("de", "Beleg")
    assert "hals, an Beleg" in words("de", "Rumpf")
