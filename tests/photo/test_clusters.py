"""Stabs that touch each other, painted disc by disc (plane geometry), taken apart again."""

import numpy as np
import pytest
from plotout_photo.clusters import stabs_of
from plotout_photo.lines import drawn_lines, without
from scipy.ndimage import gaussian_filter

SCALE, BLUR, SUB = 4.3, 0.9, 8  # pixels per mm; pixels; samples along a pixel


def painted(inside, size=15.0):
    """Return the darkness of a picture of `size` mm, (h, w). inside: how dark places, mm, are."""
    side = round(size * SCALE)
    edge = (np.arange(side * SUB) + 0.5) / SUB - 0.5
    x, y = np.meshgrid(edge / SCALE, edge / SCALE)
    dark = inside(x, y).reshape(side, SUB, side, SUB).mean(axis=(1, 3))
    noise = np.random.default_rng(1).normal(0.0, 0.01, dark.shape)
    return (gaussian_filter(dark, BLUR) + noise).astype(np.float32)


def discs(at, sizes):
    def inside(x, y):
        dark = np.zeros_like(x)
        for (u, v), size in zip(at, sizes, strict=True):
            dark = np.maximum(dark, 0.7 * (np.hypot(x - u, y - v) < size / 2.0))
        return dark

    return inside


@pytest.mark.parametrize("sizes", [(1.2, 1.2, 1.2, 1.2), (0.6, 1.1, 0.6, 0.8)])
def test_four_touching_stabs_are_found_each_in_its_place(sizes):
    at = np.array([7.5, 7.5]) + 0.85 * np.array([[1, 0.1], [0.1, -1], [-1, 0], [0, 1.0]])
    found = stabs_of(painted(discs(at, sizes)), np.array([[7.5, 7.5], at[0]]) * SCALE, SCALE, BLUR)
    gaps = np.hypot(*(found[:, None, :2] / SCALE - at).transpose(2, 0, 1))
    assert len(found) == 4
    assert gaps.min(axis=0).max() < 0.05
    assert 2.0 * found[gaps.argmin(axis=0), 3] / SCALE == pytest.approx(sizes, abs=0.2)


def test_four_stabs_that_are_seen_as_one_spot_are_found_each_in_its_place():
    at = np.array([7.5, 7.5]) + 0.85 * np.array([[1, 0.1], [0.1, -1], [-1, 0], [0, 1.0]])
    picture = painted(discs(at, (1.2, 1.2, 1.2, 1.2)))
    found = stabs_of(picture, np.array([[7.5, 7.5]]) * SCALE, SCALE, BLUR)
    assert found is not None
    gaps = np.hypot(*(found[:, None, :2] / SCALE - at).transpose(2, 0, 1))
    assert len(found) == 4
    assert gaps.min(axis=0).max() < 0.05


def test_one_hole_stays_one_however_large():
    for size in (0.5, 0.9, 1.3):
        picture = painted(discs([(7.5, 7.5)], [size]))
        (found,) = stabs_of(picture, np.array([[7.5, 7.5]]) * SCALE, SCALE, BLUR)
        assert found[:2] / SCALE == pytest.approx((7.5, 7.5), abs=0.03)
        assert found[4] == pytest.approx(0.7 * np.pi / 4.0 * size**2, rel=0.15)  # all its darkness


@pytest.mark.parametrize("side", [2.0, 2.3, 2.6])
def test_a_printed_square_dot_is_no_four_stabs(side):
    """As those of a colon 15 mm high; four discs cover it, but nothing is bright between them."""

    def square(x, y):
        return 0.55 * ((abs(x - 7.5) < side / 2.0) & (abs(y - 7.5) < side / 2.0))

    spots = np.array([[7.5, 7.5], [7.5 + side / 4.0, 7.5 + side / 4.0]])
    for at in (spots, spots[:1]):
        found = stabs_of(painted(square), at * SCALE, SCALE, BLUR)
        assert found is None or len(found) == 0


