"""The SVG reader against shapes whose sizes are known, and the units of CSS."""

from __future__ import annotations

import gzip
import io
import math
import time

import numpy as np
import pytest
import shapely
from plotout_svg.read import read
from shapely.geometry import LineString, Polygon
from svg_pieces import MM, NS, RECT, outline

from plotout import Role, UserError


def test_y_runs_up_from_the_page_s_lower_edge(svg):
    assert Polygon(outline(svg(RECT))).bounds == pytest.approx((10, 40, 40, 80))


@pytest.mark.parametrize(
    "shape",
    [
        RECT,
        '<polygon id="a" points="10,20 40,20 40,60 10,60"/>',
        '<polyline id="a" points="10,20 40,20 40,60 10,60 10,20"/>',
        '<path id="a" d="M10 20h30v40h-30z"/>',
        '<path id="a" d="m10,20 30,0 0,40 -30,0z"/>',
        '<g id="a"><line x1="10" y1="20" x2="40" y2="20"/><line x1="40" y1="60" x2="40" y2="20"/>'
        '<line x1="40" y1="60" x2="10" y2="60"/><line x1="10" y1="20" x2="10" y2="60"/></g>',
        '<defs><rect id="r" width="30" height="40"/></defs><use id="a" href="#r" x="10" y="20"/>',
        '<defs><rect id="r" width="3" height="4"/></defs>'
        '<use id="a" xlink:href="#r" x="1" y="2" transform="scale(10)"/>',
        '<symbol id="s" viewBox="0 0 3 4"><rect width="3" height="4"/></symbol>'
        '<use id="a" href="#s" x="10" y="20" width="30" height="40"/>',
        '<g transform="translate(10 20)"><g transform="rotate(90)">'
        '<rect id="a" y="-30" width="40" height="30"/></g></g>',
        '<rect id="a" width="30" height="40" transform="matrix(1 0 0 1 10 20)"/>',
        '<svg x="10" y="20" width="30" height="40" viewBox="0 0 300 400">'
        '<rect id="a" width="300" height="400"/></svg>',
    ],
)
def test_one_rectangle_written_in_many_ways(svg, shape):
    points = outline(svg(shape))
    right = Polygon([(10, 40), (40, 40), (40, 80), (10, 80)])
    assert Polygon(points).symmetric_difference(right).area == pytest.approx(0.0, abs=1e-9)
    assert (points[0] == points[-1]).all()


@pytest.mark.parametrize(
    "shape",
    [
        '<circle id="a" cx="50" cy="50" r="40"/>',
        '<ellipse id="a" cx="50" cy="50" rx="40" ry="40"/>',
        '<path id="a" d="M10,50 A40 40 0 0 1 90,50 40 40 0 0 1 10 50z"/>',
        '<path id="a" d="M10,50a40,40 0 0180,0a40,40 0 01-80,0z"/>',  # flags without separators
        '<rect id="a" x="10" y="10" width="80" height="80" rx="40"/>',
        '<circle id="a" r="1" transform="translate(50,50) scale(40)"/>',
    ],
)
def test_round_shapes_lie_within_a_hundredth_of_a_mm_of_their_circle(svg, shape):
    points = outline(svg(shape))
    middles = (points[1:] + points[:-1]) / 2
    for each in (points, middles):
        off = np.abs(np.hypot(*(each - [50, 50]).T) - 40)
        assert off.max() < 0.0101


def test_an_ellipse_s_area_and_a_skewed_circle_s(svg):
    """Area pi a b; a skew keeps it."""
    area = Polygon(outline(svg('<ellipse id="a" cx="50" cy="50" rx="40" ry="15"/>'))).area
    assert area == pytest.approx(math.pi * 40 * 15, rel=1e-3)
    skewed = Polygon(outline(svg('<circle id="a" cx="50" cy="50" r="20" transform="skewX(30)"/>')))
    assert skewed.area == pytest.approx(math.pi * 400, rel=1e-3)


def test_a_cubic_agrees_with_its_polynomial(svg):
    points = outline(svg('<path id="a" d="M0 0C0 90 190 -40 180 80"/>'))
    t = np.linspace(0, 1, 20_001)[:, None]
    p = np.array([[0, 0], [0, 90], [190, -40], [180, 80]], float)
    exact = ((1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1]
             + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]) * [1, -1] + [0, 100]  # fmt: skip
    assert shapely.distance(LineString(points), shapely.points(exact)).max() < 0.0101


