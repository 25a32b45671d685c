"""A piece that a seam takes several times, one after the other: panels along a visor or a band.

The reference is arithmetic on rectangles: two panels of 96 mm are as long as a visor of 192 mm.
"""

from __future__ import annotations

import pytest

from plotout.pattern.walk import walk

from .conftest import Build, rectangle

CAP = """
[[piece]]
name = "Panel"
from = { file = "panel" }
edges = ["base", "right", "top", "left"]
cut = { cloth = "self", count = 6 }
PANEL
[[piece]]
name = "Visor"
from = { file = "visor" }
edges = ["inner", "end", "outer", "start"]
cut = { cloth = "self", count = 2 }
VISOR
[[piece]]
name = "Band"
from = { file = "band" }
edges = ["crown", "back", "free", "front"]
fold = "front"
cut = { cloth = "self", count = 1, on-fold = true }
BAND
[[seam]]
name = "visor"
first = { piece = "Visor", edges = "inner" }
second = { piece = "Panel", edges = "base", times = 2 }
SEAM
[[seam]]
name = "band"
first = { piece = "Panel", edges = "base", times = 6 }
second = { piece = "Band", edges = "crown", times = 2 }
"""


def cap(build: Build, long: float = 192.0, **more: str):
    """Return the walked seams of a cap of six panels of 96 mm, and notches on its pieces."""
    text = CAP
    for name in ("PANEL", "VISOR", "BAND", "SEAM"):
        text = text.replace(name, more.get(name.lower(), ""))
    return walk(build(text, panel=rectangle(96), visor=rectangle(long), band=rectangle(288)))


def at(edge: str, *places: float) -> str:
    return "".join(f'[[piece.notch]]\nedge = "{edge}"\nat = "{place} mm"\n' for place in places)


def test_each_lap_is_walked_and_its_number_cut_is_right(build: Build) -> None:
    visor, band = cap(build)
    assert (visor.first, visor.second, band.first, band.second) == pytest.approx(
        (192, 192, 576, 576)
    )
    assert [(*seam.faults, *seam.notes) for seam in (visor, band)] == [(), ()]


def test_a_notch_may_show_where_two_laps_meet(build: Build) -> None:
    visor, band = cap(build, visor=at("inner", 96), band=at("crown", 96, 192))
    assert [(*seam.faults, *seam.notes) for seam in (visor, band)] == [(), ()]
    assert [(s.first, s.second) for s in visor.stretches] == [(96.0, 96.0)] * 2
    (off,) = cap(build, visor=at("inner", 92))[0].faults
    assert off == (
        "notch 4.0 mm off where 'Panel' and the next 'Panel' meet: at 92.0 mm of 'Visor', "
        "at 96.0 mm of 'Panel'"
    )


def test_each_lap_has_the_notches_of_its_piece(build: Build) -> None:
    visor, _ = cap(build, panel=at("base", 40), visor=at("inner", 40, 96 + 40))
    assert (visor.faults, visor.notes) == ((), ())
    visor, _ = cap(build, panel=at("base", 40), visor=at("inner", 40, 150))
    assert visor.faults == ("notch 150.0 mm along 'inner' of 'Visor' has no partner",)


def test_a_visor_too_long_is_told_by_all_its_laps(build: Build) -> None:
    visor, _ = cap(build, long=198.0)
    assert visor.faults == (
        "6.0 mm too long: 198.0 mm of 'Visor' to 192.0 mm of 'Panel', ease at most 0 mm",
    )


@pytest.mark.parametrize(("long", "told"), [(576.0, True), (570.0, False), (192.0, False)])
def test_as_many_as_are_cut_are_proposed_where_times_is_left_out(build: Build, long, told) -> None:
    """Six panels of 96 mm make 576 mm; two of them are no band of all."""
    text = CAP[: CAP.index("[[seam]]")].replace("VISOR", "").replace("PANEL", "")
    text = text.replace("BAND", "").replace('fold = "front"\n', "").replace(", on-fold = true", "")
    text += '[[seam]]\nname = "band"\nfirst = { piece = "Panel", edges = "base" }\n'
    text += 'second = { piece = "Band", edges = "crown" }\n'
    made = build(text, panel=rectangle(96), visor=rectangle(192), band=rectangle(long))
    (fault,) = walk(made)[0].faults
    words = " (times = 6 for 'Panel', as many as are cut, is right in length)"
    assert fault.endswith(words) == told