@pytest.mark.parametrize("wide", [0.5, 0.65, 0.8])
@pytest.mark.parametrize("across", [1.8, 2.2, 2.6])
def test_a_small_ring_is_no_wreath_of_stabs_and_a_hole_beside_it_is_found(across, wide):
    """An `o` of handwriting; also one that has run full, of which discs cover the most."""
    hole = np.array([7.5 + across / 2.0 + 1.3, 7.3])

    def drawing(x, y, full=False):
        far = np.hypot((x - 7.5) * 1.1, y - 7.5) - across / 2.0
        ring = 0.5 * ((far if full else np.abs(far)) < wide / 2.0)
        return np.maximum(ring, discs([hole], [0.8])(x, y))

    way = np.arange(4) * np.pi / 2.0
    spots = np.vstack([7.5 + across / 2.0 * np.column_stack([np.cos(way), np.sin(way)]), hole])
    for full in (False, True):
        dark = painted(lambda x, y, full=full: drawing(x, y, full))
        found = stabs_of(dark, spots * SCALE, SCALE, BLUR)
        gaps = np.hypot(*(found[:, :2] / SCALE - hole).T) if found is not None else np.zeros(0)
        assert (gaps < 0.3).all()


def test_a_stroke_of_lettering_is_no_row_of_stabs():
    def stroke(x, y):
        return 0.6 * ((np.abs(x - 7.5) < 0.5) & (np.abs(y - 7.5) < 4.0))

    at = np.array([[7.5, 5.0], [7.5, 7.5], [7.5, 10.0]]) * SCALE
    assert stabs_of(painted(stroke), at[:1], SCALE, BLUR) is None
    assert stabs_of(painted(stroke), at[1:2], SCALE, BLUR) is None


def pencil(ends, wide=0.5, dark=0.28):
    """Return the darkness of a line of a certain width from place to place, with round ends."""
    start, end = np.array(ends, dtype=float)
    along = (end - start) / np.hypot(*(end - start))

    def inside(x, y):
        u = np.clip((x - start[0]) * along[0] + (y - start[1]) * along[1],
                    0.0, np.hypot(*(end - start)))  # fmt: skip
        off = np.hypot(x - start[0] - u * along[0], y - start[1] - u * along[1])
        return dark * (off < wide / 2.0)

    return inside


@pytest.mark.parametrize("gap", [2.0, 2.2])
def test_a_stroke_beside_a_pencil_line_is_no_part_of_it_and_whole(gap):
    """A stroke of 6 mm that goes as the line does: what is left of it are no spots in a row."""
    along, aside = np.array([0.6, 0.8]), np.array([0.8, -0.6])
    line = pencil([[2.0, 3.0], np.array([2.0, 3.0]) + 42.0 * along], wide=0.6, dark=0.25)
    start = np.array([2.0, 3.0]) + 18.0 * along + gap * aside
    stroke = pencil([start, start + 6.0 * along], wide=0.6, dark=0.33)
    dark = painted(lambda x, y: np.maximum(line(x, y), stroke(x, y)), 40.0)
    drawn = drawn_lines(dark, SCALE)
    on = (start + np.linspace(0.5, 5.5, 11)[:, None] * along) * SCALE
    column, row = np.round(on - 0.5).astype(int).T
    assert drawn[row, column].max() == 0.0
    column, row = np.round(on - 0.5 - gap * SCALE * aside).astype(int).T
    assert drawn[row, column].min() > 0.15


STABS = 0.9 * np.array([[1.0, 0.3], [-0.75, 0.7], [-0.2, -1.0]])


@pytest.mark.parametrize("turn", [55.0, 75.0, 120.0, 150.0])
@pytest.mark.parametrize("beyond", [-0.3, 0.0, 0.8])
def test_where_two_pencil_lines_end_or_cross_only_the_stabs_are_found(turn, beyond):
    """What covers a place twice lets light through twice; `beyond`: mm by which lines overshoot."""
    middle = np.array([20.0, 20.0])
    ways = [np.array([np.cos(a), np.sin(a)]) for a in np.radians([190.0, 190.0 + turn])]
    lines = [pencil((middle - beyond * way, middle + 19.0 * way)) for way in ways]
    holes = discs(middle + STABS, (0.7, 0.9, 0.6))

    def scene(x, y, stabs=True):
        clear = (1.0 - lines[0](x, y)) * (1.0 - lines[1](x, y))
        return 1.0 - clear * (1.0 - holes(x, y)) if stabs else 1.0 - clear

    for stabs in (True, False):
        dark = painted(lambda x, y, stabs=stabs: scene(x, y, stabs), 40.0)
        drawn = drawn_lines(dark, SCALE)
        seen = middle + (STABS if stabs else [[0.1, 0.0]])
        clean = without(dark, drawn)
        found = stabs_of(clean, seen * SCALE, SCALE, BLUR, (dark, drawn))
        assert len(found) == (3 if stabs else 0)
        if stabs:
            places = found[:, :2] / SCALE
            gaps = np.hypot(*(places[:, None] - seen).transpose(2, 0, 1))
            assert gaps.min(axis=0).max() < 0.1