@pytest.mark.parametrize(
    ("unit", "ratio"),  # CSS Values and Units 3, 5.2
    [("mm", 1), ("cm", 10), ("in", 25.4), ("pt", 25.4 / 72), ("pc", 25.4 / 6), ("Q", 0.25),
     ("px", 25.4 / 96)],
)  # fmt: skip
def test_css_units(svg, unit, ratio):
    head = f'width="20{unit}" height="10{unit}" viewBox="0 0 200 100"'
    width, _ = np.ptp(outline(svg(RECT, head)), axis=0)
    assert width == pytest.approx(3 * ratio)
    bare = svg('<rect id="a" width="96" height="48"/>', f'width="20{unit}" height="10{unit}"')
    assert np.ptp(outline(bare), axis=0) == pytest.approx([25.4, 12.7])
    own = svg(f'<rect id="a" width="2{unit}" height="1{unit}"/>', 'width="9in" height="9in"')
    assert np.ptp(outline(own), axis=0) == pytest.approx([2 * ratio, ratio])


def test_the_page_s_aspect_ratio(svg):
    """SVG 1.1, 7.8: xMidYMid meet unless it says otherwise."""
    square = '<rect id="a" width="100" height="100"/>'
    head = 'width="200mm" height="100mm" viewBox="0 0 100 100"'
    assert Polygon(outline(svg(square, head))).bounds == pytest.approx((50, 0, 150, 100))
    left = head + ' preserveAspectRatio="xMinYMin"'
    assert Polygon(outline(svg(square, left))).bounds == pytest.approx((0, 0, 100, 100))
    none = head + ' preserveAspectRatio="none"'
    assert Polygon(outline(svg(square, none))).bounds == pytest.approx((0, 0, 200, 100))
    slice_ = head + ' preserveAspectRatio="xMaxYMax slice"'
    assert Polygon(outline(svg(square, slice_))).bounds == pytest.approx((0, 0, 200, 200))


@pytest.mark.parametrize("head", ["", 'viewBox="0 0 200 100"', 'width="200" height="100"',
                                  'width="100%" height="100%" viewBox="0 0 200 100"'])  # fmt: skip
def test_a_size_that_is_not_known_is_asked_for(svg, head):
    path = svg(RECT, head)
    with pytest.raises(UserError, match="unit"):
        read(path, {"outline": "#a"})
    assert np.ptp(outline(path, unit="in"), axis=0) == pytest.approx([30 * 25.4, 40 * 25.4])
    with pytest.raises(UserError, match="'feet' is not a unit"):
        read(path, {"outline": "#a", "unit": "feet"})


def test_picks_by_id_class_group_and_label(svg):
    path = svg(
        '<g id="front" xmlns:x="urn:x" x:label="Front piece"><g class="lines">'
        f'{RECT}<circle class="hole" cx="15" cy="25" r="1.5"/>'
        '<path id="g" d="M20 55V25M20 25l-2 3M20 25l2 3"/>'
        '<line id="n" x1="25" y1="20" x2="25" y2="26"/>'
        '</g></g><rect id="other" width="5" height="5"/>'
    )
    pick = {"outline": "#a", "drill": ".hole", "grain": "#g", "notch": "#n"}
    for layer in ("front", "#front", "Front piece", ".lines"):
        shapes = {shape.role: shape for shape in read(path, {**pick, "layer": layer}).shapes}
        assert shapes[Role.DRILL].points.tolist() == [[15, 75]]
        assert shapes[Role.DRILL].size == pytest.approx(3)
        assert shapes[Role.GRAIN].points.tolist() == [[20, 45], [20, 75]]
        notch = shapes[Role.NOTCH]
        assert (notch.points.tolist(), notch.text, notch.size, notch.angle) == (
            [[25, 80]], "slit", 6, -90)  # fmt: skip
    with pytest.raises(
        UserError, match=r"(?s)nothing in it matches '.holes'.*Did you mean '.hole'"
    ):
        read(path, {**pick, "drill": ".holes"})
    with pytest.raises(UserError, match="'#other' is hidden, empty or in another"):
        read(path, {**pick, "drill": "#other", "layer": "#front"})


