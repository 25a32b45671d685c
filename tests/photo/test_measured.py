"""What is said of a measured distance. That printers are seldom off by 1 %: common practice."""

from dataclasses import replace

import pytest
from plotout_photo.accuracy import error_map
from plotout_photo.advice import advice
from plotout_photo.model import Known
from plotout_photo.together import together

ENDS = (-11.0, -6.0), (229.0, -6.0)  # crosses of a strip, mm, as the guide says


def told(surveyed, ends, longer=0.0):
    """Return what to do, by a distance between two crosses that is so much longer than printed."""
    nominal = surveyed.solution.model.distance(surveyed.solution.x, Known(ends, 1.0))
    solution, _ = together(surveyed.shots, [Known(ends, nominal * (1.0 + longer))])
    made = replace(surveyed, solution=solution)
    return "\n".join(advice(made, error_map(made)))


@pytest.mark.parametrize(("longer", "asked"), [(0.004, False), (0.018, True), (-0.03, True)])
def test_a_print_that_is_off_by_more_than_printers_are_is_doubted(surveyed, longer, asked):
    one, other = surveyed.solution.model.strips[:2]
    said = told(surveyed, ((one, ENDS[0]), (other, ENDS[1])), longer)
    assert f"the strips are {100 * longer:+.1f}" in said
    assert ("seldom off by more than 1 %" in said) == asked
    assert ("measure it once more" in said) == asked


def test_a_place_that_only_the_measuring_leaves_uncertain_asks_for_a_longer_distance(surveyed):
    """One strip's length by a tape, read to 0.25 mm (common practice): 2 * 0.25 / 240 = 0.21 %."""
    strip = surveyed.solution.model.strips[0]
    said = told(surveyed, ((strip, ENDS[0]), (strip, ENDS[1])))
    share = float(said.split("all lengths uncertain by ")[1].split(" %")[0])
    assert share == pytest.approx(100.0 * 2.0 * 0.25 / 240.0, rel=0.25)  # of 48 draws
    assert "Measure a longer distance, or a second one." in said
    assert "lay a strip near it" not in said
