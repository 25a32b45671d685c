"""Panels and sleeves of which two pairs are cut where one is sewn in: counted by hand.

Common practice, from memory: panels sewn side by side along the grain are there in the same number
of layers; yokes, collars, bands and self-lined bodices are in two beside a single piece.
"""

import pytest

from plotout.review.count_doubts import count_doubts

from .test_tube_doubts import FOLD, read, seam

GRAIN = "grain = {{ from = [{0}, {1}], to = [{0}, {2}] }}\n"
PAIR, HALF = 'cloth = "self", pair = true', 'cloth = "self", on-fold = true'


def piece(name, points, edges, cut, count=1, fold=False):
    """A piece whose grain runs up and down through the middle of its outline's corners."""
    x = sum(x for x, _ in points) / len(points)
    low, high = min(y for _, y in points), max(y for _, y in points)
    names = ", ".join(f'"{edge}"' for edge in edges.split())
    return (
        f'[[piece]]\nname = "{name}"\npoints = {[list(point) for point in points]}\n'
        f"edges = [{names}]\n{(FOLD + chr(10)) * fold}"
        f"cut = {cut_of(cut, count)}\n" + GRAIN.format(x, low + 10, high - 10)
    )


def cut_of(cut, count):
    """Cloth by cloth; of the first one, `count`."""
    orders = [f"{{ {order}, count = {count if k == 0 else 1} }}" for k, order in enumerate(cut)]
    return f"[{', '.join(orders)}]"


def rectangle(name, wide, tall, edges, cut, count=1, fold=False):
    corners = (0, 0), (wide, 0), (wide, tall), (0, tall)
    return piece(name, corners, edges, cut, count, fold)


def asked(*parts):
    whole = read(*parts)
    return list(count_doubts(whole.seams, whole))


def bustier(front=1, side=1, back=1, lined=False, all_times=1):
    """Half a front on the fold, a pair of sides, a pair of backs: open at their upper and lower
    edges, and at the back.
    """
    pair, half = ([cut, cut.replace("self", "lining")][: 1 + lined] for cut in (PAIR, HALF))
    return asked(
        rectangle("Front", 80, 300, "foot a top fold", half, front * all_times, fold=True),
        rectangle("Side", 100, 300, "foot b top a", pair, side * all_times),
        rectangle("Back", 90, 300, "foot lacing top b", pair, back * all_times),
        seam("Front a", "Side -a"),
        seam("Side b", "Back -b"),
    )


@pytest.mark.parametrize("lined", [False, True])
@pytest.mark.parametrize("twice", ["front", "side", "back"])
def test_two_pairs_of_a_bustiers_panels_are_asked_about_where_one_is_sewn_in(twice, lined):
    (note,) = bustier(**{twice: 2}, lined=lined)
    beside = "Front" if twice == "side" else "Side"
    assert note.startswith(
        f"{twice.title()}: it is cut 2 times as often as '{beside}' takes, to which seam "
    )


@pytest.mark.parametrize("lined", [False, True])
@pytest.mark.parametrize("times", [1, 2])
def test_a_bustier_is_not_asked_about_however_many_layers_it_has(lined, times):
    assert bustier(lined=lined, all_times=times) == []


def skirt(back=1, yoke=2, yoke_back=2):
    """A front on the fold and a pair of backs, with a yoke of the hip in two layers."""
    return asked(
        rectangle("Front", 250, 500, "foot side head fold", [HALF], fold=True),
        rectangle("Back", 250, 500, "foot side head centre", [PAIR], back),
        rectangle("Yoke", 250, 110, "skirt side waist fold", [HALF], yoke, fold=True),
        rectangle("Back-yoke", 250, 110, "skirt side waist centre", [PAIR], yoke_back),
        seam("Front side", "Back side"),
        seam("Yoke side", "Back-yoke side"),
        seam("Front head", "Yoke -skirt"),
        seam("Back head", "Back-yoke -skirt"),
        seam("Back centre", "Back centre"),
        seam("Back-yoke centre", "Back-yoke centre"),
    )


def test_a_skirt_back_in_two_pairs_is_asked_about_though_its_yoke_is_double():
    assert skirt() == []
    (note,) = skirt(back=2)
    assert note.startswith("Back: it is cut 2 times as often as 'Front' takes, to which seam ")


def test_a_band_in_two_layers_along_a_single_front_is_not_asked_about():
    """Both layers are sewn to each other at the front edge."""
    for wide, count in ((45, 2), (70, 2), (45, 1)):
        assert (
            asked(
                rectangle("Front", 250, 500, "foot side top front", [PAIR]),
                rectangle("Band", wide, 500, "foot edge head front", [PAIR], count),
                seam("Front front", "Band -front"),
                seam("Band edge", "Band edge"),
            )
            == []
        )