@pytest.mark.parametrize(
    "body",
    [
        f'<g style="display: none">{RECT}</g>',
        f'<g display="none">{RECT}</g>',
        f"<defs>{RECT}</defs>",
        f"<clipPath>{RECT}</clipPath>",
        f"<style>.x, .y {{ display: none }}</style><g class='y'>{RECT}</g>",
    ],
)
def test_what_is_not_shown_is_not_there(svg, body):
    with pytest.raises(UserError, match="hidden"):
        read(svg(body + '<circle r="5"/>'), {"outline": "#a"})


def test_open_lines_keep_their_names_and_run_round(svg):
    path = svg(
        '<line id="hem" x1="0" y1="0" x2="50" y2="0"/>'
        '<line id="side" x1="50" y1="50" x2="50" y2="0"/>'
        '<path id="slope" d="M0,0 Q 20 40 50 50"/>'
    )
    shapes = read(path, {"outline": ["#hem", "#side", "#slope"]}).shapes
    assert [shape.name for shape in shapes] == ["hem", "side", "slope"]
    for one, other in zip(shapes, [*shapes[1:], shapes[0]], strict=True):
        assert one.points[-1] == pytest.approx(other.points[0])


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ('<path id="a" d="M0 0 L 10"/>', "can't be read"),
        ('<path id="a" d="M0 0 foo"/>', "holds 'foo'"),
        ('<path id="a" d="M0 0 9 0 9 9Z 5"/>', "numbers follow a Z"),
        ('<path id="a" d="10 10 L 5 5"/>', "begin with M"),
        ('<path id="a" d="M0 0 L 1e999 5"/>', "too large"),
        ('<polygon id="a" points="0,0 5,5 5"/>', "pairs"),
        ('<polygon id="a" points="0,0 5,x"/>', "list of numbers"),
        ('<rect id="a" width="1em" height="3"/>', "not a length"),
        ('<rect id="a" width="3" height="3" transform="turn(4)"/>', "transform"),
        ('<rect id="a" width="3" height="3" transform="rotate(nan)"/>', "list of numbers"),
        ('<rect id="a" width="3" height="3" style="transform: rotate(4deg)"/>', "style"),
        ('<use id="a" href="#nowhere"/>', "not in this file"),
        ('<g id="g"><use id="a" href="#g"/></g>', "uses itself"),
        ('<g id="a"><rect width="3" height="3"/><circle r="3"/></g>', "2 closed shapes"),
        ("<text>Hello</text>", "nothing is drawn"),
    ],
)
def test_faults_are_told_in_words(svg, body, told):
    with pytest.raises(UserError, match=told) as caught:
        read(svg(body), {"outline": "#a"})
    assert "piece.svg" in str(caught.value)


def test_faults_name_their_line(svg):
    with pytest.raises(UserError, match=r"piece.svg, line 3"):
        read(svg('\n\n<path id="a" d="M0 0 L 10"/>'), {"outline": "#a"})


ENTITIES = "".join(
    f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)
BOMB = f"""<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">{ENTITIES}]>
<svg xmlns="http://www.w3.org/2000/svg" width="1mm" height="1mm"><title>&i;</title></svg>"""


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "empty"),
        (b"   \n", "empty"),
        (b"not xml", "well-formed"),
        (b"\xff\xfe\x00", "well-formed"),
        (b"<svg><g></svg>", "well-formed"),
        (b"<html/>", "not SVG"),
        (b"<!DOCTYPE html><html><br></html>", "a web page, not an SVG"),
        (gzip.compress(b"<svg/>", mtime=0), "gzip(?s:.)*unpack it"),
        (b"\x89PNG\r\n\x1a\n\0", "a PNG picture"),
        (b'<svg xmlns="http://example.org/other"/>', "in the namespace 'http://example"),
        (BOMB.encode(), "DOCTYPE"),
        (b"<svg>" + b"<g>" * 100_000, "deep"),
    ],
)
def test_damaged_and_hostile_files_are_refused(tmp_path, data, told):
    path = tmp_path / "bad.svg"
    path.write_bytes(data)
    with pytest.raises(UserError, match=told):
        read(path, {"outline": "#a"})


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises(UserError, match="can't read the drawing"):
        read(tmp_path / "no.svg", {"outline": "#a"})


