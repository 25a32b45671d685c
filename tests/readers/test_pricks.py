"""The reader of pricked points: what it puts right, and what it says."""

from __future__ import annotations

import numpy as np
import pytest
from plotout_pricks.outline import outline
from plotout_pricks.table import read_table
from shapely.geometry import LineString

from plotout import UserError

HEAD = "x,y,run,kind"


def rows(name, kind, points):
    return [f"{x:.3f},{y:.3f},{name},{kind}" for x, y in points]


def neck(count=12):
    t = np.linspace(0.05, np.pi / 2 - 0.03, count)
    return np.column_stack([80 * np.cos(t), 300 - 90 * np.sin(t)])[:, :]


def body(neck_points=None):
    """A rectangle 160 x 300 with a quarter ellipse out of its upper left corner, clockwise."""
    points = neck() if neck_points is None else neck_points
    return [
        HEAD,
        *rows("shoulder", "straight", [(150, 300), (100, 300), (85, 300)]),
        *rows("neck", "curve", points),
        *rows("centre", "straight", [(0, 200), (0, 100), (0, 10)]),
        *rows("hem", "straight", [(5, 0), (80, 0), (150, 0)]),
        *rows("side", "straight", [(160, 5), (160, 150), (160, 290)]),
    ]


@pytest.fixture
def read(tmp_path):
    def run(lines, **pick):
        path = tmp_path / "body.csv"
        data = lines if isinstance(lines, bytes) else "\n".join(lines).encode()
        path.write_bytes(data)
        return outline(read_table(path, pick), path, pick)

    return run


def test_corners_are_where_neighbours_meet(read):
    drawing = read(body(), square=["neck end"])
    ends = {shape.name: (shape.points[0], shape.points[-1]) for shape in drawing.shapes}
    assert ends["centre"][1] == pytest.approx([0, 0], abs=1e-9)
    assert ends["side"] == (pytest.approx([160, 0]), pytest.approx([160, 300]))
    assert ends["neck"][0] == pytest.approx([80, 300], abs=0.3)
    assert ends["neck"][1] == pytest.approx([0, 210], abs=0.3)
    for one, other in zip(drawing.shapes, drawing.shapes[1:], strict=False):
        assert (one.points[-1] == other.points[0]).all()
    assert drawing.notes == ()


def test_lengths_are_said_as_they_are_if_a_prick_strayed_unseen(read):
    """No note of 6 pricks, of which the last lies 3.6 mm too far up: the centre line ends there."""
    points = neck(6)
    points[-1, 1] += 3.6
    drawing = read(body(points))
    assert drawing.notes == ()
    (edge,) = [shape for shape in drawing.shapes if shape.name == "centre"]
    (one,) = [one for one in edge.otherwise if one.why == "prick 6 of 'neck' strayed"]
    assert one.longer == pytest.approx(-3.6, abs=one.known_to)
    assert one.chance > 0.003


def test_a_stray_is_left_out_and_named(read):
    points = neck()
    points[6] *= 1.03
    (note,) = read(body(points)).notes
    assert note.startswith("prick 7 of 'neck' lies ")
    assert note.endswith("mm off; left out")


def test_doubled_and_disordered_pricks_are_put_right_and_noted(read):
    points = neck()
    doubled = np.insert(points, 4, points[3] + 0.05, axis=0)
    assert read(body(doubled)).notes == ("prick 5 of 'neck' is repeated; left out",)
    swapped = points.copy()
    swapped[[4, 5]] = swapped[[5, 4]]
    drawing = read(body(swapped))
    assert drawing.notes == ("pricks of 'neck' were out of order; put right",)
    assert drawing.shapes[1].points == pytest.approx(read(body()).shapes[1].points)


