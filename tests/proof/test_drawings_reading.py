"""PDF, SVG and DXF read back: by hand-written files, and by programs other than the file's."""

from __future__ import annotations

import io

import numpy as np
import pytest
from plotout_readback import dxf, pdf, svg

from plotout.proof import verify

from .conftest import emitted, interpreter, machine_for


@pytest.mark.parametrize("driver", ["pdf-page", "pdf-tiles", "svg", "dxf"])
def test_good_files_pass(sheet, driver):
    program, data = emitted(driver, sheet)
    assert verify(program, sheet, data, interpreter(driver)) == ()


@pytest.mark.parametrize("driver", ["pdf-page", "pdf-tiles", "svg", "dxf"])
def test_another_program_is_noticed(sheet, driver):
    from dataclasses import replace

    program, data = emitted(driver, sheet)
    last = replace(program.runs[-3], points=program.runs[-3].points + np.array([0.0, 0.08]))
    other = replace(program, runs=(*program.runs[:-3], last, *program.runs[-2:]))
    (fault, *_) = verify(other, sheet, data, interpreter(driver))
    assert "outline of card 'front'" in fault
    assert "missing" in fault


@pytest.mark.parametrize("driver", ["pdf-page", "pdf-tiles", "svg", "dxf"])
def test_a_line_too_much_is_noticed(sheet, driver):
    from dataclasses import replace

    program, data = emitted(driver, sheet)
    fewer = replace(program, runs=program.runs[1:])
    assert "not asked for" in verify(fewer, sheet, data, interpreter(driver))[0]


def written(content: bytes, extra: bytes = b"") -> bytes:
    """Return a one-page PDF of 300 by 200 mm written by hand, as in ISO 32000-1, annex H."""
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 850.3937 566.9291]/Contents 4 0 R"
        + extra + b">>",
        b"<</Length %d>>stream\n%s\nendstream" % (len(content), content),
    ]  # fmt: skip
    data, places = b"%PDF-1.4\n", []
    for nth, each in enumerate(objects):
        places.append(len(data))
        data += b"%d 0 obj\n%s\nendobj\n" % (nth + 1, each)
    start = len(data)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    data += b"xref\n0 5\n0000000000 65535 f \n" + table
    return data + b"trailer<</Size 5/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF" % start


def pdf_ways(content: bytes, extra: bytes = b"") -> list[list[list[float]]]:
    reading = pdf.read(written(content, extra), machine_for("pdf-page"))
    assert reading.unknown == ()
    return [np.round(traced.points, 3).tolist() for traced in reading.traced]


def test_pdf_units_and_user_unit():
    assert pdf_ways(b"0 0 m 72 0 l 72 72 l s") == [[[0, 0], [25.4, 0], [25.4, 25.4], [0, 0]]]
    assert pdf_ways(b"0 0 m 10 0 l S", b"/UserUnit 7.2") == [[[0, 0], [25.4, 0]]]


def test_pdf_transforms_are_undone_by_their_shift_and_clipped():
    # a window 100 to 172 pt wide, that shows the drawing shifted by 50 pt
    content = b"q 100 100 72 72 re W n 1 0 0 1 50 50 cm 0 90 m 300 90 l S Q 0 0 m 9 0 l S"
    first, second = pdf_ways(content)
    assert first == pytest.approx(np.array([[50, 90], [122, 90]]) * 25.4 / 72, abs=1e-3)
    assert second[1][0] == pytest.approx(9 * 25.4 / 72, abs=1e-3)


def test_pdf_text_is_not_obeyed():
    assert pdf_ways(b"BT /F1 9 Tf (0 0 m 99 99 l S \\) Q) Tj ET 0 0 m 72 0 l S") == [
        [[0, 0], [25.4, 0]]
    ]


@pytest.mark.parametrize("content", [b"/X Do 0 0 m 1 1 l S", b"0 0 m 1/7 1 l S", b"0 0 m 1 l S"])
def test_pdf_says_what_it_does_not_know(content):
    assert pdf.read(written(content), machine_for("pdf-page")).unknown


def test_what_is_no_pdf_is_told():
    assert pdf.read(b"not a PDF", machine_for("pdf-page")).unknown


def test_an_id_that_codes_no_letter_is_told():
    """Unicode ends at 10ffff."""
    for code in ("110000", "f" * 40):
        line = f'<g id="cut-of-card-_{code}_"><path class="outline cut" d="M1 1L5 5"/></g>'
        said = f'<svg width="9mm" viewBox="0 0 9 9"><g id="card-_{code}_">{line}</g></svg>'
        reading = svg.read(said.encode(), machine_for("svg"))
        assert reading.unknown or reading.traced[0].meaning.works == frozenset()