def test_two_half_rings_to_a_round_on_the_fold_are_proposed_before_half_of_it(build: Build) -> None:
    """Half a round of 96 mm on the fold, of two cloths, to a half ring of as much."""
    text = """
[[piece]]
name = "Round"
from = { file = "panel" }
edges = ["base", "fold", "top", "left"]
fold = "fold"
cut = [{ cloth = "felt", on-fold = true }, { cloth = "silk", on-fold = true }]
[[piece]]
name = "Ring"
from = { file = "ring" }
edges = ["base", "right", "top", "left"]
cut = [{ cloth = "felt", count = 2 }, { cloth = "silk", count = 2 }, { cloth = "fusing" }]
[[seam]]
name = "brim"
first = { piece = "Round", edges = "base" }
second = { piece = "Ring", edges = "base" }
"""
    (fault,) = walk(build(text, panel=rectangle(96), ring=rectangle(96)))[0].faults
    assert fault.endswith(
        " (times = 2 for 'Ring', as many as are cut, is right in length; or 'times' counts halves "
        "of a piece on the fold: times = 1 for 'Round' is right in length)"
    )


@pytest.mark.parametrize(
    ("cuts", "told"),
    [({"self": 6}, 0), ({"self": 5, "silk": 6}, 1), ({"self": 6, "silk": 6}, 0),
     ({"self": 6, "stiff": 2}, 0), ({"self": 6, "stiff": 4}, 0), ({"self": 3, "silk": 3}, 0),
     ({"self": 6, "lining": 5}, 1), ({"self": 6, "Futter": 5}, 1), ({"self": 6, "lining": 3}, 0)],
)  # fmt: skip
def test_a_row_is_counted_in_the_cloth_of_what_it_is_sewn_to(build: Build, cuts, told) -> None:
    """Six panels to a band of their own cloth; the front ones may be stiffened, or of two. A lining
    is in all of them, or in the front ones.
    """
    orders = ", ".join(f'{{ cloth = "{cloth}", count = {many} }}' for cloth, many in cuts.items())
    text = CAP.replace('{ cloth = "self", count = 6 }', f"[{orders}]")
    text = text[: text.index("[[seam]]")] + text[text.index('[[seam]]\nname = "band"') :]
    for name in ("PANEL", "VISOR", "BAND"):
        text = text.replace(name, "")
    made = build(text, panel=rectangle(96), visor=rectangle(192), band=rectangle(288))
    notes = [note for note in walk(made)[0].notes if "only 5 of 'Panel' are cut" in note]
    assert len(notes) == told


@pytest.mark.parametrize(
    ("halves", "told"),
    [({"self": 2, "silk": 2}, 0), ({"self": 1, "silk": 2}, 1), ({"self": 2, "silk": 1}, 1),
     ({"self": 1, "silk": 1}, 0), ({"self": 2}, 0)],
)  # fmt: skip
def test_two_halves_to_a_whole_are_counted_cloth_by_cloth(build: Build, halves, told) -> None:
    """A beret's crown of two cloths to two half rings: of one cloth alone, two are needed. Halves
    of two colours make up one ring.
    """
    orders = ", ".join(f'{{ cloth = "{cloth}", count = {many} }}' for cloth, many in halves.items())
    text = f"""
[[piece]]
name = "Panel"
from = {{ file = "panel" }}
edges = ["base", "right", "top", "left"]
cut = [{orders}]
[[piece]]
name = "Band"
from = {{ file = "band" }}
edges = ["crown", "back", "free", "front"]
cut = [{{ cloth = "self" }}, {{ cloth = "silk" }}]
[[seam]]
name = "brim"
first = {{ piece = "Panel", edges = "base", times = 2 }}
second = {{ piece = "Band", edges = "crown" }}
"""
    made = build(text, panel=rectangle(96), band=rectangle(192))
    notes = [note for note in walk(made)[0].notes if "only 1 of 'Panel' is cut" in note]
    assert len(notes) == told


HOOD = """
[[piece]]
name = "Hood"
from = {{ file = "hood" }}
edges = ["neck", "face", "top", "back"]
cut = [{cuts}]
[[seam]]
name = "back"
first = {{ piece = "Hood", edges = "back" }}
second = {{ piece = "Hood", edges = "back" }}
"""


@pytest.mark.parametrize(
    ("cuts", "told"),
    [("{ cloth = 'self' }, { cloth = 'silk', pair = true }", 1),
     ("{ cloth = 'self', pair = true }, { cloth = 'silk', pair = true }", 0),
     ("{ cloth = 'self', pair = true }, { cloth = 'canvas' }", 0),
     ("{ cloth = 'self' }, { cloth = 'silk', reversed = true }", 0)],
)  # fmt: skip
def test_a_left_sewn_to_its_right_takes_two_of_each_cloth(build: Build, cuts, told) -> None:
    """A lined hood; of a front, the half that laps over may be stiffened, or each of its own."""
    notes = walk(build(HOOD.format(cuts=cuts), hood=rectangle(230)))[0].notes
    words = "of self, only 1 of 'Hood' is cut, and it takes 2: is 'cut' right?"
    assert (words in notes) == told
    assert not any("of silk" in note or "of canvas" in note for note in notes)


