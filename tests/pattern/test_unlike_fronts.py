"""A collar and a back on the fold, between a right and a left front that are cut once each.

By hand: half a collar of 190 mm is sewn to half a back's 90 mm and 100 mm of one front.
"""

from __future__ import annotations

import pytest

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
