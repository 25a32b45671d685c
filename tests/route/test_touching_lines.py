"""Lines that touch are found though long ones are compared in parts.

Reference: shapely's distance of every pair of whole lines.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import shapely

from plotout.route import trails

REACH = 0.01


def test_long_lines_among_short_ones_are_found_as_whole_lines_are():
    random = np.random.default_rng(3)
    turn = np.linspace(0.0, 2.0 * np.pi, 61)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    lines = [radius * circle for radius in np.linspace(40.0, 100.0, 25)]
    lines += [place + 3.0 * circle for place in random.uniform(-90.0, 90.0, (40, 2))]
    lines += [np.array([[0.0, 0.0], place]) for place in random.uniform(-120.0, 120.0, (20, 2))]
    group = np.repeat([0, 1], [60, 25])
    some = np.arange(0, 85, 2)
    found = trails._touching(lines, some, group, REACH)
    shapes = [shapely.LineString(line) for line in lines]
    expected = [
        (a, b)
        for a, b in combinations(range(85), 2)
        if group[a] == group[b]
        and (a % 2 == 0 or b % 2 == 0)
        and shapes[a].distance(shapes[b]) <= REACH
    ]
    assert found == expected
    assert len(found) > 20