def test_a_straight_is_snapped_only_when_asked_and_says_how_far(read):
    lines = [line.replace("80.000,0.000,hem", "80.000,0.100,hem").replace(
        "150.000,0.000,hem", "150.000,0.300,hem") for line in body()]  # fmt: skip
    assert read(lines).notes == ()
    (note,) = read(lines, snap="0.5 mm").notes
    assert note.startswith("'hem' was turned to lie along x: its ends moved 0.1")
    assert read(lines, snap=0.05).notes == ()


def test_units_comments_and_line_ends(read):
    inches = [HEAD, "# pricked on felt", *rows("a", "closed", 2 * np.array(
        [[np.cos(t), np.sin(t)] for t in np.arange(0, 6.2, 0.5)]))]  # fmt: skip
    drawing = read(("\r\n".join(inches)).encode("utf-8-sig"), unit="in")
    assert np.hypot(*drawing.shapes[0].points.T) == pytest.approx(50.8, abs=0.6)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (b"", "no pricks"),
        ([HEAD], "no pricks"),
        (["x,y,run", "1,2,a"], "no column 'kind'"),
        ([HEAD, "1,2,a"], "line 2: this line has 3 values"),
        ([HEAD, "1,5,2,a,curve"], r"(?s)line 2: this line has 5 values.*semicolons or tabs"),
        (["x;y;run;kind", "1,5;2.5;a;curve"], "a comma in line 2 and with a point in line 2"),
        (["x;y;run;kind", "1.000,5;2;a;curve"], "no thousands separator"),
        ([HEAD, "1,2,a,curv"], r"(?s)line 2: there is no kind 'curv'.*'curve'"),
        ([HEAD, "one,2,a,curve"], "line 2: 'one' is not a number"),
        ([HEAD, "nan,2,a,curve"], "line 2: 'nan' is not a coordinate"),
        ([HEAD, "2_90,2,a,curve"], "line 2: '2_90' is not a number"),
        ([HEAD, '1,2,"a,curve'], "(?s)line 2: .*quotation mark in it has no second one"),
        ([HEAD, "1,2,a,straight", "1,2,a,straight"], "has 1 prick in different places, of 2;"),
        (
            [HEAD, *(f"{n * 0.9:.1f},{n * n * 0.1:.1f},a,curve" for n in range(8))],
            r"(?s)2 pricks in different places, of 8.*in cm or inches.*unit = \"cm\"",
        ),
        ([HEAD, *["1,2,a,straight"] * 20_000], "20001 rows, more than 20000"),
        ([*body(), "97,300,tip,notch"], "no run 'tip' for this notch"),
        ([HEAD, "1,inf,a,curve"], "line 2: 'inf' is not a coordinate"),
        ([HEAD, "1,2,,curve"], "belongs to no run"),
        ([HEAD, "1,2,a,curve", "1,3,a,straight"], "run 'a' was curve before"),
        ([HEAD, *rows("a", "curve", neck(4))], "has 4 pricks; a curve run needs 5"),
        ([HEAD, *rows("a", "straight", [(0, 0), (1, 0)])], "alone does not close the outline"),
        (HEAD.encode() + b"\n1,2,\xff,curve", "not UTF-8"),
    ],
)
def test_faults_are_told_with_file_and_line(read, lines, told):
    with pytest.raises(UserError, match=told) as caught:
        read(lines)
    assert "body.csv" in str(caught.value)


def test_a_wrong_run_gets_the_nearest_right_one(read):
    with pytest.raises(UserError, match=r"(?s)no run 'nek'.*Did you mean 'neck'"):
        read(body(), runs=["nek"])
    with pytest.raises(UserError, match="square: there is no curve 'nek'"):
        read(body(), square=["nek"])


