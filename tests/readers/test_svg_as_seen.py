"""What renderers draw elsewhere, in part or not at all is read as they draw it, refused or noted.

Each was compared with a screenshot of Chromium, among 639 drawings of the same kinds; the sources
are SVG 1.1 (second edition), SVG 2 and CSS Overflow 3.
"""

import numpy as np
import pytest
from plotout_svg.read import read
from svg_pieces import NS, RECT, outline

from plotout import UserError

VIEW = '<svg width="20" height="60" {}>' + RECT + "</svg>"


@pytest.mark.parametrize(
    "said",
    [
        'style="overflow:hidden" overflow="visible"',
        'class="k" overflow="visible"',
        'overflow="visible" style="overflow-x:hidden"',
    ],
)
def test_a_style_that_cuts_off_overrides_the_attribute(svg, said):
    with pytest.raises(UserError, match="not seen"):
        outline(svg(f"<style>.k {{ overflow: hidden }}</style>{VIEW.format(said)}"))


def test_a_style_sheet_can_have_it_seen(svg):
    body = f"<style>svg {{ overflow: visible }}</style>{VIEW.format('')}"
    assert len(outline(svg(body))) == 5


@pytest.mark.parametrize("fit", ["xmidymid", "defer xMinYMin", "xMinYMin meet x", "", "none,slice"])
@pytest.mark.parametrize("page", [False, True])
def test_a_fit_that_renderers_read_differently_is_refused(svg, fit, page):
    told = f'preserveAspectRatio="{fit}"'
    if page:
        path = svg(RECT, f'width="90mm" height="90mm" viewBox="0 0 45 90" {told}')
    else:
        path = svg(f'<svg viewBox="0 0 45 90" overflow="visible" {told}>{RECT}</svg>')
    with pytest.raises(UserError, match="preserveAspectRatio"):
        outline(path)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (f'<g style="transform:none" transform="scale(2)">{RECT}</g>', "transform in a style"),
        (f'<g style="display:contents" transform="scale(2)">{RECT}</g>', "display: contents"),
        (f'<g transform="translate(10,,20)">{RECT}</g>', "not a list of numbers"),
        (f'<svg width="0" height="9" viewBox="0 0 9 9" overflow="visible">{RECT}</svg>', "no size"),
        (f'<svg width="-1" height="9" viewBox="0 0 9 9">{RECT}</svg>', "no size"),
        (f'<symbol id="s" refX="5">{RECT}</symbol><use href="#s"/>', "refX"),
        (f'<g requiredExtensions="http://x.example/">{RECT}</g>', "nothing is drawn"),
        (f'<switch><g systemLanguage="de">{RECT}</g></switch>', "nothing is drawn"),
    ],
)
def test_what_would_be_read_elsewhere_than_it_is_seen_is_refused(svg, body, words):
    with pytest.raises(UserError, match=words):
        outline(svg(body))


@pytest.mark.parametrize(
    ("body", "at"),
    [
        # SVG 2, 5.5: x and y of a symbol place it
        (f'<symbol id="s" x="20" y="10" overflow="visible">{RECT}</symbol><use href="#s"/>',
         (30, 30)),
        # SVG 2, 16.1.4: href counts, whatever xlink:href says
        (f'<defs>{RECT}<rect id="b" width="1" height="1"/></defs>'
         '<use xlink:href="#b" href="#a" x="1" y="2"/>', (11, 22)),
        # SVG 2, 5.8.2, as Chromium: of two elements with an id, the first is used
        ('<defs><rect id="q" x="3" y="4" width="5" height="5"/><rect id="q" width="1" height="1"/>'
         '</defs><g id="a"><use href="#q"/></g>', (3, 4)),
        (f'<switch><g requiredExtensions="http://x.example/"><rect width="1" height="1"/></g>{RECT}'
         "</switch>", (10, 20)),
        (f'<switch><g requiredFeatures="http://www.w3.org/TR/SVG11/feature#Shape">{RECT}</g>'
         '<rect width="1" height="1"/></switch>', (10, 20)),
    ],
)  # fmt: skip
def test_it_is_where_it_is_seen(svg, body, at):
    points = outline(svg(body))
    assert (points[:, 0].min(), 100.0 - points[:, 1].max()) == pytest.approx(at)


@pytest.mark.parametrize(
    "said",
    [
        'style="clip-path:inset(1px)"',
        'style="mask:url(#m)"',
        'class="k"',
        'filter="url(#f)"',
        'clip-path="url(#c)"',
    ],
)
def test_what_is_clipped_by_a_style_is_noted_as_by_an_attribute(svg, said):
    body = f"<style>.k {{ filter: drop-shadow(1px 1px red) }}</style><g {said}>{RECT}</g>"
    assert "it is clipped, masked or filtered in places; shapes are read as if they were not" in (
        read(svg(body), {"outline": "#a"}).notes
    )
    unclipped = f'<g style="clip-path:none;mask:none">{RECT}</g>'
    assert read(svg(unclipped), {"outline": "#a"}).notes == ()


@pytest.mark.parametrize("around", ["<g>{}</g>", "<switch>{}</switch>"])
def test_shapes_of_some_languages_are_noted(svg, around):
    german = '<g systemLanguage="de"><rect width="1" height="1"/></g>'
    notes = read(svg(around.format(german + RECT)), {"outline": "#a"}).notes
    assert any("in some languages only" in note for note in notes)


def test_a_radius_below_nothing_is_that_of_the_other_axis(svg):
    """SVG 2, 7.5: a negative value is as if it were not there."""
    shape = '<rect id="a" width="60" height="40" rx="-5" ry="10"/>'
    plain = shape.replace("-5", "10")
    assert np.array_equal(outline(svg(shape)), outline(svg(plain)))


def test_a_unit_beside_a_page_of_another_scale_is_told(tmp_path):
    """200 by 300 without a unit and a viewBox in px: is "mm" that of the page, or of the shapes?"""
    path = tmp_path / "a.svg"
    head = 'width="200" height="300" viewBox="0 0 800 1200"'
    path.write_text(f"<svg {NS} {head}>{RECT}</svg>")
    (note,) = read(path, {"outline": "#a", "unit": "mm"}).notes
    assert "its page is 800 x 1200 mm" in note
    path.write_text(f"<svg {NS} {head.replace('800 1200', '200 300')}>{RECT}</svg>")
    assert read(path, {"outline": "#a", "unit": "mm"}).notes == ()
