"""Laying again: what was cut stays where it was, to the last bit, and the rest comes in between."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from cards import box, wavy
from smallset import PIECES, made, run, small_set

from plotout import UserError
from plotout.layout import EarlierLay, Stock, StockSheet, kept, laid, lay_again, load_lay
from plotout.layout.nesting.lay_file import as_text

MAT = StockSheet("mat", 600.0, 300.0, margins=(5.0,) * 4)


def _spots(sheets: object) -> list[tuple[int, str, float, tuple[float, float]]]:
    return [(s.number, p.card.id, p.angle, p.shift) for s in sheets for p in s.placed]  # type: ignore[attr-defined]


def test_a_kept_lay_comes_back_exactly(tmp_path: Path) -> None:
    cards = wavy(7, 12)
    first = laid(cards, Stock((MAT,), registration=True), gap=4, seconds=0)
    path = tmp_path / "x-lay.json"
    path.write_text(as_text(kept(first, style="A", size="M")))
    lay = load_lay(path)
    again = laid(cards, Stock((MAT,)), gap=9, seconds=0, again=EarlierLay(lay))
    assert _spots(again.sheets) == _spots(first.sheets)
    assert again.gap == 4
    for one, other in zip(first.sheets, again.sheets, strict=True):
        assert (one.width, one.height, one.stock) == (other.width, other.height, other.stock)
        for mark, same in zip(one.marks, other.marks, strict=True):
            assert mark.points == pytest.approx(same.points)
    assert as_text(kept(again, style="A", size="M")) == path.read_text()


def test_new_cards_lie_between_those_that_stay() -> None:
    cards = wavy(11, 10, 200.0)
    first = laid(cards[:6], Stock((MAT,)), gap=4, seconds=0)
    lay = kept(first, style="A", size="M")
    left = [card for card in cards if card.id != first.sheets[0].placed[0].card.id]
    sheets, _ = lay_again(lay, left, Stock((MAT,)), seconds=0)
    stayed = {spot for spot in _spots(first.sheets) if spot[1] in {card.id for card in left}}
    assert stayed <= set(_spots(sheets))
    assert sorted(spot[1] for spot in _spots(sheets)) == sorted(card.id for card in left)
    for sheet in sheets:
        shapes = [shapely.Polygon(placed.outline) for placed in sheet.placed]
        for one, other in itertools.combinations(shapes, 2):
            assert one.distance(other) >= 4 - 0.01
    numbers = [sheet.number for sheet in sheets]
    assert len(set(numbers)) == len(numbers)


def test_one_sheet_of_a_lay_keeps_its_number() -> None:
    cards = [box(500, 200, n) for n in range(1, 4)]
    lay = kept(laid(cards, Stock((MAT,)), gap=4, seconds=0), style="A", size="M")
    sheets, _ = lay_again(lay, cards, Stock((MAT,)), only=2, seconds=0)
    assert [sheet.number for sheet in sheets] == [2]
    with pytest.raises(UserError, match="no sheet 9"):
        lay_again(lay, cards, Stock((MAT,)), only=9)


def test_a_card_that_grew_is_laid_anew() -> None:
    cards = [box(200, 100, 1), box(200, 100, 2)]
    first = laid(cards, Stock((MAT,)), gap=4, seconds=0)
    lay = kept(first, style="A", size="M")
    grown = [cards[0], box(210, 110, 2)]
    (sheet,), _ = lay_again(lay, grown, Stock((MAT,)), seconds=0)
    one, other = (shapely.Polygon(placed.outline) for placed in sheet.placed)
    assert one.distance(other) >= 4 - 0.01
    assert _spots([sheet])[0] == _spots(first.sheets)[0]
    with pytest.raises(UserError, match="no longer has the size"):
        lay_again(lay, grown, Stock((MAT,)), only=1)
    with pytest.raises(UserError, match="none of the cards"):
        lay_again(lay, [], Stock((MAT,)))


def test_a_lay_that_was_meddled_with_is_told() -> None:
    cards = [box(200, 100, 1), box(200, 100, 2)]
    lay = kept(laid(cards, Stock((MAT,)), gap=4, seconds=0), style="A", size="M")
    (sheet,) = lay.sheets
    spots = tuple(replace(spot, shift=sheet.spots[0].shift) for spot in sheet.spots)
    with pytest.raises(UserError, match="can't be laid as before"):
        lay_again(replace(lay, sheets=(replace(sheet, spots=spots),)), cards, Stock((MAT,)))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("{", "["), "line 2: this is not a kept lay"),
        (('"plotout-lay": 1', '"plotout-lay": 9'), "its format is 9"),
        (('"gap": 4', '"gap": NaN'), "NaN is not a number"),
        (('"cards"', '"crads"'), "no field 'crads' here"),
        (('"gap": ', '"gap": 4, "gap": '), "'gap' is in one place twice"),
        (('"angle": ', '"angle": "x'), "this is not a kept lay"),
        (('"angle": ', '"angle": "x", "angel": '), r"line \d\d: angle: 'x' is not a number"),
    ],
)
def test_a_file_that_is_no_lay(tmp_path: Path, change: tuple[str, str], words: str) -> None:
    lay = kept(laid([box(90, 60)], Stock((MAT,)), gap=4, seconds=0), style="A", size="M")
    path = tmp_path / "x-lay.json"
    path.write_text(as_text(lay).replace(*change))
    with pytest.raises(UserError, match=words):
        load_lay(path)
    with pytest.raises(UserError, match="can't read the kept lay"):
        load_lay(tmp_path / "none.json")


def test_made_again_by_its_lay_the_files_are_the_same(tmp_path: Path) -> None:
    path = small_set(tmp_path)
    machine = ("--machine", "craft-cutter")
    made(path, *machine, "--out", tmp_path / "one")
    lay = tmp_path / "one" / "apron-ap-1-m-craft-cutter-lay.json"
    made(path, *machine, "--out", tmp_path / "two", "--lay", lay)
    files = [
        {p.name: p.read_bytes() for p in (tmp_path / n).iterdir() if p.suffix != ".png"}
        for n in ("one", "two")
    ]
    assert files[0] == files[1]


def test_a_piece_more_goes_between_the_old_ones(tmp_path: Path) -> None:
    fewer = {name: PIECES[name] for name in ("Front", "Collar")}
    made(small_set(tmp_path, fewer), "--machine", "gantry-knife", "--out", tmp_path / "one")
    lay = tmp_path / "one" / "apron-ap-1-m-gantry-knife-lay.json"
    path = small_set(tmp_path)
    made(path, "--machine", "gantry-knife", "--out", tmp_path / "two", "--lay", lay)
    spots = []
    for folder in ("one", "two"):
        data = json.loads((tmp_path / folder / "apron-ap-1-m-gantry-knife-lay.json").read_text())
        spots.append({c["id"]: (c["angle"], c["shift"]) for c in data["sheets"][0]["cards"]})
    assert set(spots[1]) == {"front", "back", "collar", "tab", "contents"}
    assert spots[0]["front"] == spots[1]["front"]
    assert spots[0]["collar"] == spots[1]["collar"]


def test_a_spoilt_card_is_cut_from_an_off_cut(tmp_path: Path) -> None:
    """From what the first job left over, as it told it; nothing of that job is overwritten."""
    path = small_set(tmp_path)
    machine = ("--machine", "craft-cutter", "--out", tmp_path / "out")
    told = made(path, *machine)
    entries = [s["left_over"]["stock"] for s in told["sheets"] if s["left_over"]]  # type: ignore[attr-defined]
    assert entries
    stock = tmp_path / "left.toml"
    stock.write_text(entries[0])
    before = {p.name: p.read_bytes() for p in (tmp_path / "out").glob("apron*")}
    again = made(path, *machine, "--card", "tab", "--stock", stock)
    (sheet,) = again["sheets"]  # type: ignore[misc]
    assert sheet["cards"] == ["tab"]
    assert sheet["stock"].startswith("left of AP-1, sheet ")
    after = {p.name: p.read_bytes() for p in (tmp_path / "out").iterdir()}
    assert {name: after[name] for name in before} == before
    outline = json.loads(entries[0].split("outline = ")[1])
    lay = load_lay(tmp_path / "out" / "apron-ap-1-m-craft-cutter-tab-lay.json")
    assert lay.sheets[0].kind.outline is not None
    assert np.ptp(lay.sheets[0].kind.outline, axis=0) == pytest.approx(np.ptp(outline, axis=0))


def _sizes(lay: Path) -> dict[str, tuple[float, ...]]:
    return {spot.card: spot.size for sheet in load_lay(lay).sheets for spot in sheet.spots}


def test_a_part_by_itself_is_the_card_that_it_was(tmp_path: Path) -> None:
    """Split for sheets that are shorter than the bed, then cut again from an off-cut, twice."""
    path = small_set(tmp_path, {"Band": (120, 1150), "Tab": (60, 60)})
    stock, left = tmp_path / "stock.toml", tmp_path / "left.toml"
    stock.write_text('[[sheet]]\nname = "card"\nlength = "500 mm"\nwidth = "290 mm"\n')
    left.write_text('[[off-cut]]\nname = "o"\noutline = [[0, 0], [605, 0], [605, 200], [0, 200]]\n')
    out, machine = tmp_path / "out", ("--machine", "craft-cutter")
    made(path, *machine, "--stock", stock, "--out", out)
    whole = _sizes(out / "apron-ap-1-m-craft-cutter-lay.json")
    assert {"band-part-1", "band-part-2", "band-part-3"} <= whole.keys()
    again = (path, *machine, "--stock", left, "--card", "band-part-2")
    told = made(*again, "--out", out)
    assert not any("add --lay" in str(note) for note in told["notes"])  # type: ignore[attr-defined]
    part = out / "apron-ap-1-m-craft-cutter-band-part-2-lay.json"
    assert _sizes(part)["band-part-2"] == pytest.approx(whole["band-part-2"])
    made(*again, "--out", tmp_path / "new", "--lay", part)
    assert not (tmp_path / "new" / part.name).exists()  # a part of a lay is no new one
    told = made(path, *machine, "--stock", left, "--out", tmp_path / "bed", "--card", "band-part-2")
    assert any("add --lay" in str(note) for note in told["notes"])  # type: ignore[attr-defined]
    bed = _sizes(tmp_path / "bed" / "apron-ap-1-m-craft-cutter-band-part-2-lay.json")
    assert bed["band-part-2"] != pytest.approx(whole["band-part-2"])  # split for the bed
    with pytest.raises(UserError, match="add --lay"):
        run(path, *machine, "--stock", left, "--out", tmp_path / "bed", "--card", "band-part-3")


def test_left_over_is_told_in_words_too(tmp_path: Path) -> None:
    done = run(small_set(tmp_path), "--machine", "craft-cutter", "--out", tmp_path / "out")
    assert "left over" in done.output
    (kept,) = (tmp_path / "out").glob("*-left-over.toml")
    assert "[[off-cut]]" in kept.read_text()
    pages = made(small_set(tmp_path), "--machine", "copy-shop", "--out", tmp_path / "out")
    assert [sheet["left_over"] for sheet in pages["sheets"]] == [None]  # type: ignore[attr-defined]


def test_the_lay_of_another_set_is_refused(tmp_path: Path) -> None:
    path = small_set(tmp_path)
    made(path, "--machine", "laser", "--out", tmp_path / "out")
    path.write_text(path.read_text().replace('"M"', '"L"'))
    lay = tmp_path / "out" / "apron-ap-1-m-laser-lay.json"
    with pytest.raises(UserError, match="style AP-1, size M"):
        run(path, "--machine", "laser", "--out", tmp_path / "new", "--lay", lay)
    assert not (tmp_path / "new").exists()


@pytest.mark.thorough
def test_one_more_left_over_does_not_make_a_set_impossible(tmp_path: Path) -> None:
    """Forty plain sheets hold the set; so they do with one ragged left-over beside them."""
    path = small_set(tmp_path, {"Band": (120, 1150), "Tab": (60, 60)})
    plain = '[[sheet]]\nname = "card"\nlength = "500 mm"\nwidth = "290 mm"\ncount = 40\n'
    ragged = (
        '[[off-cut]]\nname = "ragged"\n'
        "outline = [[0, 0], [590, 0], [590, 60], [80, 70], [60, 290], [0, 290]]\n"
    )
    stock, out = tmp_path / "stock.toml", ("--out", tmp_path / "out")
    for text in (plain, ragged + plain, plain + ragged):
        stock.write_text(text)
        told = made(path, "--machine", "craft-cutter", "--stock", stock, *out)
        assert sum(len(sheet["cards"]) for sheet in told["sheets"]) == 5  # type: ignore[attr-defined]
    stock.write_text(ragged)
    with pytest.raises(UserError) as fault:
        run(path, "--machine", "craft-cutter", "--stock", stock, *out)
    assert "Add sheets" not in fault.value.fix