@pytest.mark.parametrize(
    ("parted", "decimal", "encoding"),
    [
        (";", ",", "utf-8-sig"),
        ("\t", ",", "utf-16"),
        ("\t", ".", "utf-16-be"),
        ("\t", ".", "utf-8"),
        (";", ".", "utf-8"),
    ],
)
def test_tables_as_spreadsheets_write_them(read, parted, decimal, encoding):
    """Tabs, semicolons, decimal commas, UTF-16, an empty last column: common practice."""
    table = [
        parted.join(value.replace(".", decimal) for value in line.split(",")) for line in body()
    ]
    same = read(body())
    found = read(("\r\n".join(line + parted for line in table)).encode(encoding))
    for one, other in zip(found.shapes, same.shapes, strict=True):
        assert (one.points == other.points).all()


def apron(parted, high, higher, low="10"):
    """An apron bib 1290 mm high, with a slanted corner at every end of its sides."""
    left, right = [(0, low, "left"), (0, high, "left")], [(200, high, "right"), (200, low, "right")]
    top, foot = [(10, higher, "top"), (190, higher, "top")], [(190, 0, "foot"), (10, 0, "foot")]
    pricks = [*left, *top, *right, *foot]
    lines = [parted.join((str(x), str(y), run, "straight")) for x, y, run in pricks]
    return [HEAD.replace(",", parted), *lines]


@pytest.mark.parametrize(
    ("parted", "high", "higher", "told"),
    [
        (",", '"1,290"', '"1,300"', "line 3: '1,290' has a comma, and commas separate"),
        (",", '"1,290"', "300", "line 3: '1,290' has a comma, and commas separate"),
        (",", '"12,5"', "300", "line 3: '12,5' has a comma, and commas separate"),
        (";", "1.290", "1.300", "line 3: '1.290' can mean 1290, or 1.290 .*Write 1290 or 1.29"),
        (";", "1,290", "300", "line 3: '1,290' can mean 1290, or 1.290 .*Write 1290 or 1,29"),
        ("\t", "1.295", "1300", "line 3: '1.295' can mean 1295.*Write 1295 or 1.2950"),
        (",", "1.290", "1300", "line 3: '1.290' can mean 1290"),
        (",", "-1.290", "-1.300", "line 3: '1.290' can mean 1290"),
    ],
)
def test_thousands_are_never_read_as_decimals(read, parted, high, higher, told):
    """Separators of thousands as spreadsheets write them in several languages: from memory."""
    with pytest.raises(UserError, match=f"(?s){told}"):
        read(apron(parted, high, higher))


@pytest.mark.parametrize(
    ("parted", "high", "higher", "low"),
    [
        (";", "1290", "1300", "10"),
        (";", "1290", "1300", "10,5"),
        (",", "129.375", "130.5", "10"),
        (",", "129.375", "130.125", "0.125"),
        (",", "290.000", "300.125", "10"),  # 290 m else
        (";", "9,500", "10,500", "10"),
        (";", "129,3750", "130,125", "10"),
    ],
)
def test_decimals_that_cannot_be_thousands_are_read(read, parted, high, higher, low):
    drawing = read(apron(parted, high, higher, low))
    tops = max(shape.points[:, 1].max() for shape in drawing.shapes)
    assert tops == pytest.approx(float(higher.replace(",", ".")))


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ("7000.000,210.000", "line 13: prick 9 of 'neck' lies 6.9 m from the rest: its x is 7000"),
        ("70.000,-21000.000", "its y is -21000"),
        ("900000.000,210.000", "lies 899.9 m from the rest"),
    ],
)
def test_a_slipped_digit_is_named_before_anything_is_fitted(read, wrong, told):
    lines = body()
    nth = 4 + 8
    assert ",neck," in lines[nth]
    lines[nth] = wrong + ",neck,curve"
    with pytest.raises(UserError) as caught:
        read(lines)
    text = str(caught.value)
    assert told in text
    assert "Beside it x is about" in text


def test_what_was_meant_is_the_same_digits(read):
    lines = body()
    lines[10] = "7000,240,neck,curve"
    with pytest.raises(UserError, match="Did you mean 70"):
        read(lines)


