"""The page's own words are in the language of its set; what is not in a catalogue is the user's.

A catalogue is complete by `tests/test_tongue.py`; here no word of the page goes past it.
"""

from __future__ import annotations

import html
import json
import re
from importlib.resources import files

import numpy as np
import pytest

from plotout import tongue
from plotout.finish import finish
from plotout.model import Placed, Program, Sheet
from plotout.pattern.model import Cut, Edge, PatternSet, Piece
from plotout.proof.page import Leaf, page
from plotout.proof.page.words import SWITCHES, said_by
from plotout.tongue import Tongue

from .conftest import HEIGHT, WIDTH, machine_for, program_for
from .in_browser import by_id, needs_browser, shown

FOLDER = files("plotout.proof.page")
SCRIPTS = [one for one in FOLDER.iterdir() if one.name.endswith(".js")]


def page_in(say: Tongue) -> str:
    corners = np.array([[0.0, 0.0], [80.0, 0.0], [80.0, 100.0], [0.0, 100.0]])
    edges = tuple(
        Edge(str(index), corners[[index, (index + 1) % 4]], (10.0, 10.0)) for index in range(4)
    )
    piece = Piece("42", edges, (Cut("7"),))
    made = PatternSet("1001", "22", "38", "", (piece,), say=say)
    card = finish(made)[0]
    machine = machine_for("hpgl")
    program: Program = program_for(machine)
    sheet = Sheet("1", 1, WIDTH, HEIGHT, (Placed(card, 0.0, (0.0, 0.0)),))
    return page(made, machine, [card], [Leaf(sheet, program, "1.plt")])


@pytest.mark.parametrize("language", ["de", "fr", "es", "ja"])
def test_the_frame_and_the_scripts_words_are_translated(language, drawable):
    drawable(language)
    text = page_in(Tongue(language))
    assert f'<html lang="{language}">' in text
    data = json.loads(re.search(r'id="data">(.*?)</script>', text, re.DOTALL)[1])
    said = {word for one in SCRIPTS for word in said_by(one.read_text("utf-8"))}
    words = Tongue(language)
    for word in said | set(SWITCHES):
        assert data["words"].get(word, word) == words.unfilled(word)
    assert data["sheets"][0]["name"] == words("Sheet {number}", number=1)
    frame = html.unescape(text)
    assert f">{words('Whole sheet')}<" in frame
    assert "{{" not in text.split("<script", 1)[0]
    assert data["cautions"][-1] == words.unfilled(
        "Try force, depth and offset on a scrap of the same card first."
    )


def test_no_word_of_the_frame_is_outside_the_marks(monkeypatch):
    """What a reader sees or hears of the frame vanishes with the catalogue's words."""
    monkeypatch.setattr(tongue.Tongue, "unfilled", lambda _self, _text: "")
    text = page_in(Tongue())
    body = re.sub(r"<script.*?</script>|<style.*?</style>", "", text, flags=re.DOTALL)
    body = re.sub(r"<title>.*?</title>", "", body)
    seen = re.sub(r"<[^>]*>", " ", body) + " ".join(re.findall(r'aria-label="([^"]*)"', body))
    assert re.findall(r"[A-Za-z]{3,}", html.unescape(seen).replace("Sheet 1", "")) == ["plt"]


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda one: one.name)
def test_no_script_says_a_sentence_past_the_catalogue(script):
    code = re.sub(r"(?m)(?<!:)//.*$", "", script.read_text("utf-8"))
    code = re.sub(r'\bsay\("[^"]*"', "say(", code)
    texts = re.findall(r'"((?:[^"\\]|\\.)*)"', code) + [
        re.sub(r"\$\{[^}]*\}", " ", text) for text in re.findall(r"`([^`]*)`", code)
    ]
    spoken = [text for text in texts if re.search(r"[a-z]{2,} [a-z]{2,}", text)]
    assert set(spoken) <= {"stitching line", "use strict"}
    shown = re.findall(r'textContent = "([^"]+)"', code)
    assert shown == []


def test_lengths_are_in_the_sets_unit():
    text = page_in(Tongue(inches=True))
    data = json.loads(re.search(r'id="data">(.*?)</script>', text, re.DOTALL)[1])
    assert data["inches"] is True


@needs_browser
def test_the_scale_bar_is_in_the_sets_unit(tmp_path):
    pages = shown(page_in(Tongue(inches=True)), tmp_path)
    browser = next(pages)
    words, wide = by_id(browser, "scale").text, by_id(browser, "scale").size["width"]
    box = by_id(browser, "sheet-0").get_dom_attribute("viewBox").split()
    view = by_id(browser, "view").size
    mm = max(float(box[2]) / view["width"], float(box[3]) / view["height"])
    assert words.endswith(" in")
    assert wide * mm == pytest.approx(25.4 * float(words.split()[0]), rel=0.03)
    next(pages, None)


@needs_browser
def test_a_colon_stands_as_the_language_has_it(tmp_path):
    """In French a space goes before it (usage of the Imprimerie nationale, from memory)."""
    pages = shown(page_in(Tongue("fr", inches=True)), tmp_path)
    browser = next(pages)
    option = by_id(browser, "which").text
    assert "Feuille 1 sur 1 : " in option
    assert " po" in option
    next(pages, None)


def test_no_script_writes_its_own_colon():
    code = "".join(one.read_text("utf-8") for one in SCRIPTS)
    assert re.findall(r"(?:\}|`): \$\{", code) == []
    assert Tongue("fr")("{what}: {details}", what="a", details="b") == "a : b"
    assert Tongue("de")("{what}: {details}", what="a", details="b") == "a: b"