@pytest.mark.parametrize("dark", [0.35, 0.6, 0.75])
def test_a_hole_whose_rim_has_torn_a_dark_line_away_is_in_its_place(dark):
    """The rim is as bright as paper, and the hole no darker than the line."""
    from plotout_photo.holes import measured
    from plotout_photo.sift import certainty

    at = np.array([[20.0, 19.9], [20.0, 28.0]])
    line = pencil(((20.0, 1.0), (20.0, 39.0)), 0.6, dark)

    def scene(x, y):
        far = np.min([np.hypot(x - u, y - v) for u, v in at], axis=0)
        return np.where(far < 0.4, 0.85, np.where(far < 0.75, 0.0, line(x, y)))

    seen = painted(scene, 40.0)
    drawn = drawn_lines(seen, SCALE)
    spots = at * SCALE + 0.4
    made = measured(seen, without(seen, drawn), drawn, spots, np.full(2, SCALE), BLUR)
    sure = made.of(certainty(made) > 0.5)
    assert len(sure) == 2
    gaps = np.hypot(*(sure.at[:, None] / SCALE - at).transpose(2, 0, 1))
    assert gaps.min(axis=1).max() < 0.06


def test_the_corner_of_a_thing_that_lies_on_the_sheet_is_no_hole():
    """It is as dark and as round as one, but goes on; also turned, and beside a hole."""
    from plotout_photo.things import no_holes

    hole = np.array([9.5, 4.5])
    for turn in (0.0, 0.5, 2.0):
        way = np.array([np.cos(turn), np.sin(turn)])
        side = np.array([-way[1], way[0]])

        def thing(x, y, way=way, side=side):
            off = np.stack([x - 7.5, y - 7.5], axis=-1)
            inside = (off @ way > 0.0) & (off @ side > 0.0)
            return np.maximum(0.5 * inside, discs([hole], [0.8])(x, y))

        light = 1.0 - painted(thing)
        at = np.array([[7.5, 7.5] + 0.4 * (way + side), hole]) * SCALE
        free = np.hypot(*(hole - 7.5)) > 0.0 and not (
            (hole - 7.5) @ way > -1.0 and (hole - 7.5) @ side > -1.0
        )
        none = np.zeros_like(light)
        found = no_holes(light, (none, none), at, np.full(2, 0.5), SCALE)
        assert found[0]
        assert not free or not found[1]
    stabs = np.array([7.5, 7.5]) + 0.85 * np.array([[1, 0.1], [0.1, -1], [-1, 0], [0, 1.0]])
    light = 1.0 - painted(discs(stabs, [1.1] * 4))
    none = np.zeros_like(light)
    assert not no_holes(light, (none, none), stabs * SCALE, np.full(4, 0.6), SCALE).any()
    assert not no_holes(light * 0.4, (none, none), stabs * SCALE, np.full(4, 0.6), SCALE).any()