def test_a_slipped_digit_in_a_piece_of_eight_pricks_is_named(read):
    """The README's own bib with 2000 for 200."""
    bib = ["0,10,left,straight", "0,290,left,straight", "10,300,top,straight",
           "190,300,top,straight", "2000,290,right,straight", "200,10,right,straight",
           "190,0,foot,straight", "10,0,foot,straight"]  # fmt: skip
    with pytest.raises(UserError, match=r"prick 1 of 'right' lies.*\n  Did you mean 200\?"):
        read(["x,y,run,kind", *bib])


def test_at_the_end_of_a_run_all_that_may_be_meant_is_named(read):
    """1905 for 190.5: the prick before it is at 10, but those of the next run at 200."""
    bib = ["0,10,left,straight", "0,290,left,straight", "10,300,top,straight",
           "1905,300,top,straight", "200,290,right,straight", "200,10,right,straight",
           "190,0,foot,straight", "10,0,foot,straight"]  # fmt: skip
    with pytest.raises(UserError, match=r"\n  Did you mean 1\.905 or 190\.5\?"):
        read(["x,y,run,kind", *bib])


def trouser_front(nth=None, wrong=""):
    """A front of 300 x 1000 mm; its crotch is an arc of 60 mm in 9 pricks; one is written wrong."""
    turn = np.radians(np.linspace(4.0, 86.0, 9))
    crotch = [(60.0 * (1.0 - np.sin(t)), 760.0 - 60.0 * np.cos(t)) for t in turn[::-1]]
    lines = [((300, 0), (300, 1000), "side"), ((300, 1000), (60, 1000), "waist"),
             ((0, 760), (0, 0), "inseam"), ((0, 0), (300, 0), "hem")]  # fmt: skip
    rows = []
    for (x, y), (u, v), name in lines:
        for share in (0.02, 0.3, 0.6, 0.98):
            rows.append(f"{x + (u - x) * share:.2f},{y + (v - y) * share:.2f},{name},straight")
        if name == "waist":
            rows += ["60,980,cf,straight", "60,720,cf,straight"]
            rows += [f"{60 - x:.2f},{y - 60:.2f},crotch,curve" for x, y in crotch]
    if nth is not None:
        at = [k for k, row in enumerate(rows) if "crotch" in row][nth]
        rows[at] = wrong or ",".join([*rows[at].split(",")[1::-1], "crotch", "curve"])
    return ["x,y,run,kind", *rows]


@pytest.mark.parametrize("nth", [0, 4, 8])
def test_a_prick_of_a_curve_with_x_and_y_swapped_is_named(read, nth):
    """It lies within the size of the piece, but 600 mm from the 95 mm of its own run."""
    number = rf"prick {nth + 1} of 'crotch' lies 0\.\d m from the rest"
    with pytest.raises(UserError, match=rf"{number}.*\n  Are its x and y swapped\?"):
        read(trouser_front(nth))


def test_a_straight_run_may_be_pricked_at_both_ends_only(read):
    """Nearly all at one end, the last one 900 mm further: along a straight, that is no slip."""
    rows = [row for row in trouser_front() if ",side," not in row]
    ends = [f"300,{y},side,straight" for y in (20, 40, 60, 80, 980)]
    assert read([rows[0], *ends, *rows[1:]]).shapes


@pytest.mark.parametrize("tip", [400.0, 3000.0])
def test_a_long_tip_with_a_prick_on_either_side_is_no_slip(read, tip):
    corners = np.array([[0.0, 0.0], [tip, 40.0], [0.0, 80.0]])
    rows = [
        f"{a + (b - a) * share},{c + (d - c) * share},{name},straight"
        for name, (a, c), (b, d) in zip("abc", corners, np.roll(corners, -1, axis=0), strict=True)
        for share in (0.1, 0.9)
    ]
    assert len(read(["x,y,run,kind", *rows]).shapes) == 3


