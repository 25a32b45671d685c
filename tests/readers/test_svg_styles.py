"""Style sheets and style attributes of SVG: followed, refused or noted."""

import pytest
from plotout_svg.read import read
from svg_pieces import RECT, outline

from plotout import UserError


def test_a_style_sheet_elsewhere_is_told(svg):
    notes = read(svg(f"<style>@import url(x.css);</style>{RECT}"), {"outline": "#a"}).notes
    assert "a style sheet outside the drawing is not read" in notes


def test_styles_that_move_nothing_are_no_hindrance(svg):
    body = (
        "<style>/* a { transform: x } */ .other { transform: scale(2) } path { fill: none }"
        "@media print { .gone { display: none } }</style>"
        '<rect class="gone" width="9" height="9"/>'
        '<rect id="a" width="3" height="3" style="transform: none; transform-origin: 3px"/>'
    )
    assert len(outline(svg(body))) == 5


def test_a_style_sheet_without_rules_is_read_in_one_go(svg):
    for text in ("a" * 80_000, "/*" * 40_000, "{" * 80_000, "a,b{c:d}" * 10_000):
        assert len(outline(svg(f"<style>{text}</style>{RECT}"))) == 5


ESCAPES = [r"\64isplay", r"d\69splay", "DISPLAY", r"d\69 splay", "/* ; */display"]


@pytest.mark.parametrize("word", ESCAPES)
def test_an_escaped_property_is_the_property(svg, word):
    """CSS Syntax 3, 4.3.7: an escape stands for its character."""
    for body in (
        f"<style>#a {{ {word}: none }}</style>{RECT}",
        f"<g style='{word}:none'>{RECT}</g>",
    ):
        with pytest.raises(UserError, match="hidden"):
            outline(svg(body + '<circle r="5"/>'))


@pytest.mark.parametrize(
    ("rule", "seen"),
    [
        (r".b\.c { display: none }", False),
        (r".b\2e c { display: none }", False),
        (r"#\61 { display: none }", False),
        (r".b.c { display: none }", True),
        ('.k { content: "} #a { display: none" }', True),
        (r".k { content: '\'; display: none; ' } #a { fill: url(x;display:none) }", True),
        ("@media print { #a { display: none } }", True),
        ("@media screen { #a { display: none } }", False),
        ("@font-face { display: none } #a { fill: red }", True),
        ("#a { display: none !important } #a { display: inline }", False),
        ("rect { display: none !important } #a { display: inline }", False),
        ("#a { display: none", False),
    ],
)
def test_a_style_sheet_is_read_as_css(svg, rule, seen):
    shape = RECT.replace("id=", 'class="b.c" id=')
    body = f"<style>{rule}</style>{shape}<circle r='5'/>"
    if seen:
        assert len(outline(svg(body))) == 5
    else:
        with pytest.raises(UserError, match="hidden"):
            outline(svg(body))


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ("<?xml-stylesheet href='x.css'?>", "a style sheet outside the drawing is not read"),
        ("<link rel='stylesheet' href='x.css'/>", "a style sheet outside the drawing is not read"),
        ("<script>move()</script>", "scripts are not run"),
        ("<style>@keyframes k { to { rotate: 9deg } }</style>", "its style sheet animates"),
        ("<animate href='#a' attributeName='x' to='9' dur='1s'/>", "it is animated"),
        ("<style>@supports (a: b) { #a { display: none } }</style>", "hides, shows or clips"),
        ("<style>g { #a { display: none } }</style>", "hides, shows or clips what '#a'"),
    ],
)
def test_what_is_left_aside_is_noted(svg, body, told):
    notes = read(svg(body + RECT), {"outline": "#a"}).notes
    assert len(notes) == 1
    assert told in notes[0]


@pytest.mark.parametrize("how", ["vector-effect='{}'", "style='vector-effect: {}'"])
def test_a_vector_effect_that_resizes_is_refused(svg, how):
    """SVG 2, 8.13."""
    for word in ("non-scaling-size", "non-rotation", "fixed-position non-scaling-stroke"):
        with pytest.raises(UserError, match="vector-effect"):
            outline(svg(RECT.replace("<rect", f"<rect {how.format(word)}")))
    assert (
        len(outline(svg(RECT.replace("<rect", f"<rect {how.format('non-scaling-stroke')}")))) == 5
    )


@pytest.mark.parametrize(
    ("rule", "seen"),
    [
        ("@media print { #a { display: none } } @media all { .k { display: none } }", True),
        ("@MEDIA Screen { #a { display: none } }", False),
        ("@layer base { #a { display: none } }", False),
        ("@-x-keyframes k { from { display: none } }", True),
        ("#a { @media print { display: none } }", True),
        ("#a, { display: none }", False),
        ("<!-- #a { display: none } -->", False),
        ("#a { color: red; bad bad; display: none }", False),
        ("#a { --display: none }", True),
        ("#a { display: none; display: inline }", True),
        ("/* #a { */ circle { display: none } /* } */", True),
    ],
)
def test_conditions_and_damage_are_read_as_css(svg, rule, seen):
    """CSS Conditional Rules 3, CSS Syntax 3 (5.4: what is damaged is left out, and no more)."""
    body = f"<style><![CDATA[{rule}]]></style>{RECT}<circle r='5'/>"
    if seen:
        assert len(outline(svg(body))) == 5
    else:
        with pytest.raises(UserError, match="hidden"):
            outline(svg(body))


def test_the_length_of_what_is_read_is_bounded(svg):
    rules = ".k{display:inline}" * 20_000
    with pytest.raises(UserError, match="too long"):
        outline(svg(f"<style>{rules}</style>{RECT}"))
    looks = ".k{fill:#123456;stroke-width:3}" * 20_000  # none of these matters
    assert len(outline(svg(f"<style>{looks}</style>{RECT}"))) == 5
    with pytest.raises(UserError, match="nested too deep"):
        outline(svg(f"<style>{'a{' * 5_000}display:none</style>{RECT}"))


@pytest.mark.parametrize(
    ("said", "words"),
    [("transform:" + "(" * 50_000, "nested too deep"), ("transform:" + "9" * 5000, "too long")],
)
def test_a_style_that_cannot_be_taken_is_refused(svg, said, words):
    """Python turns no more than 4,300 digits into an int, and calls no deeper than it may."""
    for body in (f"<style>a{{{said}}}</style>{RECT}", f'<g style="{said}">{RECT}</g>'):
        with pytest.raises(UserError, match=words):
            outline(svg(body))