@pytest.mark.thorough
def test_uses_that_multiply_end(svg):
    levels = "".join(f'<g id="g{n + 1}">{f"""<use href="#g{n}"/>""" * 10}</g>' for n in range(12))
    started = time.monotonic()
    with pytest.raises(UserError, match="shapes are drawn"):
        read(
            svg(f'<defs><g id="g0">{RECT}</g>{levels}</defs><use href="#g12"/>'), {"outline": "#a"}
        )
    assert time.monotonic() - started < 60


VIEWS = {
    "no size": '<svg viewBox="0 0 100 50"><rect id="a" width="100" height="50"/></svg>',
    "half": '<svg x="10" y="5" width="50%" height="50%" viewBox="0 0 4 2">'
    '<rect id="a" width="4" height="2"/></svg>',
    "within": '<svg width="100" height="50" viewBox="0 0 10 5"><svg viewBox="0 0 2 1">'
    '<rect id="a" width="2" height="1"/></svg></svg>',
    "symbol": '<symbol id="s" viewBox="0 0 4 2"><path d="M0 0h4v2h-4z"/></symbol>'
    '<use id="a" href="#s"/>',
    "symbol, sized": '<symbol id="s" viewBox="0 0 4 2"><path d="M0 0h4v2h-4z"/></symbol>'
    '<use id="a" href="#s" width="60" height="50"/>',
    "slice": '<svg width="40" height="40" viewBox="0 0 4 2" preserveAspectRatio="xMinYMax slice" '
    'overflow="visible">'
    '<rect id="a" width="4" height="2"/></svg>',
}


@pytest.mark.parametrize("body", VIEWS.values(), ids=VIEWS.keys())
def test_views_are_where_a_renderer_draws_them(svg, body):
    """resvg is a general renderer of SVG; here a pixel of its picture is a fifteenth of a mm."""
    import resvg_py
    from PIL import Image

    path = svg(body)
    png = resvg_py.svg_to_bytes(svg_path=str(path), background="#ffffff", width=3000, dpi=96)
    dark = np.argwhere(np.asarray(Image.open(io.BytesIO(png)).convert("L")) < 128)
    px = 200.0 / 3000
    low, high = outline(path).min(axis=0), outline(path).max(axis=0)
    seen = [dark[:, 1].min() * px, 100.0 - (dark[:, 0].max() + 1) * px,
            (dark[:, 1].max() + 1) * px, 100.0 - dark[:, 0].min() * px]  # fmt: skip
    assert [*low, *high] == pytest.approx(seen, abs=2.0 * px)


@pytest.mark.parametrize(
    "view",
    [
        '<svg x="10" y="20" width="20" height="40">{}</svg>',
        '<symbol id="s" viewBox="0 0 40 40">{}</symbol><use href="#s" width="30" height="30"/>',
        '<svg viewBox="0 0 20 60" preserveAspectRatio="xMidYMid slice">{}</svg>',
    ],
)
def test_what_a_nested_view_cuts_off_is_not_read_whole(svg, view):
    """SVG 1.1, 14.3.3: overflow is hidden there by default; a renderer shows a part of it."""
    with pytest.raises(UserError, match="not seen: it lies outside the nested view"):
        outline(svg(view.format(RECT)))
    name = "<symbol " if "<symbol " in view else "<svg "
    seen = view.replace(name, f'{name}overflow="visible" ', 1)
    assert len(outline(svg(seen.format(RECT)))) == 5


def test_a_symbol_is_as_large_as_its_use_says_of_the_page(svg):
    """SVG 1.1, 5.6: the use's width and height are the symbol's; 50 % is of the page."""
    body = VIEWS["symbol"].replace('href="#s"', 'href="#s" width="50%" height="50%"')
    assert np.ptp(outline(svg(body)), axis=0) == pytest.approx((100.0, 50.0))