def test_notches_and_drills_among_the_pricks(read):
    marks = ["40,301,shoulder,notch", "120,299.6,shoulder,notch", "60,120,pocket,drill"]
    drawing = read([*body()[:5], marks[1], *body()[5:], marks[2]])
    found = {shape.role: shape for shape in drawing.shapes if shape.role != "outline"}
    assert found["notch"].points[0] == pytest.approx([120, 300], abs=1e-6)
    assert found["drill"].points[0] == pytest.approx([60, 120])
    assert drawing.notes == ()
    assert "lies 40.0 mm off its run" in read([*body(), marks[0]]).notes[0]


def test_a_mark_of_another_piece_is_not_taken(read):
    marks = ["120,300,shoulder,notch", "60,120,other piece,drill", "60,120,,drill"]
    runs = ["shoulder", "neck", "centre", "hem", "side"]
    drawing = read([*body(), *marks], runs=runs)
    assert [shape.role for shape in drawing.shapes if shape.role != "outline"] == ["notch"]
    assert "this drill belongs to no run" in drawing.notes[0]


def test_three_stabs_are_one_key_point(read):
    lines = body()
    at = next(nth for nth, line in enumerate(lines) if line.startswith("160.000,150"))
    stabs = rows("side", "straight", [(159, 149), (161, 149), (160, 152)])
    drawing = read([*lines[:at], *stabs, *lines[at + 1 :]])
    assert drawing.notes == ("pricks 2 to 4 of 'side' mark one key point, at x 160.0, y 150.0 mm",)
    (key,) = (shape for shape in drawing.shapes if shape.role == "turn point")
    assert key.points[0] == pytest.approx([160, 150])
    assert read(lines).shapes[4].points == pytest.approx(drawing.shapes[4].points, abs=1e-6)


@pytest.mark.parametrize("spread", [0.0, 0.05, 0.1, 0.15, 0.3, 0.8])
def test_three_stabs_in_one_place_are_a_key_point(read, spread):
    """Three in one place are deliberate, two a prick that was repeated (common practice)."""
    lines = body()
    at = next(nth for nth, line in enumerate(lines) if line.startswith("160.000,150"))
    places = [(160.0 + spread * x, 150.0 + spread * y) for x, y in ((0, 0), (1, 0), (0, 1))]
    drawing = read([*lines[:at], *rows("side", "straight", places), *lines[at + 1 :]])
    (note,) = drawing.notes
    assert note.startswith("pricks 2 to 4 of 'side' mark one key point")
    assert [shape.role for shape in drawing.shapes].count("turn point") == 1


def test_pricks_of_a_curve_that_is_pricked_closely_are_no_key_points(read):
    """Each 1.8 mm or so: any three lie within 4 mm."""
    points = neck(80)
    assert np.hypot(*np.diff(points, axis=0).T).max() < 2.0
    assert read(body(points)).notes == ()


def test_two_stabs_in_one_place_beside_another_prick_are_one_prick(read):
    lines = body()
    at = next(nth for nth, line in enumerate(lines) if line.startswith("160.000,150"))
    places = [(160.0, 150.0), (160.0, 150.0), (160.0, 152.0)]
    drawing = read([*lines[:at], *rows("side", "straight", places), *lines[at + 1 :]])
    assert drawing.notes == ("prick 3 of 'side' is repeated; left out",)


def test_where_three_pricks_can_not_tell_all_are_named(read):
    lines = [line.replace("80.000,0.000,hem", "80.000,6.000,hem") for line in body()]
    (note,) = read(lines).notes
    assert "don't show whether one strayed" in note
    assert all(f"prick {nth} (" in note for nth in (1, 2, 3))


