"""What is told of cards is in the set's language on its page, and nothing is lost by that."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from plotout import job
from plotout.finish import finish
from plotout.proof.page.notes import NOTES, PARTS, said_anew, translated
from plotout.tongue import ENGLISH, PLAIN, Tongue, languages

OTHERS = [language for language in languages() if language != ENGLISH]
SMALL = """
[set]
name = "Probe"
style = "P"
language = "{language}"
[[piece]]
name = "Lasche"
points = [[0, 0], [14, 0], [7, 18]]
edges = ["a", "b", "c"]
allowance = 4
cut = [{{ cloth = "Stoff", count = 3 }}]
[[piece]]
name = "Band"
points = [[0, 0], [300, 0], [300, 50], [0, 50]]
edges = ["unten", "rechts", "oben", "links"]
grain = {{ along = "unten", inset = "20 mm" }}
cut = [{{ cloth = "Stoff", count = 1 }}]
[[piece.split]]
line = [[150, -50], [150, 100]]
[[piece.notch]]
edge = "unten"
at = "150 mm"
[[piece.notch]]
edge = "rechts"
at = "25 mm"
count = 3
spacing = 40
[[piece]]
name = "Bogen"
from = {{ file = "bogen.csv" }}
allowance = 25
grain = {{ along = "unten" }}
cut = [{{ cloth = "Stoff", count = 1 }}]
[[piece.drill]]
at = [30, 20]
cross = true
[[piece.split]]
line = [[30, -50], [30, 200]]
"""
WORDS = {
    "de": ("liegen 12.5 mm auseinander", "läuft durch eine Markierung", "biegt sich nahe"),
    "ja": ("12.5 mm", "継ぎ目が印を通る", "縫い代25 mmより急に曲がる"),
}
T = np.linspace(0.1, np.pi - 0.1, 12)
BOW = [
    "x,y,run,kind",
    *(f"{x},0,unten,straight" for x in (5, 60, 115)),
    *(f"120,{y},rechts,straight" for y in (5, 40, 75)),
    *(f"{x},80,oben rechts,straight" for x in (117, 100, 83)),
    *(f"{60 + 20 * x:.2f},{80 - 20 * y:.2f},Bogen,curve"
      for x, y in zip(np.cos(T), np.sin(T), strict=True)),
    *(f"{x},80,oben links,straight" for x in (37, 20, 3)),
    *(f"0,{y},links,straight" for y in (75, 40, 5)),
]  # fmt: skip


def filled(form: str) -> tuple[str, dict[str, str]]:
    """Return a form with something in every place."""
    names = re.findall(r"(?<!\{)\{(\w+)\}", form)
    values = {name: f"{nth}7.5" for nth, name in enumerate(names, start=1)}
    for name, parts in PARTS.items():
        if name in values:
            values[name] = filled(parts[-1] if name == "notches" else parts[0])[0]
    if "second" in values or (form.startswith("{first} and")):
        values |= {
            name: f"the seam notch at the end of '{name}'"
            for name in values
            if name in ("first", "second", "last")
        }
    return form.format(**values), values


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("form", NOTES)
def test_a_message_is_said_in_the_language_with_all_its_figures(form, language):
    note, _ = filled(form)
    said = translated(f"Ärmel; Band: {note}; {note}", Tongue(language))
    assert said is not None
    assert said.startswith("Ärmel; Band: ")
    assert note not in said
    figures = re.compile(r"\d+\.5|'[\w.]+'")
    assert sorted(figures.findall(said)) == sorted(figures.findall(note) * 2)


@pytest.mark.parametrize("form", PARTS["notches"])
def test_notches_are_named_in_the_language(form):
    notches, _ = filled(form)
    said = translated(f"{notches} is drawn, not cut: they would cross", Tongue("de"))
    assert said is not None
    assert "notch" not in said
    assert "nips bei" in said or "knips am" in said or "Bohrloch bei" in said


@pytest.mark.parametrize("language", ["de", "ja"])
def test_everything_told_of_small_and_divided_cards_is_known(language, tmp_path, drawable):
    drawable(language)
    (tmp_path / "bogen.csv").write_text("\n".join(BOW))
    (tmp_path / "set.toml").write_text(SMALL.format(language=language))
    read = job.read_set(tmp_path / "set.toml", "")
    notes = [note for card in finish(read) for note in card.warnings]
    assert len(notes) > 5
    known = " ".join(filter(None, (translated(note, read.say) for note in notes)))
    assert all(word in known for word in WORDS[language])
    assert {said for _, said in said_anew(notes, read.say)} == {language}
    plain = finish(replace(read, say=PLAIN))
    english = [note for card in plain for note in card.warnings]
    assert said_anew(english, PLAIN) == [(note, ENGLISH) for note in english]


def test_lengths_have_the_unit_and_the_decimal_sign_of_the_set():
    note = "its lettering had to be 2.5 mm high"
    assert said_anew([note], Tongue("de"))[0][0].endswith("2,5 mm hoch werden")
    assert "2.5" in said_anew([note], Tongue("ja"))[0][0]
    assert said_anew([note.replace("2.5", "2.0")], Tongue("ja"))[0][0] == "文字の高さが2 mmになった"
    assert said_anew([note], PLAIN) == [(note, "en")]
    why = "from cutting to stitching line it is 12.7 mm there, and a notch stays clear of that line"
    note = f"the seam notch at the end of 'a' is drawn, not cut: {why}"
    assert said_anew([note], Tongue("en", inches=True))[0][0].endswith(
        "it is 1/2 in there, and a notch stays clear of that line"
    )


def test_what_is_not_known_stays_and_says_in_which_language_it_is():
    notes = ["the moon is full", "Band: the moon is full; they would cross"]
    assert said_anew(notes, Tongue("fr")) == [(note, ENGLISH) for note in notes]