def at_seam(*places: float) -> str:
    return "".join(f'[[seam.notch]]\nat = "{place} mm"\n' for place in places)


@pytest.mark.parametrize("places", [(40,), (40, 150), (30, 96, 180)])
def test_a_seams_notches_are_on_every_lap_and_need_one_partner(build: Build, places) -> None:
    """All panels are cut from one card: a notch that the first lap needs is in the second, too."""
    visor, band = cap(build, seam=at_seam(*places))
    assert (visor.faults, band.faults) == ((), ())


FRILL = """
[[piece]]
name = "Frill"
from = { file = "frill" }
edges = ["gathered", "right", "hem", "left"]
cut = { cloth = "self", count = 3 }
[[piece]]
name = "Skirt"
from = { file = "skirt" }
edges = ["hem", "right", "waist", "fold"]
fold = "fold"
cut = { cloth = "self", count = 1, on-fold = true }
[[seam]]
name = "frill"
first = { piece = "Frill", edges = "gathered", times = 3 }
second = { piece = "Skirt", edges = "hem", times = 2 }
ease = ["600 mm", "600 mm"]
"""


def frill(
    build: Build,
    more: str,
    times: int = 3,
    fold: str = "start",
    ease: str = 'ease = ["600 mm", "600 mm"]',
):
    """Return the frill's walked seam, and its set: 1,800 mm to twice 600 mm, by hand.

    fold: the end of the skirt's hem that lies on the fold.
    """
    text = FRILL.replace("times = 3", f"times = {times}").replace("count = 3", f"count = {times}")
    text = text.replace('ease = ["600 mm", "600 mm"]', ease)
    if fold == "end":
        text = text.replace('"right", "waist", "fold"', '"fold", "waist", "right"')
    made = build(text + more, frill=rectangle(1800 / times), skirt=rectangle(600))
    (seam,) = walk(made)
    assert (seam.first, seam.second) == pytest.approx((1800.0, 1200.0))
    return seam, made


def eased(*places: tuple[float, float]) -> str:
    return "".join(f"[[seam.notch]]\nat = {at}\nease = {ease}\n" for at, ease in places)


def stretched(*eases: float) -> str:
    return "".join(f"[[seam.stretch]]\nease = [{ease}, {ease}]\n" for ease in eases)


def both_halves(fold: str, places: list[tuple[float, float]]) -> set[tuple[int, int]]:
    """Return where notches meet, mm along both sides from end to end: of the written half (600 mm
    of the skirt, with 900 mm of frill), and their mirror images.
    """
    half, own = (900, 600) if fold == "start" else (0, 0)
    one = {(half + at + ease, own + at) for at, ease in places}
    return one | {(1800 - first, 1200 - second) for first, second in one}


def met(seam) -> set[tuple[int, int]]:
    return {(round(pair.first), round(pair.second)) for pair in seam.notches}


def partners(made, times: int, fold: str) -> bool:
    """Return whether each of a skirt's notches, on both its halves, has one on one of the lengths
    of frill, 1,800 mm in all, 1.5 mm of which are sewn to each 1 mm.
    """
    skirt, lengths = (
        [notch.along for notch in made.piece(name).notches] for name in ("Skirt", "Frill")
    )
    past = [at if fold == "start" else 600 - at for at in skirt]
    places = [900 + side * 1.5 * at for at in past for side in (1, -1)]
    size = 1800 / times
    return bool(skirt) and all(
        any(min(abs(place % size - at), size - abs(place % size - at)) < 0.1 for at in lengths)
        for place in places
    )


@pytest.mark.parametrize("notches", ["", at_seam(300), at_seam(300, 500)])
def test_an_odd_number_of_lengths_goes_round_a_piece_on_the_fold(build: Build, notches) -> None:
    seam, _ = frill(build, notches)
    assert seam.faults == ()
    assert not [note for note in seam.notes if "compared past" in note]


