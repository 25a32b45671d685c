"""The length of many lines together: compared with GEOS."""

import numpy as np
import pytest
import shapely

from plotout.geometry.polyline import whole_length


@pytest.mark.parametrize("sizes", [(), (1,), (2,), (1, 1), (3, 1, 4), (1, 5, 2, 2, 1)])
def test_of_all_lines_without_the_ways_between_them(sizes):
    rng = np.random.default_rng(len(sizes))
    lines = [rng.uniform(-50, 50, (size, 2)) for size in sizes]
    drawn = [shapely.LineString(line) for line in lines if len(line) > 1]
    assert whole_length(lines) == pytest.approx(shapely.length(drawn).sum() if drawn else 0.0)