@pytest.mark.parametrize("angle", [3.0, 20.0, 41.0])
def test_a_hole_hardly_darker_than_the_line_it_is_on_is_found_in_its_place(angle):
    """The line lets a fifth of the light through, the hole a tenth: a soft pencil, pressed."""
    from plotout_photo.holes import measured
    from plotout_photo.sift import certainty

    cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))

    def drawing(x, y):
        off = (y - 15.0) * cos - (x - 15.0) * sin
        line = 0.8 * (np.abs(off) < 0.3)
        return np.maximum(line, 0.9 * (np.hypot(x - 15.0, y - 15.0) < 0.4))

    dark = painted(drawing, size=30.0)
    drawn = drawn_lines(dark, SCALE)
    at = (np.array([[15.0, 15.0], [15.0 + 8.0 * cos, 15.0 + 8.0 * sin]]) * SCALE).round()
    found = measured(dark, without(dark, drawn), drawn, at, np.full(2, SCALE), BLUR)
    off = np.hypot(*(found.at / SCALE - 0.5 / SCALE - [15.0, 15.0]).T)
    off = np.hypot(*((found.at + 0.5) / SCALE - 0.5 / SCALE - [15.0, 15.0]).T)
    sure = certainty(found)
    assert sure[off < 0.15].max(initial=0.0) > 0.5
    assert sure[off > 1.0].max(initial=0.0) < 0.12


@pytest.mark.parametrize("pressed", [0.25, 0.33, 0.36])
def test_stabs_that_a_pencil_line_joins_are_not_written_but_a_letter_over_a_line_is(pressed):
    """The line is fainter than ink, but for some millimetres where the pencil was pressed."""
    from plotout_photo.writing import writing

    drawing = pencil(((1.0, 19.0), (39.0, 22.0)), 0.7, 0.24)
    harder = pencil(((17.5, 20.3), (22.5, 20.7)), 0.7, pressed)
    stabs = np.array([[20.0, 21.0], [18.8, 19.6], [21.1, 19.6], [20.3, 22.2]])
    holes = discs(stabs, [1.1, 0.9, 0.9, 0.8])
    upright = pencil(((20.0, 17.5), (20.0, 23.5)), 0.7, 0.7)
    foot = pencil(((20.0, 23.5), (23.5, 23.5)), 0.7, 0.7)
    inside = np.ones((round(40 * SCALE),) * 2, np.uint8)
    for letter in (False, True):

        def scene(x, y, letter=letter):
            ink = np.maximum(upright(x, y), foot(x, y)) if letter else holes(x, y)
            return 1.0 - (1.0 - np.maximum(drawing(x, y), harder(x, y))) * (1.0 - ink)

        dark = painted(scene, 40.0)
        lines = drawn_lines(dark, SCALE)
        wrote = writing((dark, without(dark, lines), lines), inside, SCALE, BLUR)
        assert (wrote.strokes[round(21.0 * SCALE), round(20.0 * SCALE)] > 0.0) == letter


def test_what_is_far_paler_than_most_holes_is_no_hole_and_a_finer_hole_is_one():
    """Specks of dust of a hole's size, that dim the light by a quarter, beside holes."""
    from plotout_photo.holes import measured
    from plotout_photo.sift import certainty

    at = np.array([(x, y) for x in (5.0, 12.0, 19.0, 26.0) for y in (5.0, 12.0, 19.0, 26.0)])
    dust, fine = np.arange(16) % 5 == 1, np.arange(16) % 5 == 3
    holes = discs(at[~dust], np.where(fine, 0.5, 0.9)[~dust])
    specks = discs(at[dust], [0.7] * dust.sum())
    dark = painted(lambda x, y: np.maximum(holes(x, y), 0.3 / 0.7 * specks(x, y)), 31.0)
    seen = measured(dark, dark, np.zeros_like(dark), (at * SCALE).round(), np.full(16, SCALE), BLUR)
    order = np.hypot(*(seen.at[:, None] / SCALE - at).transpose(2, 0, 1)).argmin(axis=0)
    sure = certainty(seen)[order]
    assert sure[~dust].min() > 0.5
    assert sure[dust].max() < 0.5
    assert certainty(seen.of(order[dust])).max() > 0.5  # alone, they might be holes


