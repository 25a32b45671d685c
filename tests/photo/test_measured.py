"""What is said of a measured distance. That printers are seldom off by 1 %: common practice."""

from dataclasses import replace

import pytest
from plotout_photo.accuracy import error_map
from plotout_photo.advice import advice
from plotout_photo.model import Known
from plotout_photo.together import together


@pytest.mark.parametrize(("longer", "asked"), [(0.004, False), (0.018, True), (-0.03, True)])
def test_a_print_that_is_off_by_more_than_printers_are_is_doubted(surveyed, longer, asked):
    one, other = surveyed.solution.model.strips[:2]
    ends = ((one, (-11.0, -6.0)), (other, (229.0, -6.0)))
    nominal = surveyed.solution.model.distance(surveyed.solution.x, Known(ends, 1.0))
    solution, _ = together(surveyed.shots, [Known(ends, nominal * (1.0 + longer))])
    said = "\n".join(advice(replace(surveyed, solution=solution), error_map(surveyed)))
    assert f"the strips are {100 * longer:+.1f}" in said
    assert ("seldom off by more than 1 %" in said) == asked
    assert ("measure it once more" in said) == asked