@pytest.mark.parametrize(
    ("body", "head", "words"),
    [
        ('<rect id="a" width="3" height="3" transform="rotate(9)" transform-origin="1 1"/>', MM,
         "transform-origin"),
        ('<rect id="a" width="3" height="3" style="transform-origin:1px;rotate:9deg"/>', MM,
         "rotate"),
        ('<style>#a { transform: scale(2) }</style><rect id="a" width="3" height="3"/>', MM,
         "transform in a style"),
        ('<style>g > .b { transform: scale(2) }</style><rect id="a" width="3" height="3"/>', MM,
         "moves or reshapes"),
        ('<rect id="a" width="3" height="3" style="width: 9px"/>', MM, "width in a style"),
        ('<svg viewBox="0 0 4 2"><rect id="a" width="4" height="2"/></svg>', 'width="100%"',
         "this view's size"),
        (f"<style>svg {{ width: 90px }}</style>{RECT}", MM, "width in a style"),
        (RECT, MM + ' style="height: 90px"', "height in a style"),
        (RECT, MM + ' transform="scale(2)"', "transform of the whole drawing"),
        (RECT, MM + ' style="zoom: 2"', "zoom in a style"),
    ],
)  # fmt: skip
def test_what_would_be_read_at_another_place_is_refused(svg, body, head, words):
    pick = {} if "viewBox" in head else {"unit": "mm"}
    with pytest.raises(UserError, match=words):
        outline(svg(body, head), **pick)


@pytest.mark.parametrize(
    ("body", "count"),
    [
        (f'<g visibility="hidden"><g visibility="visible">{RECT}</g></g>', 5),
        (f'<g style="visibility: hidden">{RECT}</g>', 0),
        (f"<style>#a {{ display: inline }} rect {{ display: none }}</style>{RECT}", 5),
        ("<style>.k { display: none } #a { display: inline }</style>"
         f"<g class='k'>{RECT}</g>", 0),
        (f"<style>g {{ display: inline }}</style><g display='none'>{RECT}</g>", 5),
    ],
)  # fmt: skip
def test_what_is_seen_is_read(svg, body, count):
    """SVG 1.1, 11.5: visibility is inherited, display is not; CSS 2.1, 6.4: ids before names."""
    path = svg(body + '<circle id="b" r="5"/>')
    if count:
        assert len(outline(path)) == count
    else:
        with pytest.raises(UserError, match="hidden"):
            outline(path)


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ('width="200mm" height="' + "9" * 400 + 'mm" viewBox="0 0 1 1"', "is not a size"),
        ('width="200mm" viewBox="0 0 1e-320 1e-320"', "not four numbers with a size"),
    ],
)
def test_a_page_without_bounds_is_refused(svg, head, words):
    with pytest.raises(UserError, match=words):
        outline(svg('<circle id="a" r="5"/>', head))


@pytest.mark.parametrize(
    ("radii", "size"),
    [('rx="0" ry="5"', None), ('rx="5" ry="0"', None), ('rx="5"', (10, 10)),
     ('ry="3"', (6, 6)), ('rx="5" ry="auto"', (10, 10)), ('rx="5" ry="3"', (10, 6)), ("", None)],
)  # fmt: skip
def test_an_ellipse_without_a_radius_is_a_circle_and_one_of_nought_is_nothing(svg, radii, size):
    """SVG 2, 10.4: auto is as the other; a computed value of zero disables rendering."""
    path = svg(f'<ellipse id="a" cx="20" cy="20" {radii}/><rect id="b" width="3" height="3"/>')
    if size is None:
        with pytest.raises(UserError):
            outline(path)
    else:
        assert np.ptp(outline(path), axis=0) == pytest.approx(size, abs=0.01)


def test_scales_without_bounds_are_refused(svg):
    body = '<circle id="a" r="5"/>'
    for _ in range(60):
        body = f'<g transform="scale(1e8)">{body}</g>'
    with pytest.raises(UserError, match="beyond any table"):
        outline(svg(body))