def test_a_curve_that_bends_on_meets_a_straight_at_a_small_angle_where_it_should(read):
    """An arc of 70 mm ends at 33 degrees on a straight, its last prick 15 mm short of it."""
    turn = np.radians(33.0)
    end = np.array([0.0, 0.0])
    middle = end + 70.0 * np.array([np.sin(turn), np.cos(turn)])
    start_at = np.pi * 1.5 - turn
    t = start_at - np.linspace(15.0, 120.0, 9)[::-1] / 70.0
    pricks = middle + 70.0 * np.column_stack([np.cos(t), np.sin(t)])
    lines = [
        HEAD,
        *rows("arc", "curve", pricks),
        *rows("along", "straight", [(20, 0), (100, 0), (180, 0)]),
        *rows("up", "straight", [(190, 10), (190, 100), (190, 150)]),
        *rows("top", "straight", [(180, 160), (100, 160), (20, 160)]),
        *rows("down", "straight", [(-40, 150), (-40, 120)]),
    ]
    drawing = read(lines)
    assert drawing.shapes[0].points[-1] == pytest.approx(end, abs=0.3)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x,y,rnu,kind\n0,0,a,curve\n", ("no column 'run'", "Write run for 'rnu'")),
        ("x (cm),y (cm),run,kind\n0,0,a,curve\n", ("no column 'x'", "'y (cm)'", "set file")),
        ("Front of the smock\nx,y,run,kind\n0,0,a,curve\n", ("begin a title line with #",)),
        ("x,y,run,kind\n290 mm,0,a,curve\n", ("Write 290 alone", 'unit = "mm"')),
        ("x,y,run,kind\n0.38 cm,0,a,curve\n", ("Write 0.38 alone", 'unit = "cm"')),
        ('x;y;run;kind\n"0.15""";0;a;curve\n', ("Write 0.15 alone", 'unit = "in"')),
        ("x,y,run,kind\n\u22125,0,a,curve\n", ("Write -5.",)),
        ("x,y,run,kind\n#REF!,0,a,curve\n", ("line 2", "'#REF!' is not a number")),
        ("x,y,run,kind\n0,0,a\u202eb,curve\n", ("can't be shown",)),
        ("x,y,run,kind\n0,0,a\x07b,curve\n1,1,a\x07b,curve\n", ("can't be shown",)),
        (
            "x,y,run,kind\nq,0,a,curve\n0,p,a,curv\n0,0,,curve\n1,1,a,straight\n1,1,a,closed\n",
            ("4 things", "'q'", "'p'", "'curv'", "belongs to no run"),
        ),
        (
            "x,y,run,kind\n0,0,a,curve\n1,1,a,straight\n2,2,a,closed\n",
            ("2 things", "line 3", "line 4"),
        ),
    ],
)
def test_all_faults_of_a_table_are_told_with_their_remedies(tmp_path, text, words):
    path = tmp_path / "front.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as caught:
        read_table(path, {})
    assert all(word in str(caught.value) for word in words), str(caught.value)


def triangle(name, x, size=100.0):
    """Three straight runs of three pricks each, up to 5 mm from its corners."""
    ring = np.array([[x, 0.0], [x + size, 0.0], [x + size / 3, size]])
    shares = np.array([0.05, 0.5, 0.95])[:, None]
    return [
        line
        for k in range(3)
        for line in rows(f"{name}{k}", "straight", ring[k] + (ring[(k + 1) % 3] - ring[k]) * shares)
    ]


@pytest.mark.parametrize("apart", [140.0, 400.0, 3000.0])
def test_two_outlines_in_one_table_are_not_joined(read, apart):
    with pytest.raises(
        UserError, match=r"(?s)is pricked over .* mm, and would .*runs = \["
    ) as raised:
        read([HEAD, *triangle("a", 0.0), *triangle("b", apart)])
    assert raised.value
    alone = read([HEAD, *triangle("a", 0.0), *triangle("b", apart)], runs=["b0", "b1", "b2"])
    assert alone.notes == ()


