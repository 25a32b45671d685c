"""A collar on the fold, sewn to a right and a left front and to a back, of which a half is drawn or
the whole.

By hand: half a collar of 190 mm is sewn to half a back's 90 mm and 100 mm of one front.
"""

from __future__ import annotations

import pytest

from plotout.errors import UserError
from plotout.pattern.walk import walk

from .conftest import Build, rectangle

NAMES = 'edges = ["neck", "end", "free", "fold"]'
SET = f"""
[[piece]]
name = "Collar"
from = {{ file = "collar" }}
{NAMES}
fold = "fold"
cut = {{ cloth = "self", on-fold = true, count = COUNT }}
[[piece]]
name = "Back"
from = {{ file = "back" }}
{NAMES}
fold = "fold"
cut = {{ cloth = "self", on-fold = true }}
[[piece]]
name = "Right"
from = {{ file = "front" }}
{NAMES}
cut = {{ cloth = "self" }}
[[piece]]
name = "Left"
from = {{ file = "front" }}
{NAMES}
cut = {{ cloth = "self" }}
"""


def seam(front: str) -> str:
    return (
        f'[[seam]]\nname = "{front}"\nfirst = {{ piece = "Collar", edges = "neck" }}\nsecond = '
        f'[{{ piece = "Back", edges = "neck" }}, {{ piece = "{front}", edges = "neck" }}]\n'
        '[[seam.notch]]\nat = "90 mm"\n'
    )


def sewn(build: Build, *fronts: str, count: int = 1):
    text = SET.replace("COUNT", str(count)) + "".join(map(seam, fronts))
    return walk(build(text, collar=rectangle(190), back=rectangle(90), front=rectangle(100)))


@pytest.mark.parametrize("count", [1, 2])
def test_each_front_is_sewn_to_one_half(build: Build, count) -> None:
    for one in sewn(build, "Right", "Left", count=count):
        assert (one.first, one.second) == pytest.approx((190, 190))
        assert (one.faults, one.notes) == ((), ())


def test_a_front_that_is_missing_is_asked_about(build: Build) -> None:
    (one,) = sewn(build, "Right")
    assert one.faults == ()
    assert one.notes == (
        "the 1 cut of each of 'Collar' and 'Back' is enough to sew it twice, but the 1 of 'Right' "
        "only once: is 'cut' right, or is the rest sewn elsewhere?",
    )


def whole(build: Build, way: str = "", notch: str = "", drawn: str = "", collar: float = 190):
    """Return the walked seam and the set: a pair of fronts, and a back that is drawn whole."""
    pieces = SET.replace("COUNT", "1").split("[[piece]]")
    back = pieces[2].replace('fold = "fold"\n', "").replace(", on-fold = true", "")
    front = pieces[3].replace('"self"', '"self", pair = true').replace("Right", "Front") + drawn
    text = "[[piece]]".join(["", pieces[1], back, front])
    sewn = ", ".join(
        f'{{ piece = "{piece}", edges = "{edge}" }}'
        for piece, edge in (("Front", "-neck"), ("Back", "neck"), ("Front", f"{way}neck"))
    )
    text += (
        f'[[seam]]\nname = "neck"\nfirst = {{ piece = "Collar", edges = "neck" }}\n'
        f"second = [{sewn}]\n{notch}"
    )
    made = build(text, collar=rectangle(collar), back=rectangle(180), front=rectangle(100))
    return walk(made)[0], made


def test_a_right_and_a_left_may_be_named_before_and_after_a_whole_back(build: Build) -> None:
    seam, _ = whole(build)
    assert (seam.first, seam.second) == pytest.approx((380, 380))
    assert (seam.faults, seam.notes) == ((), ())
    assert whole(build, collar=200)[0].faults


def test_both_walked_alike_is_refused(build: Build) -> None:
    with pytest.raises(UserError, match="has edge 'neck' of 'Front' twice"):
        whole(build, way="-")