@pytest.mark.parametrize("data", [b"<svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b""])
def test_broken_svg_is_told(data):
    assert svg.read(data, machine_for("svg")).unknown


@pytest.mark.parametrize(
    ("within", "told"),
    [
        ("<metadata><x>1</x></metadata><desc/>", []),
        ("<defs><path d='M1 1L2 2'/></defs>", ["the element defs"]),
        ("<g style='display:none'/>", ["the attribute style"]),
        ("<g visibility='hidden'/>", ["the attribute visibility"]),
        ("<style>path { fill: none; stroke-width: 1px; }</style>", []),
        ("<style>.cut { stroke: none }</style>", ["the style stroke: none "]),
    ],
)
def test_what_could_hide_a_line_of_an_svg_is_told(within, told):
    """SVG 1.1: hidden by 11.5 (visibility), not drawn within defs (5.3.2), restyled by CSS (6)."""
    said = f'<svg width="9mm" viewBox="0 0 9 9">{within}<path d="M1 1L5 5"/></svg>'
    reading = svg.read(said.encode(), machine_for("svg"))
    assert list(reading.unknown) == told
    assert len(reading.traced) >= 1


def test_broken_dxf_is_told():
    assert dxf.read(b"0\nSECTION\n2\n", machine_for("dxf")).unknown


def test_a_dxf_of_another_program_is_read_whole():
    """Layers need no entry in the table (DXF reference). What lies on a hidden one is told."""
    import ezdxf

    document = ezdxf.new("R2000")
    document.layers.add("off").off()
    space = document.modelspace()
    for nth, layer in enumerate(("unlisted", "off", "0")):
        space.add_line((0, nth), (50, nth), {"layer": layer})
    text = io.StringIO()
    document.write(text)
    reading = dxf.read(text.getvalue().encode(), machine_for("dxf"))
    assert len(reading.traced) == 3
    assert reading.unknown == ("the layer 'off', which is hidden",)


def test_dxf_group_codes_that_no_file_has_are_told(sheet):
    """DXF reference: negative group codes never stand in a file. Other readers stop at them."""
    _, data = emitted("dxf", sheet)
    spoilt = data.replace(b" 70\n0\n  0\nVERTEX", b"-70\n0\n  0\nVERTEX", 1)
    assert spoilt != data
    assert dxf.read(spoilt, machine_for("dxf")).unknown == ("the group code -70",)


@pytest.mark.parametrize("number", ["1e300", "9" * 400, "nan"])
@pytest.mark.parametrize(
    "element",
    [
        '<path d="M0 0L{} 5"/>',
        '<line x1="{}"/>',
        '<circle r="{}"/>',
        '<polyline points="1,1 {},3"/>',
    ],
)
def test_a_number_beyond_any_table_in_an_svg_is_told(element, number):
    said = f'<svg width="100mm" viewBox="0 0 100 100">{element.format(number)}</svg>'
    reading = svg.read(said.encode(), machine_for("svg"))
    assert reading.unknown
    assert reading.traced == ()


def test_a_number_beyond_any_table_in_a_curve_is_told():
    said = b'<svg width="1mm" viewBox="0 0 1 1"><path d="M0 0C1e300 5 1 1 2 2"/></svg>'
    (told,) = svg.read(said, machine_for("svg")).unknown
    assert "too large" in told


@pytest.mark.parametrize("number", [1e300, float("inf"), float("nan")])
def test_a_number_beyond_any_table_in_a_dxf_is_told(number):
    import ezdxf

    document = ezdxf.new("R2000")
    document.modelspace().add_line((0, 0), (number, 5))
    text = io.StringIO()
    document.write(text)
    (told,) = dxf.read(text.getvalue().encode(), machine_for("dxf")).unknown
    assert "too large" in told


@pytest.mark.parametrize(
    "content", [b"0 0 m %s 5 l S", b"1 0 0 1 %s 0 cm 0 0 m 5 5 l S", b"0 0 m 1 %s 3 4 5 6 c S"]
)
def test_a_number_beyond_any_table_in_a_pdf_is_told(content):
    import pypdf
    from pypdf.generic import DecodedStreamObject, NameObject

    writer = pypdf.PdfWriter()
    page = writer.add_blank_page(100, 100)
    stream = DecodedStreamObject()
    stream.set_data(content.replace(b"%s", b"9" * 400))
    page[NameObject("/Contents")] = writer._add_object(stream)
    file = io.BytesIO()
    writer.write(file)
    reading = pdf.read(file.getvalue(), machine_for("pdf-page"))
    assert any("too large" in told for told in reading.unknown)


def test_an_arc_of_no_length_is_told():
    """By the fuzzer: svgpathtools asserts on it."""
    head = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9">'
    reading = svg.read(head + b'<path d="M1 1a4 4 0 0 1 0 0"/></svg>', machine_for("svg"))
    assert "no radius or no length" in reading.unknown[0]
