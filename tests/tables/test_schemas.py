"""The JSON Schemas and the program agree on what may be written.

The schemas are read by jsonschema, a general-purpose library; the files are made by hand.
"""

import tomllib

import jsonschema
import pytest

from plotout import explained
from plotout.errors import UserError
from plotout.layout.stock.stock_file import load_stock
from plotout.machine import profile
from plotout.pattern import setfile

HEAD = '[set]\nname = "Smock"\nstyle = "S-1"\nsize = "M"\n'
PIECE = '[[piece]]\nname = "Flap"\nrectangle = ["90 mm", "60 mm"]\n'
TOOL = 'name = "pen"\nnumber = 1\nkind = "pen"\ndoes = ["draw"]\nspeed = 100\n'
MACHINE = (
    'title = "Pens"\nkind = "knife"\ndriver = "hpgl"\n'
    f"bed = {{ length = 600, width = 400 }}\n[tools]\n{TOOL}"
)
SHEET = '[[sheet]]\nname = "Card"\nlength = "36 in"\nwidth = 600\n'
READ = {"set": setfile.load, "stock": load_stock, "machine": profile.load}


@pytest.fixture(scope="module")
def schemas():
    return explained.schemas()


def agree(schemas, tmp_path, file, text):
    """Return whether a file may be so, once both say the same."""
    path = tmp_path / f"{file}.toml"
    path.write_text(text)
    try:
        READ[file](path)
        taken = True
    except UserError:
        taken = False
    assert jsonschema.Draft202012Validator(schemas[file]).is_valid(tomllib.loads(text)) == taken
    return taken


@pytest.mark.parametrize("value", ["12", "0", '"12.7 mm"', '"1/2 in"', "'1 1/4\"'", '" 3 MM "'])
def test_lengths_that_both_take(schemas, tmp_path, value):
    assert agree(schemas, tmp_path, "set", f"{HEAD}{PIECE}allowance = {value}\n")


@pytest.mark.parametrize(
    "value", ["-5", "900", '"-5 mm"', '"5 parsec"', '"1/2"', '"nan"', "true", "[]", '"12,7"', "{}"]
)
def test_lengths_that_neither_takes(schemas, tmp_path, value):
    assert not agree(schemas, tmp_path, "set", f"{HEAD}{PIECE}allowance = {value}\n")


@pytest.mark.parametrize(
    ("value", "right"),
    [('"40 %"', True), ('"100%"', True), ('"150 %"', False), ("30", True), ('"-3 %"', False)],
)
def test_places_along_an_edge(schemas, tmp_path, value, right):
    text = f'{HEAD}{PIECE}[piece.notch]\nedge = "top"\nat = {value}\n'
    assert agree(schemas, tmp_path, "set", text) == right


@pytest.mark.parametrize(
    ("line", "right"),
    [
        ('fold = ["left"]', True),
        ('fold = ["left", "top"]', False),
        ('cut = { cloth = "self" }', True),
        ('cut = [{ cloth = "self" }, { cloth = "lining" }]', True),
        ('cut = "self"', False),
        ('on_fold = "left"', False),
    ],
)
def test_one_or_a_list(schemas, tmp_path, line, right):
    assert agree(schemas, tmp_path, "set", f"{HEAD}{PIECE}{line}\n") == right


@pytest.mark.parametrize(
    ("date", "right"), [("2026-04-11", True), ("2026-4-1", False), ("20260411", False)]
)
def test_dates(schemas, tmp_path, date, right):
    assert agree(schemas, tmp_path, "set", f'{HEAD}date = "{date}"\n{PIECE}') == right


@pytest.mark.parametrize(
    ("file", "text", "right"),
    [
        ("stock", SHEET, True),
        ("stock", SHEET.replace("[[sheet]]", "[sheet]"), True),
        ("stock", SHEET.replace("600", "-600"), False),
        ("stock", SHEET.replace("36 in", "36 feet"), False),
        ("stock", "inside-cut-outs = true\n", False),
        ("machine", MACHINE, True),
        ("machine", MACHINE.replace("[tools]", "[[tools]]"), True),
        ("machine", MACHINE.replace("100", "'6 m/min'"), True),
        ("machine", MACHINE.replace("100", "'6 knots'"), False),
        ("machine", MACHINE.replace("100", "-1"), False),
        ("machine", MACHINE.replace("number = 1", "number = -1"), False),
        ("machine", f"{MACHINE}[sending]\nbaud = 'fast'\n", False),
        ("machine", f"{MACHINE}[sending]\nbuffer = 1\n", False),
    ],
)
def test_stock_and_machines(schemas, tmp_path, file, text, right):
    assert agree(schemas, tmp_path, file, text) == right
