"""Whole command lines, with words misspelt, missing, doubled or of another kind."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

from fuzz.mutations import NUMBERS, WORDS
from fuzz.targets.command_line import run
from fuzz.targets.target import CORPUS, Target

LINES = (
    "show set.toml", "show set.toml --piece Front --json", "check set.toml",
    "show set.toml --size M", "check set.toml --json", "plugins --json", "machines",
    "machines craft-cutter --json", "machines laser",
    "explain set.piece", "explain notch --json", "explain options.gcode", "explain",
    "proof short.plt --machine craft-cutter --json", "proof short.ngc --machine laser",
    "marks a.marks.csv --limit 0.3", "marks a.marks.csv --allow turn --json",
    "calibrate home-a4 --across 99.6 99.6 --up 100.1 100 --diagonals 141.2 141.3",
    "calibrate laser --across 99.6 99.6 --up 100 100 --diagonals 141.2 141.3 --side 100 --json",
    "rack put set.toml --place hook --maker Kim --machine laser", "rack list --json",
    "rack --at a.rack list", "rack --at a.rack find smock --size M", "rack --at a.rack show BK-01",
    "rack --at a.rack out BK-01 --who Kim", "rack --at a.rack back BK-01", "rack --at a.rack check",
    "rack --at a.rack compare BK-01 BK-01", "rack --at a.rack export BK-01 --out a.plotout",
    "rack --at a.rack backup b.rack", "rack bring a.plotout --newest --json",
    "rack --at a.rack note BK-01 a.journal", "rack --at a.rack show BK-01 --picture a.png",
    "picture set.toml --stage piece --of Front --out out --width 200 --format svg",
    "strip --machine craft-cutter --tool blade --down force --across offset --out out",
    "strip --machine craft-cutter --best B3", "chart set.toml --out out --page A4",
    "frame --strips 1 --first 1 --page A4 --out out", "pricks a.png --out a.csv --resolution 300",
    "make set.toml --machine nosuch --out out --seconds 0 --card 1", "resume a.journal --back 1",
    "make set.toml --machine laser --out out --seconds nan --size M --work cut --sheet 1",
    "send short.plt --machine craft-cutter --port file:out --yes", "ports", "--version", "--help",
    "cloth set.toml --width 140cm --lean nan --ratio S:1,M:2 --seconds 0",
    "nest set.toml --machine laser --out out --size M --seconds 0",
    "page set.toml --machine lasr --out page.html --seconds 0",
)  # fmt: skip
_NAMES = ("set.toml", "short.plt", "short.ngc", "a.marks.csv", "a.rack", "a.plotout", "a.journal",
          "a.png", "front.csv", "a.svg", "a.dxf", "sleeve.svg", "bands.dxf")  # fmt: skip


def _take(data: bytes, folder: Path) -> None:
    for name in _NAMES:
        if (CORPUS / name).exists():
            shutil.copy(CORPUS / name, folder / name)
    shutil.copy(CORPUS / "a.set.toml", folder / "set.toml")
    inner = folder / "in" / "here"
    inner.mkdir(parents=True)
    for each in folder.iterdir():
        if each.is_file():
            shutil.move(each, inner / each.name)
    run(inner, *json.loads(data))


def _variant(seed: str) -> bytes:
    rng = random.Random(seed)
    words = rng.choice(LINES).split()
    for _ in range(rng.choice((1, 1, 2, 3))):
        words = _changed(rng, words)
    argv = [word.replace("\x00", "")[:2000] for word in words]
    return json.dumps([word if _typed(word) else "?" for word in argv]).encode()


def _changed(rng: random.Random, words: list[str]) -> list[str]:
    if not words:
        return ["show"]
    at, how = rng.randrange(len(words)), rng.randrange(9)
    word, other = words[at], rng.choice(rng.choice(LINES).split())
    letter = rng.randrange(len(word)) if word else 0
    one: list[str] = {
        0: [],
        1: [word, word],
        2: [word[:letter] + word[letter + 1 :]],
        3: [word.swapcase()],
        4: [other],
        5: [word, other],
        6: [rng.choice((*WORDS, *NUMBERS))],
        7: [rng.choice(NUMBERS)],
        8: [word.replace("-", "\u2013")],
    }[how]
    return [*words[:at], *one, *words[at + 1 :]]


def _typed(word: str) -> bool:
    """Whether a shell could hand it over."""
    try:
        word.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:
        return False
    return True


COMMANDS = (
    Target("command", lambda: [json.dumps(line.split()).encode() for line in LINES], _take,
           _variant, placed=False, share=0.8),
)  # fmt: skip