def test_a_run_far_from_its_corner_or_past_it_is_told(read):
    """Corners of a rectangle 200 x 300, by hand: 100 and 15 mm from the outermost pricks."""
    sides = {
        "hem": [(5, 0), (60, 0), (195, 0)],
        "side": [(200, 5), (200, 120), (200, 200)],
        "top": [(195, 300), (60, 300), (-15, 300)],
        "centre": [(0, 295), (0, 120), (0, 5)],
    }
    lines = [line for name, points in sides.items() for line in rows(name, "straight", points)]
    assert read([HEAD, *lines]).notes == (
        "'side' is lengthened by 100 mm to meet 'top'",
        "'top' is pricked 15 mm past its corner with 'centre': what lies past it is left out",
    )


@pytest.mark.parametrize(("seed", "scatter"), [(5, 0.2), (0, 0.3), (6, 0.3)])
def test_a_curve_ends_in_its_own_direction(read, seed, scatter):
    """A facet of 0.08 mm at a corner stood 4.5 degrees off: notches and allowances follow it.

    A neck of a quarter ellipse and an armhole of an arc, with normal scatter: the curve's direction
    from 0.3 to 3 mm within its end is the reference; a radius of 40 mm turns by 2 degrees there.
    """
    rng = np.random.default_rng(seed)
    turn, bend = np.linspace(0.0, np.pi / 2.0, 400), np.linspace(0.0, 1.0, 300)
    arc = np.column_stack([160 + 70 * (1 - np.cos(bend)), 400 - 70 * np.sin(bend)])
    straight = np.column_stack([np.full(60, 160.0), np.linspace(500, 400, 61)[:-1]])
    runs = [
        ("neck", "curve", np.column_stack([85 * np.sin(turn), 500 - 100 * np.cos(turn)]), 14),
        ("shoulder", "straight", np.array([[85.0, 500.0], [160.0, 500.0]]), 6),
        ("armhole", "curve", np.vstack([straight, arc]), 14),
        ("side", "straight", np.array([arc[-1], [arc[-1, 0], 0.0]]), 8),
        ("hem", "straight", np.array([[arc[-1, 0], 0.0], [0.0, 0.0]]), 8),
        ("cf", "straight", np.array([[0.0, 0.0], [0.0, 400.0]]), 8),
    ]
    lines = ["x,y,run,kind"]
    for name, kind, dense, count in runs:
        reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(dense, axis=0).T))])
        at = np.linspace(4.0, reached[-1] - 4.0, count)
        places = np.column_stack([np.interp(at, reached, axis) for axis in dense.T])
        places += rng.normal(0.0, scatter, places.shape)
        lines += [f"{x:.2f},{y:.2f},{name},{kind}" for x, y in places]
    for shape in read(lines).shapes:
        if shape.name not in ("neck", "armhole"):
            continue
        for points in (shape.points, shape.points[::-1]):
            line = LineString(points)
            inner = np.array([line.interpolate(at).coords[0] for at in (0.3, 3.0)])
            first, after = points[1] - points[0], inner[1] - inner[0]
            off = np.arctan2(first[0] * after[1] - first[1] * after[0], first @ after)
            assert abs(np.degrees(off)) < 1.5


@pytest.mark.parametrize("kind", ["curve", "closed"])
def test_pricks_that_no_curve_can_follow_are_refused(read, kind):
    """Four hundred places at random: some 100 m to and fro."""
    wild = np.random.default_rng(96).uniform(0.0, 600.0, (400, 2))
    lines = [HEAD, *rows("wild", kind, wild)]
    if kind == "curve":
        lines += rows("line", "straight", [(0, -10), (300, -10), (600, -10)])
    with pytest.raises(
        UserError, match="no curve can be laid through the 400 pricks of run 'wild'"
    ):
        read(lines)


def test_pricks_of_no_straight_are_refused_by_that_name(read):
    wild = np.random.default_rng(97).uniform(0.0, 300.0, (30, 2))
    lines = [HEAD, *rows("wild", "straight", wild), *rows("line", "straight", [(0, -9), (300, -9)])]
    with pytest.raises(UserError, match="no straight line can be laid through the 30 pricks"):
        read(lines)