def test_a_fine_hole_on_a_line_is_found_beside_dust_and_a_pale_stretch_is_no_hole():
    """The hole is half a millimetre across; a third of a line's darkness is gone for 1.6 mm."""
    from plotout_photo.holes import measured
    from plotout_photo.sift import certainty

    line = pencil(((2.0, 15.0), (38.0, 16.0)), 0.6, 0.27)
    hole, dust, pale = np.array([(12.0, 15.28), (11.2, 17.4), (28.0, 15.72)])

    def scene(x, y):
        fainter = np.where(np.hypot(x - pale[0], y - pale[1]) < 0.8, 0.68, 1.0)
        clear = 1.0 - fainter * line(x, y)
        clear = clear * np.where(np.hypot(x - hole[0], y - hole[1]) < 0.27, 0.35, 1.0)
        return 1.0 - clear * np.where(np.hypot(x - dust[0], y - dust[1]) < 0.35, 0.75, 1.0)

    dark = painted(scene, 40.0)
    drawn = drawn_lines(dark, SCALE)
    at = np.array([hole, dust, pale])
    seen = measured(dark, without(dark, drawn), drawn, at * SCALE, np.full(3, SCALE), BLUR)
    sure = certainty(seen)
    gaps = np.hypot(*(seen.at[:, None] / SCALE - at).transpose(2, 0, 1))
    assert sure[gaps[:, 0] < 0.15].max(initial=0.0) > 0.5
    assert sure[gaps[:, 2] < 0.8].max(initial=0.0) < 0.5


def test_a_picture_of_nothing_but_stabs_that_touch_is_measured():
    from plotout_photo.holes import measured

    at = np.array([7.5, 7.5]) + 0.85 * np.array([[1, 0.1], [0.1, -1], [-1, 0], [0, 1.0]])
    dark = painted(discs(at, [1.1] * 4))
    seen = measured(dark, dark, np.zeros_like(dark), at * SCALE, np.full(4, SCALE), BLUR)
    gaps = np.hypot(*(seen.at[:, None] / SCALE - at).transpose(2, 0, 1))
    assert len(seen) == 4
    assert gaps.min(axis=0).max() < 0.06


def test_broad_spots_that_are_pale_may_be_ink_and_fine_holes_as_pale_are_certain():
    """Blur makes a fine hole paler, not a broad one: three blots of a small 7 passed for stabs."""
    from plotout_photo.holes import measured
    from plotout_photo.sift import certainty

    at = np.array([(x, y) for x in (5.0, 12.0, 19.0, 26.0) for y in (5.0, 12.0, 19.0, 26.0)])
    ink, fine = np.arange(16) % 5 == 1, np.arange(16) % 5 == 3
    holes = discs(at[~ink], np.where(fine, 0.5, 1.0)[~ink])
    blots = discs(at[ink], [1.25] * ink.sum())
    dark = painted(lambda x, y: np.maximum(holes(x, y), 0.57 * blots(x, y)), 31.0)
    seen = measured(dark, dark, np.zeros_like(dark), (at * SCALE).round(), np.full(16, SCALE), BLUR)
    order = np.hypot(*(seen.at[:, None] / SCALE - at).transpose(2, 0, 1)).argmin(axis=0)
    sure = certainty(seen)[order]
    assert sure[~ink].min() > 0.5
    assert 0.2 < sure[ink].max() < 0.4


def test_stabs_beside_the_end_of_a_word_are_taken_apart():
    """Spots on the strokes of a word join the stabs to it, so that all seemed to be lettering."""
    from plotout_photo.holes import measured

    middle = np.array([8.0, 8.0])
    at = middle + 0.85 * np.array([[1, 0.1], [0.1, -1], [-1, 0], [0, 1.0]])
    spots = np.vstack([at, [[8.0, 11.2], [8.0, 13.4], [8.0, 15.6]]])
    dark = painted(discs(spots, [1.1] * 4 + [0.8] * 3), 20.0)
    written = np.arange(7) > 3
    seen = measured(
        dark, dark, np.zeros_like(dark), spots * SCALE, np.full(7, SCALE), BLUR, written
    )
    gaps = np.hypot(*(seen.at[:, None] / SCALE - at).transpose(2, 0, 1))
    assert gaps.min(axis=0).max() < 0.06