@pytest.mark.parametrize("times", [2, 3, 4, 5, 6])
@pytest.mark.parametrize("fold", ["start", "end"])
@pytest.mark.parametrize(
    "places",
    [
        [(200, 100)],
        [(200, 100), (300, 150)],
        [(100, 50), (200, 100), (300, 150), (500, 250)],
        [(0, 0), (600, 300)],
    ],
)
def test_a_notch_of_a_half_has_a_partner_on_both_halves(build: Build, places, fold, times) -> None:
    """1.5 mm to each 1, so that a notch at 200 mm has 100 mm more: also its mirror image."""
    seam, made = frill(build, eased(*places), times, fold)
    assert (seam.faults, seam.notes) == ((), ())
    assert both_halves(fold, places) <= met(seam)
    assert all(first * 2 == second * 3 for first, second in met(seam))
    assert partners(made, times, fold)


@pytest.mark.parametrize("times", [2, 4])
def test_the_lengths_of_both_halves_are_alike_but_for_a_pair_s(build: Build, times) -> None:
    """At 100 of 600 mm on the skirt, evenly, 150 of 900 mm from the fold: the last of it on the
    length on the other side of the fold, unless that is cut as its mirror image.
    """
    size = 1800 / times
    _, alike = frill(build, eased((100, 50)), times)
    assert sorted(n.along for n in alike.piece("Frill").notches) == pytest.approx([150, size - 150])
    pair = FRILL.replace("count = 3", f"pair = true, count = {times // 2}")
    made = build(
        pair.replace("times = 3", f"times = {times}") + eased((100, 50)),
        frill=rectangle(size),
        skirt=rectangle(600),
    )
    assert [n.along for n in made.piece("Frill").notches] == pytest.approx([150])
    assert [(*seam.faults, *seam.notes) for seam in walk(made)] == [()]


def test_two_pieces_in_a_row_on_each_half_lie_the_other_way_round_on_the_other(
    build: Build,
) -> None:
    """A half of 600 mm takes 240 and 360 mm: what is at 100 and 400 mm of it, by hand, is at 100
    and 140 of the first, and at 160 and 200 of the second.
    """
    pieces, seam = FRILL.replace("count = 3", "count = 2").split("[[seam]]")
    length, skirt = pieces.rsplit("[[piece]]", 1)
    near, side = (
        length.replace("Frill", name).replace('"frill"', f'"{name}"') for name in ("Near", "Side")
    )
    row = (
        'first = [{ piece = "Near", edges = "gathered", times = 2 }, '
        '{ piece = "Side", edges = "gathered" }]'
    )
    sewn = [row if "first" in line else line for line in seam.splitlines() if "ease" not in line]
    made = build(
        f"{near}{side}[[piece]]{skirt}[[seam]]" + "\n".join([*sewn, at_seam(100, 400)]),
        Near=rectangle(240),
        Side=rectangle(360),
        skirt=rectangle(600),
    )
    places = {name: sorted(n.along for n in made.piece(name).notches) for name in ("Near", "Side")}
    assert places == {"Near": pytest.approx([100, 140]), "Side": pytest.approx([160, 200])}
    assert [(*seam.faults, *seam.notes) for seam in walk(made)] == [()]


@pytest.mark.parametrize("times", [3, 4])
def test_a_drawn_notch_that_one_half_s_lengths_lack_is_asked_about(build: Build, times) -> None:
    """100 mm along a half is met by 150 mm from the fold, in the middle of 1,800 mm of frill."""
    size = 1800 / times
    right, left = (900 + 150) % size, (900 - 150) % size
    text = FRILL.replace("times = 3", f"times = {times}").replace("count = 3", f"count = {times}")
    skirt, seam = text.split("[[seam]]")
    first, second = skirt.rsplit("[[piece]]", 1)

    def notes(*lengths: float) -> tuple[str, ...]:
        drawn = f"{first}{at('gathered', *lengths)}[[piece]]{second}{at('hem', 100)}"
        made = build(f"{drawn}[[seam]]{seam}", frill=rectangle(size), skirt=rectangle(600))
        (found,) = walk(made)
        return (*found.faults, *found.notes)

    assert notes(right, left) == ()
    assert notes(right) == (
        "notch 100.0 mm along 'hem' of 'Skirt' has a partner on one half of 'Skirt' only",
    )


@pytest.mark.parametrize("fold", ["start", "end"])
@pytest.mark.parametrize("places", [[(400, 200)], [(300, 0), (500, 100)]])
def test_a_seam_s_own_notches_meet_though_its_ease_is_uneven(build: Build, places, fold) -> None:
    """Where a notch of one length ends up in another's, all lengths have it, and one is meant."""
    seam, _ = frill(build, eased(*places), fold=fold)
    assert seam.faults == ()
    assert both_halves(fold, places) <= met(seam)