@pytest.mark.parametrize(("at", "front", "back"), [(30, [70], []), (100, [0], []), (150, [], [50])])
def test_a_notch_is_on_both_sides_of_the_back(build: Build, at, front, back) -> None:
    """A front's edge begins where it meets the back; the back's twin is as far from its end."""
    seam, made = whole(build, notch=f'[[seam.notch]]\nat = "{at} mm"\n')
    assert (seam.faults, seam.notes) == ((), ())
    places = {name: sorted(n.along for n in made.piece(name).notches) for name in ("Front", "Back")}
    assert places["Front"] == pytest.approx(front)
    assert places["Back"] == pytest.approx([*back, *(180 - place for place in back)])
    assert [n.along for n in made.piece("Collar").notches] == pytest.approx([190 - at])


REVERSED = """
[[piece]]
name = "Collar"
from = { file = "collar" }
edges = ["neck", "end", "free", "fold"]
fold = "fold"
cut = { cloth = "red", on-fold = true }
[[piece]]
name = "Front"
from = { file = "front" }
edges = ["neck", "end", "free", "edge"]
cut = [{ cloth = "red" }, { cloth = "OTHER", reversed = true }]
[[seam]]
name = "neck"
first = { piece = "Front", edges = "neck" }
second = { piece = "Collar", edges = "neck" }
"""


@pytest.mark.parametrize(
    ("other", "front", "times"),
    [("blue", 190, 2), ("red", 190, 2), ("blue", 187, 2), ("lining", 380, 1)],
)
def test_one_as_drawn_and_one_reversed_are_a_left_and_a_right(
    build: Build, other, front, times
) -> None:
    """By their length: half a collar each, or a shell and its lining along the whole."""
    text = REVERSED.replace("OTHER", other)
    (one,) = walk(build(text, collar=rectangle(190), front=rectangle(front)))
    assert (one.first_times, one.first) == (times, pytest.approx(front * times))
    assert bool(one.faults) == (front == 187)


PLEATED = """
[[piece]]
name = "Back"
from = { file = "back" }
edges = ["waist", "side", "hem", "centre"]
cut = { cloth = "red", pair = true }
[[piece]]
name = "Board"
from = { file = "board" }
edges = ["foot", "end", "top", "fold"]
fold = "fold"
cut = { cloth = "red", count = 2, on-fold = true }
[[seam]]
name = "pleats"
first = { piece = "FIRST", edges = "EDGE" }
second = { piece = "SECOND", edges = "OTHER" }
ease = EASE
"""
BACK_TO_BOARD = ("Back", "waist"), ("Board", "foot")


@pytest.mark.parametrize(
    ("back", "ease", "turned", "times", "off"),
    [
        (460, "[679, 681]", False, 2, 0.0),
        (460, "[-681, -679]", True, 2, 0.0),
        (450, "[679, 681]", False, 2, -19.0),  # the true amount: 900 less 240 is 660
        (460, "[219, 221]", False, 1, 0.0),  # each back to a board of its own
        (450, "[219, 221]", False, 1, -9.0),
        (240, "[0, 0]", False, 1, 0.0),
        (120, "[0, 0]", False, 2, 0.0),
        (130, "[0, 0]", False, 2, 20.0),
    ],
)
def test_a_pair_pleated_into_a_doubled_board_is_counted_as_its_ease_shows(
    build: Build, back, ease, turned, times, off
) -> None:
    """Two boards of 240 mm on the fold: both backs go between them, or each to one of them."""
    (first, edge), (second, other) = BACK_TO_BOARD[::-1] if turned else BACK_TO_BOARD
    text = PLEATED.replace("FIRST", first).replace("EDGE", edge).replace("EASE", ease)
    text = text.replace("SECOND", second).replace("OTHER", other)
    (one,) = walk(build(text, back=rectangle(back), board=rectangle(120)))
    backs = one.second_times if turned else one.first_times
    assert (backs, one.whole.off) == (times, pytest.approx(off))
    assert [fault.split(":")[0] for fault in one.faults] == (
        [f"{abs(off):.1f} mm too {'long' if off > 0 else 'short'}"] if off else []
    )