@pytest.mark.parametrize("pen", [0.4, 0.45])
def test_the_dots_of_small_letters_may_be_dots(pen):
    """A dot's middle is darker than the strokes of its word, the edges of which are pale."""
    from plotout_photo.holes import measured
    from plotout_photo.sift import DOUBTFUL, certainty
    from plotout_photo.writing import writing

    feet = np.arange(5) * 1.5 + 14.0
    strokes = [pencil(((x, 15.0), (x, 18.2)), pen, 0.5) for x in feet]
    strokes += [pencil(((14.0, 15.0), (20.0, 15.0)), pen, 0.5)]
    dots = np.array([(15.5, 20.0), (18.5, 20.0)])
    hole = np.array([(30.0, 30.0)])

    def scene(x, y):
        ink = np.max([stroke(x, y) for stroke in strokes], axis=0)
        for u, v in dots:
            ink = np.maximum(ink, pencil(((u, v), (u, v + 0.2)), pen + 0.35, 0.5)(x, y))
        return np.maximum(ink, discs(hole, [0.8])(x, y))

    dark = painted(scene, 40.0)
    inside = np.ones(dark.shape, np.uint8)
    wrote = writing((dark, dark, np.zeros_like(dark)), inside, SCALE, BLUR)
    at = np.vstack([dots, hole])
    seen = measured(dark, dark, np.zeros_like(dark), at * SCALE, np.full(3, SCALE), BLUR)
    sure = certainty(seen) * wrote.certainty(seen)
    gaps = np.hypot(*(seen.at[:, None] / SCALE - at).transpose(2, 0, 1))
    order = gaps.argmin(axis=0)
    assert sure[order[:2]].max() < DOUBTFUL
    assert sure[order[2]] > 0.9


def test_the_largest_holes_are_certain_and_a_blot_is_none():
    """Holes are to 1.2 mm across, and longer where the needle leant; a blot is 1.8."""
    from plotout_photo.holes import measured
    from plotout_photo.sift import certainty

    at, blot = np.array([(5.0, 5.0), (15.0, 5.3), (5.2, 15.0)]), np.array([15.0, 15.0])

    def scene(x, y):
        dark = np.where(np.hypot(x - blot[0], y - blot[1]) < 0.9, 0.85, 0.0)
        for nth, (u, v) in enumerate(at):
            a = 0.7 * nth
            along = (x - u) * np.cos(a) + (y - v) * np.sin(a)
            beside = (y - v) * np.cos(a) - (x - u) * np.sin(a)
            dark = np.where(np.hypot(along / (1.0 + 0.1 * nth), beside) < 0.6, 0.85, dark)
        return dark

    dark = painted(scene, 20.0)
    places = np.vstack([at, blot]) * SCALE
    seen = measured(dark, dark, np.zeros_like(dark), places.round(), np.full(4, SCALE), BLUR)
    sure = certainty(seen)[np.hypot(*(seen.at[:, None] - places).transpose(2, 0, 1)).argmin(axis=0)]
    assert sure[:3].min() > 0.9
    assert sure[3] < 0.12


def test_stabs_whose_lines_have_dark_grains_are_no_lettering():
    """The grains join the stabs of a corner to what is farther along its lines."""
    from plotout_photo.holes import measured

    middle = np.array([15.0, 15.0])
    at = middle + 0.85 * np.array([[1, 0.1], [0.1, -1], [-1, 0], [0, 1.0]])
    along = np.arange(2.4, 12.0, 1.4)
    grains = np.vstack([middle + np.outer(along, way) for way in ((1, 0), (0, 1))])
    across, up = (pencil((middle, middle + 40.0 * np.array(way)), 0.5, 0.3)
                  for way in ((1, 0), (0, 1)))  # fmt: skip
    stabs, darkest = discs(at, [1.1] * 4), discs(grains, [0.4] * len(grains))
    dark = painted(
        lambda x, y: np.max([across(x, y), up(x, y), stabs(x, y), 0.9 * darkest(x, y)], axis=0),
        56.0,
    )
    drawn = drawn_lines(dark, SCALE)
    spots = np.vstack([at, grains]) * SCALE
    seen = measured(dark, without(dark, drawn), drawn, spots, np.full(len(spots), SCALE), BLUR)
    gaps = np.hypot(*(seen.at[:, None] / SCALE - at).transpose(2, 0, 1))
    assert gaps.min(axis=0).max() < 0.1
    assert seen.disc[gaps.argmin(axis=0)].all()