@pytest.mark.parametrize("times", [3, 4, 5, 6, 9])
@pytest.mark.parametrize("fold", ["start", "end"])
def test_what_is_written_is_of_one_half_whatever_the_number_of_lengths(
    build: Build, times, fold
) -> None:
    """A half of 600 mm has 300 mm of ease: 50 up to its notch at 200 mm, and 250 after it."""
    more = stretched(50, 250) + eased((200, 50))
    seam, made = frill(build, more, times, fold, ease="")
    assert (seam.faults, seam.ease) == ((), (600.0, 600.0))
    (hem,) = (notch.along for notch in made.piece("Skirt").notches)
    assert hem == pytest.approx(200)
    wrong, _ = frill(build, stretched(250, 50) + eased((200, 50)), times, fold, ease="")
    assert any(fault.startswith("notch 200.0 mm off") for fault in wrong.faults)


@pytest.mark.parametrize("times", [3, 4])
def test_a_notch_in_per_cent_is_that_of_one_half(build: Build, times) -> None:
    seam, made = frill(build, '[[seam.notch]]\nat = "25 %"\n', times)
    assert [notch.along for notch in made.piece("Skirt").notches] == pytest.approx([150])
    assert (seam.faults, seam.notes) == ((), ())


@pytest.mark.parametrize("times", [3, 4])
def test_a_notch_on_the_fold_parts_two_stretches_without_ease_between_halves(
    build: Build, times
) -> None:
    more = stretched(0, 100, 200) + eased((0, 0), (200, 100))
    seam, _ = frill(build, more, times, ease="")
    assert seam.faults == ()


@pytest.mark.parametrize("times", [3, 4])
def test_stretches_of_the_whole_are_refused_in_words_that_name_the_half(
    build: Build, times
) -> None:
    seam, _ = frill(build, stretched(600), times, ease="")
    assert seam.faults == (
        "600.0 mm too short: 1800.0 mm of 'Frill' to 1200.0 mm of 'Skirt', ease at least 1200 mm "
        "(its stretches are those of one half, so that the whole has twice their ease)",
    )
    miscounted, _ = frill(build, stretched(100, 100, 100), times, ease="")
    assert "the ease of 3" in miscounted.faults[0]


@pytest.mark.parametrize("times", [3, 4])
def test_a_notch_beyond_one_half_is_refused_whatever_the_number_of_lengths(
    build: Build, times
) -> None:
    _, made = frill(build, at_seam(700), times)
    (fault,) = made.piece("Skirt").faults
    assert "'Skirt' is 600.0 mm long there" in str(fault)


GUSSET = """
[[piece]]
name = "Front"
from = { file = "front" }
edges = ["seat", "right", "top", "left"]
cut = { cloth = "self", count = 1, pair = true }
FRONT
[[piece]]
name = "Gusset"
from = { file = "gusset" }
edges = ["long", "right", "other", "left"]
cut = { cloth = "self", count = 1 }
SEW
[[seam]]
name = "gusset"
first = { piece = "Front", edges = "seat", times = 2 }
second = { piece = "Gusset", edges = "long" }
"""


@pytest.mark.parametrize(
    ("places", "faults"),
    [
        ([30, 170], ()),
        ([30, 130], ("notch 40.0 mm off: at 170.0 mm of 'Front', at 130.0 mm of 'Gusset'",)),
    ],
)
def test_the_left_of_a_pair_follows_its_right_as_a_mirror_image(
    build: Build, places, faults
) -> None:
    """Two fronts of 100 mm to 200 mm: a notch at 30 mm is 30 mm from both ends, by hand."""
    text = GUSSET.replace("FRONT", at("seat", 30)).replace("SEW", at("long", *places))
    (seam,) = walk(build(text, front=rectangle(100), gusset=rectangle(200)))
    assert (seam.faults, seam.notes) == (faults, ())


@pytest.mark.parametrize("edges", ['"back"', '["top", "back"]'])
@pytest.mark.parametrize(
    ("cloth", "told"),
    [("felt", 1), ("boarded felt", 1), ("peak board", 0), ("Graupappe", 0), ("horsehair", 0)],
)
def test_a_peaks_two_layers_are_stiffened_once(build: Build, cloth, told, edges) -> None:
    """Common practice, from memory: its board lies between them."""
    text = HOOD.format(cuts=f"{{ cloth = 'self', count = 2 }}, {{ cloth = '{cloth}' }}")
    text = text.replace('edges = "back"', f"edges = {edges}")
    notes = walk(build(text, hood=rectangle(230)))[0].notes
    assert len([note for note in notes if f"of {cloth}, only 1" in note]) == told