@pytest.mark.parametrize(
    "data",
    ["m10,10 l10,0 0,10 -10,0 0,-10 z", "M0.1,0.1l0.7,0.2l-0.3,0.6l-0.4,-0.8z",
     "M10 10h10v10h-10v-10z", "M10 10 20 10 20 20 10 10Z", "M10,10 L20,10 20,20 L10,10"],
)  # fmt: skip
def test_a_path_that_comes_back_to_its_start_is_closed_there(svg, data):
    points = outline(svg(f'<path id="a" d="{data}"/>'))
    assert np.hypot(*np.diff(points[:-1], axis=0).T).min() > 0.1
    assert np.hypot(*(points[-1] - points[0])) < 1e-9


def test_time_to_read_grows_with_the_path(svg):
    """Counted, not timed: a path of 40,000 lines has 40,001 points, each once."""
    steps = "".join(f" {np.cos(k):.4f},{np.sin(k):.4f}" for k in np.linspace(0, 6.28, 40_000))
    points = outline(svg(f'<path id="a" d="m50,50{steps}z"/>'))
    assert len(points) == 40_002


def test_a_prefix_that_is_not_declared_is_told_with_its_line(svg):
    with pytest.raises(UserError, match=r"line 2.*namespaces: unbound prefix"):
        outline(svg('\n<rect id="a" foo:b="3"/>'))


@pytest.mark.parametrize(
    ("inside", "told"),
    [
        (
            "<animate attributeName='width' to='9' dur='1s' fill='freeze'/>",
            "changes width for good",
        ),
        ("<animateTransform attributeName='transform' to='2' fill='freeze'/>", "for good"),
        ("<animateMotion path='M0 0 9 9' fill='freeze'/>", "changes its motion for good"),
        ("<set attributeName='visibility' to='hidden'/>", "changes visibility for good"),
    ],
)
def test_a_lasting_animation_is_refused(svg, inside, told):
    """SMIL 3, 5.4: fill="freeze" keeps the last value."""
    with pytest.raises(UserError, match=told):
        outline(svg(f"{RECT[:-2]}>{inside}</rect>"))


def test_an_animation_of_looks_is_none_of_ours(svg):
    body = f"{RECT[:-2]}><set attributeName='fill' to='red'/></rect>"
    assert read(svg(body), {"outline": "#a"}).notes == ()


@pytest.mark.parametrize("width", ["nanmm", "infmm", "1e999mm", "--5mm", "0mm", "10 20", "mm"])
def test_a_width_that_is_no_length_is_refused(svg, width):
    with pytest.raises(UserError, match="is not a size"):
        outline(svg(RECT, f'width="{width}" height="100mm" viewBox="0 0 200 100"'))


@pytest.mark.parametrize("name", ["hex", "rot13", "nowhere", "idna"])
def test_an_encoding_that_is_none_is_told(tmp_path, name):
    path = tmp_path / "piece.svg"
    path.write_text(f'<?xml version="1.0" encoding="{name}"?><svg {NS} {MM}>{RECT}</svg>')
    with pytest.raises(UserError) as caught:
        read(path, {"outline": "#a"})
    assert "encoding" in str(caught.value)
    assert "codecs" not in str(caught.value)


def test_elements_of_other_namespaces_are_not_drawn(svg):
    """XML namespaces: <x:rect> is no rect of SVG, and no renderer draws it."""
    other = RECT.replace("<rect", '<x:rect xmlns:x="http://example.org/other"')
    with pytest.raises(UserError, match="nothing is drawn"):
        outline(svg(other))
    assert len(outline(svg(RECT + f'<g xmlns="http://example.org/other">{RECT}</g>'))) == 5


def test_a_shape_without_an_id_is_told_how_to_get_one(svg):
    for pick in ({}, {"outline": "#a"}):
        with pytest.raises(UserError, match="give the outline one in the drawing program"):
            read(svg('<rect width="5" height="5"/>'), pick)


CIRCLE, ARC = "<circle r='1e5'/>", "a1e5 1e5 0 1 1 .1 .1"


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (f'<path id="a" d="M0 0{ARC * 400}z"/>', "take more than 2000000 points"),
        (f'<g id="a">{CIRCLE * 400}</g>', "picked takes more than 2000000 points"),
        ('<path id="a" d="M0 0A40 1e-300 0 0 1 9 9L0 9z"/>', "almost no radius"),
    ],
)
def test_the_points_of_curves_are_bounded(svg, body, told):
    with pytest.raises(UserError, match=told):
        outline(svg(body))
