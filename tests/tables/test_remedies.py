"""Hand-made files: what is wrong is told with the remedy that mends it (from memory: TOML 1.0)."""

import pytest

from plotout.errors import UserError
from plotout.machine import profile
from plotout.opening import open_set, plugins
from plotout.tables import Words
from plotout.tables import source as toml
from plotout.units import length

HEAD = '[set]\nname = "A"\nstyle = "A"\n'
PIECE = '[[piece]]\nname = "A"\nrectangle = ["90 mm", "60 mm"]\n'


def told(tmp_path, data):
    path = tmp_path / "set.toml"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    with pytest.raises(UserError) as caught:
        open_set(path)
    return str(caught.value)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (f"{HEAD}date = 2026-02-30\n{PIECE}", ("no day or time 2026-02-30", "of the calendar")),
        (f"{HEAD}date = 07:32:00\n{PIECE}", ("date: 07:32:00 is not text",)),
        (f'{HEAD}name = "B"\n{PIECE}', ("line 4", "'name' was given before")),
        (f"{HEAD}{PIECE}[set]\n", ("line 7", "Put the fields of both below one [set]")),
        (f"{HEAD}[piece]\n[piece]\n", ("Write [[piece]]",)),
        (f"{HEAD}{PIECE}seam = {{ a = 1, a = 2 }}\n", ("'a' was given before",)),
        (
            f'{HEAD}{PIECE}cut = {{ cloth = "self" }}\n[[piece.cut]]\ncloth = "lining"\n',
            ("line 8", "'cut' was given a value in a line above"),
        ),
        ((HEAD + PIECE).encode("utf-16"), ("it is UTF-16 text", "Save it as UTF-8")),
        ((HEAD + PIECE).encode("utf-16-le"), ("it is UTF-16 text",)),
        ((HEAD + PIECE).replace("\n", "\r"), ("a carriage return only", "LF")),
        (b"\0" * 900, ("NUL bytes", "from a copy")),
        ((HEAD + PIECE).encode() + b"\0" * 99, ("NUL bytes",)),
        (b"\x89PNG\r\n\x1a\n123", ("a PNG picture, not a set file", "Name the set file itself")),
        (b"PK\x03\x04123", ("a ZIP archive",)),
        ("\ufeff\n<!DOCTYPE html>", ("a web page",)),
        ('<?xml version="1.0"?><svg/>', ("an SVG drawing",)),
        (f"{HEAD}{PIECE}cut = {{ count = 1 }}\n", ("line 7", "'cloth' is missing")),
        (f"{HEAD}date = 2026-04-11T10:00:00Z\n{PIECE}", ("a time of day", "Write 2026-04-11")),
        (f"{HEAD}{PIECE}allowance = -5\n", ("must not be negative", "It is 0 to")),
        (f"{HEAD}[defaults]\ncount = 2\n{PIECE}", ("'count' belongs below one of [[piece.cut]]",)),
        (f"{HEAD}[defaults]\ntimes = 2\n{PIECE}", ("there is no field 'times'",)),
        (f"{HEAD}{PIECE}allowance = true\n", ("true is not a length",)),
        (f'{HEAD}[[piece]]\nname = "\u200b\u200d"\n', ("nothing of it can be seen",)),
        (f'{HEAD}{PIECE}[[piece.notch]]\nat = "1_0 %"\nedge = "a"\n', ("not a percentage",)),
        (f'{HEAD}[[piece]]\nname = "A"\npoints = [[0,0],[9,0],[9,0],[9,9]]\n', ("given twice",)),
        (f'{HEAD}[[piece]]\nname = "A"\nfrom = {{ file = "." }}\n', ("is a folder",)),
        (f'{HEAD}[[piece]]\nname = "A"\nfrom = {{ file = "/dev/null" }}\n', ("is a device",)),
        ("".join(f"a{n}.b = 1\n" for n in range(20_000)), ("20000 tables and values",)),
        ("".join(f"a{n}.b = 1\n" for n in range(50)), ("52 things are wrong", "and 22 more")),
    ],
)
def test_a_remedy_mends_what_is_wrong(tmp_path, data, words):
    said = told(tmp_path, data)
    assert all(word in said for word in words), said


