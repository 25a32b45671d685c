"""Words on papers: in every catalogue, and nothing on a paper past the catalogues.

Catalogues are in GNU gettext's format, and read by polib; plural rules are its manual's; lengths in
inches are a tape's (1 in = 25.4 mm, international yard and pound agreement, 1959).
"""

from __future__ import annotations

import gettext
import re
from dataclasses import replace
from pathlib import Path
from string import Formatter

import numpy as np
import polib
import pytest
from catalogues import FOLDER, said

from plotout import tongue
from plotout.finish import finish
from plotout.finish.derive import cut_pieces
from plotout.geometry import lettering
from plotout.layout.paper.pages import page_size
from plotout.model import Placed, Sheet
from plotout.pattern.model import Cut, Edge, PatternSet, Piece
from plotout.proof import picture
from plotout.rack.chart import chart
from plotout.rack.must import must
from plotout.tongue import PLAIN, Tongue, languages


def places(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


def test_the_languages_are_there():
    assert {"en", "de", "fr", "es", "ja"} <= set(languages())


@pytest.mark.parametrize("language", languages())
def test_a_catalogue_says_all_that_the_code_says(language):
    file = polib.pofile(str(FOLDER / f"{language}.po"))
    assert {entry.msgid for entry in file} == set(said())
    for entry in file:
        texts = [*entry.msgstr_plural.values()] or [entry.msgstr]
        wanted = places(entry.msgid) | places(entry.msgid_plural or "")
        for text in texts:
            assert text, f"{entry.msgid} is not said in {language}"
            assert places(text) <= wanted
            assert places(text) >= wanted - {"count"}  # one may be said without its figure


def test_many_follows_each_languages_rule():
    """The plural rules of GNU gettext's manual: French says none in the singular."""
    assert Tongue("fr").many("{count} card", "{count} cards", 0) == "0 carton"
    assert Tongue("de").many("{count} card", "{count} cards", 0) == "0 Schablonen"
    assert Tongue("en").many("{count} card", "{count} cards", 1) == "1 card"
    assert "1" in Tongue("ja").many("{count} card", "{count} cards", 1)


@pytest.mark.parametrize(
    ("mm", "told"),
    [(12.7, "1/2 in"), (31.75, "1 1/4 in"), (25.4, "1 in"), (15.0, "0.591 in"), (0.0, "0 in")],
)
def test_inches_are_a_tapes(mm, told):
    assert Tongue(inches=True).length(mm) == told


@pytest.mark.parametrize(
    ("language", "told"),
    [("de", "8,3 x 11,7 Zoll"), ("fr", "8,3 x 11,7 po"), ("es", "8,3 x 11,7 pulg"),
     ("en", "8.3 x 11.7 in"), ("ja", "8.3 x 11.7 in")],
)  # fmt: skip
def test_inches_have_the_languages_decimal_sign(language, told):
    """Signs: the Unicode CLDR's, from memory; A4 (ISO 216) is 210 x 297 mm."""
    say = Tongue(language, inches=True)
    assert say.size(210.0, 297.0) == told
    assert say.figure(15.0) == ("0,591" if "," in told else "0.591")
    assert say.length(31.75).startswith("1 1/4 ")


def test_millimetres_have_the_languages_decimal_sign():
    assert PLAIN.length(12.7) == "12.7 mm"
    assert Tongue("de").length(12.7) == "12,7 mm"
    assert PLAIN.length(10.0) == "10 mm"


def test_what_stands_in_braces_is_only_a_name():
    assert PLAIN("to {piece}", piece="{0.__class__}") == "to {0.__class__}"


class Shouting(gettext.NullTranslations):
    """A language that is all in capitals, so that what is said past it shows."""

    def gettext(self, message):
        return re.sub(r"\{\w+\}|[^{]+", lambda m: m[0] if m[0][0] == "{" else m[0].upper(), message)

    def ngettext(self, one, more, count):
        return self.gettext(one if count == 1 else more)


@pytest.fixture
def drawn(monkeypatch):
    """Return every text that is set in letters from now on, the catalogue shouting."""
    monkeypatch.setattr(tongue, "_catalogue", lambda _language: Shouting())
    texts = set()
    set_text = lettering._set.__wrapped__

    def noted(text):
        texts.add(text)
        return set_text(text)

    monkeypatch.setattr(lettering, "_set", noted)
    return texts


def shouted_set() -> PatternSet:
    """A set whose own words are all capitals: a half, a facing, a strip that is split, a tab."""
    corners = np.array([[0, 0], [260, 0], [260, 700], [0, 700], [0, 0]], float)
    names = ("FOOT", "SIDE", "NECK", "MIDDLE")
    wide = [(12.7, 12.7), (15.0, 20.0), (12.7, 12.7), (0.0, 0.0)]
    edges = tuple(
        Edge(name, corners[k : k + 2], wide[k], facing=name == "FOOT")
        for k, name in enumerate(names)
    )
    cuts = (Cut("SELF", 1, on_fold=True), Cut("NET", 2, pair=True))
    grain = np.array([[60.0, 60.0], [60.0, 600.0]])
    front = Piece("FRONT", edges, cuts=cuts, fold="MIDDLE", grain=grain, front="SIDE")
    tab = Piece("TAB", tuple(replace(e, points=e.points / 60.0) for e in edges), bias=True)
    return PatternSet("SMOCK", "S-1", "M", "", (front, tab), cautions=("WASH IT.",), version="2")


def test_no_fixed_word_of_a_card_chart_must_or_picture_goes_past_the_catalogue(drawn):
    made = shouted_set()
    cards = finish(made, (300.0, 400.0))
    pieces = cut_pieces(made)
    papers = [*chart(made, pieces, cards, page_size("A4")), *must(made, pieces, page_size("A4"))]
    for card in cards:
        picture.card_picture(card)
    for piece in pieces:
        picture.piece_picture(piece, made.say)
    sheet = Sheet("SHEET", 1, 900.0, 900.0, (Placed(cards[0], 0.0, (50.0, 50.0)),), stock="CARD")
    picture.laid_picture(sheet)
    picture.contact_sheet([sheet, sheet], 90.0, made.say)
    assert papers
    assert len(drawn) > 60
    signs = re.compile(r"(^|(?<=\d) )x\b")  # between two sides
    past = {text for text in drawn if (words := signs.sub("", text)) != words.upper()}
    assert past == set()


def test_every_catalogue_is_in_the_package():
    """Where importlib finds it, which is where a wheel puts it too."""
    from importlib.resources import files

    there = {Path(str(each)).name for each in (files("plotout") / "catalogues").iterdir()}
    assert {f"{language}.po" for language in languages()} <= there


@pytest.mark.parametrize(
    ("mm", "told"),
    [(12.7, "12.7"), (15.875, "15.875"), (10.0, "10"), (19.92532152, "19.9"), (8.034149884, "8")],
)
def test_a_length_that_was_worked_out_is_rounded(mm, told):
    """One that was given stays as it was typed."""
    assert Tongue().figure(mm) == told