@pytest.mark.parametrize(("fronts", "backs", "told"), [(2, 1, 1), (1, 2, 1), (1, 1, 0), (2, 2, 0)])
def test_a_bodices_front_in_two_pairs_beside_a_single_back_is_asked_about(fronts, backs, told):
    """Its side is shorter than its armhole; side and shoulder are both sewn."""
    body, names = (
        ((0, 0), (250, 0), (250, 180), (205, 400), (0, 430)),
        "waist side armhole shoulder",
    )
    found = asked(
        piece("Front", body, f"{names.replace('armhole', 'scye')} edge", [PAIR], fronts),
        piece("Back", body, f"{names} fold", [HALF], backs, fold=True),
        rectangle("Skirt", 250, 600, "foot side head fold", [HALF], fold=True),
        rectangle("Skirt-front", 250, 600, "foot side head open", [PAIR]),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        seam("Skirt side", "Skirt-front side"),
        seam("Skirt head", "Back -waist"),
        seam("Skirt-front head", "Front -waist"),
    )
    assert len([note for note in found if "is its count right" in note]) == told


def test_a_bodice_lined_with_its_own_cloth_above_a_single_skirt_is_not_asked_about():
    body = "waist side armhole fold", "waist side armhole centre"
    assert (
        asked(
            rectangle("Front", 250, 400, body[0], [HALF], 2, fold=True),
            rectangle("Back", 250, 400, body[1], [PAIR], 2),
            rectangle("Skirt", 250, 600, "foot side head fold", [HALF], fold=True),
            rectangle("Skirt-back", 250, 600, "foot side head centre", [PAIR]),
            seam("Front side", "Back side"),
            seam("Skirt side", "Skirt-back side"),
            seam("Skirt head", "Front -waist"),
            seam("Skirt-back head", "Back -waist"),
        )
        == []
    )


CAP = (0, 0), (340, 0), (340, 250), (170, 380), (0, 250)
BODY = (0, 0), (260, 0), (260, 400), (200, 600), (0, 600)


@pytest.mark.parametrize(("count", "told"), [(1, 0), (2, 1)])
def test_a_sleeve_sewn_in_flat_is_counted_where_its_seam_goes_on_from_the_side(count, told):
    side = '{{ piece = "{}", edges = ["{}"] }}'
    chained = (
        '[[seam]]\nname = "side and arm"\n'
        f"first = [{side.format('Front', 'side')}, {side.format('Sleeve', '-right')}]\n"
        f"second = [{side.format('Back', 'side')}, {side.format('Sleeve', 'left')}]\n"
    )
    found = asked(
        *(piece(name, BODY, "foot side armhole top fold", [HALF], fold=True)
          for name in ("Front", "Back")),
        piece("Sleeve", CAP, "wrist right cap-front cap-back left", [PAIR], count),
        seam("Sleeve cap-front", "Front armhole"),
        seam("Sleeve cap-back", "Back -armhole"),
        chained,
    )  # fmt: skip
    assert len(found) == told, found
    assert all("Sleeve: seam 'side and arm' closes 4 of it, but seam" in note for note in found)


@pytest.mark.parametrize(("count", "told"), [(2, 0), (4, 1)])
def test_a_sleeve_cut_on_the_fold_is_counted_as_any_other(count, told):
    half = (0, 0), (170, 0), (170, 250), (0, 380)
    found = asked(
        piece("Body", BODY, "foot side armhole top fold", [HALF], 2, fold=True),
        piece("Sleeve", half, "wrist seam cap fold", [HALF], count, fold=True),
        seam("Sleeve seam", "Sleeve seam"),
        seam("Sleeve cap", "Body armhole"),
    )
    assert len(found) == told, found
    assert all("closes 4 of it, but seam 'Sleeve cap'" in note for note in found)


@pytest.mark.parametrize(("count", "told"), [(1, 0), (2, 1)])
def test_two_pairs_of_both_parts_of_a_sleeve_are_asked_about(count, told):
    found = asked(
        piece("Body", BODY, "foot side armhole top fold", [HALF], fold=True),
        rectangle("Upper", 200, 450, "wrist fore cap hind", [PAIR], count),
        rectangle("Under", 130, 450, "wrist hind head fore", [PAIR], count),
        seam("Upper fore", "Under -fore"),
        seam("Upper hind", "Under -hind"),
        seam("Upper cap", "Body armhole"),
    )
    assert len(found) == told, found
    assert all(
        note == "Upper: seams make 4 tubes of it and 'Under', but seam 'Upper cap' takes only 2: "
        "are their counts right?"
        for note in found
    )


def waistcoat(cloths, count, whole):
    """A front cut of these, of the first `count` times; beside a back of lining, twice."""
    sides = "foot side arm shoulder neck edge"
    corners = (0, 0), (240, 0), (240, 300), (190, 520), (70, 540), (0, 300)
    back = (HALF if whole else PAIR).replace("self", "lining")
    return asked(
        piece("Front", corners, sides, [PAIR.replace("self", one) for one in cloths], count),
        piece("Back", corners, sides, [back], 2, fold=whole).replace(FOLD, 'fold = "edge"'),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        *([] if whole else [seam("Back edge", "Back edge")]),
    )


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize(
    ("cloths", "count", "told"),
    [
        (("self", "lining"), 2, 1),
        (("lining", "self"), 2, 1),
        (("self", "lining"), 1, 0),
        (("self", "lining", "canvas"), 1, 0),
        (("self", "wadding"), 2, 0),
    ],
)
def test_a_lined_front_has_as_many_layers_as_a_back_of_lining(cloths, count, told, whole):
    assert waistcoat(cloths, count, whole) == told * [
        "Front: with its lining it has more layers than 'Back', to which seam 'Front side' sews "
        "it: is its count right?"
    ]