def test_the_bound_on_entries_leaves_room(tmp_path):
    text = "".join(f"[[piece]]\na = {n}\n" for n in range(toml.MOST_ENTRIES // 2))
    assert len(toml.parse_toml(text, tmp_path).top["piece"]) == toml.MOST_ENTRIES // 2


@pytest.mark.parametrize(
    ("written", "remedy"),
    [
        ("12,5 mm", "12.5 mm"),
        ("12\u2033", '12"'),
        ("1/2\u201d", '1/2"'),
        ("\u22123 mm", "-3 mm"),
        ("1\u00bd in", "1 1/2 in"),
        ("\u00be in", "3/4 in"),
        ("1,200.5 mm", "1200.5 mm"),
        ("1,234,567.5", "1234567.5"),
        ("1 200 mm", "1200 mm"),
        ("1'200 mm", "1200 mm"),
    ],
)
def test_a_typographic_length_is_told_as_typed(written, remedy):
    with pytest.raises(UserError) as caught:
        length(written)
    assert caught.value.fix == f"Write {remedy}."
    length(remedy)


def test_a_comma_that_may_part_thousands_is_not_guessed():
    with pytest.raises(UserError) as caught:
        length("1,290 mm")
    assert "1.290" not in str(caught.value)


PROFILE = """title = "Cutter"
kind = "knife"
driver = "gcode"
bed = { length = 600, width = 400 }
[[tools]]
name = "knife"
number = 1
kind = "tangential knife"
does = ["cut"]
speed = 100
depth = 1
[options]
rotary = "A"
"""


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("speed = 100", "speed = 1e-07", ("is less than 0.01", "It is 0.01 to")),
        ("number = 1", "number = -1", ("Write 0 or more",)),
        ('title = "Cutter"', 'title = "Cutter"\nbaud = 9600', ("'baud' belongs below [sending]",)),
        (
            "[options]",
            '[sending]\nlanguage = "hgpl"\n[options]',
            ("line 13", "language 'hgpl'", "Did you mean 'hpgl'?"),
        ),
        (
            "[options]",
            '[sending]\nbuffer = 64\nflow = "enquiry"\n[options]',
            ("line 14", "no flow control 'enquiry'"),
        ),
        ("[options]", "[sending]\nbuffer = 1\n[options]", ("Write 16 or more",)),
        ("[options]", "[options]\nup = 0.001", ("up: 0.001",)),
        ('"gcode"', '"gcod"', ("there is no driver 'gcod'", "Did you mean 'gcode'?")),
        ('[options]\nrotary = "A"', "", ()),
    ],
)
def test_a_profile_is_checked_with_its_driver_s_options(tmp_path, old, new, words):
    path = tmp_path / "mine.toml"
    path.write_text(PROFILE.replace(old, new))
    if words:
        with pytest.raises(UserError) as caught:
            profile.load(path, (), plugins)
        assert all(word in str(caught.value) for word in words)
    else:
        profile.load(path, (), plugins)


def test_a_wrong_driver_is_among_all_faults(tmp_path):
    path = tmp_path / "mine.toml"
    bare = (
        PROFILE.split("[options]", maxsplit=1)[0]
        .replace('"gcode"', '"gcod"')
        .replace("= 100", "= -1")
    )
    path.write_text(bare)
    with pytest.raises(UserError) as caught:
        profile.load(path, (), plugins)
    assert all(word in str(caught.value) for word in ("there is no driver 'gcod'", "speed: -1"))


def test_tools_of_two_kinds_with_one_number_are_noted(tmp_path):
    path = tmp_path / "mine.toml"
    more = PROFILE.replace("[options]", '[[tools]]\nname = "pen"\nnumber = 1\nkind = "pen"\n'
                           'does = ["draw"]\nspeed = 50\n[options]')  # fmt: skip
    path.write_text(more)
    (note,) = profile.load(path).shared_numbers()
    assert "have the same number, 1" in note


def test_the_blanks_of_any_script_are_text():
    """UAX 44: U+3000 and U+2009 are spaces (Zs), as in ordinary Japanese and French names."""
    for name in ("\u524d\u3000\u8eab\u9803", "a\u2009b"):
        assert Words("").read(name) == name
