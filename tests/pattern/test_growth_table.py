"""Growth tables as spreadsheets write them, against the same growth written in the set file."""

import codecs

import numpy as np
import pytest

from plotout import UserError, job
from plotout.pattern import setfile

HEAD = """[set]
name = "Apron"
style = "AP-01"
[sizes]
base = "M"
range = ["S", "M", "L"]
"""
PIECE = """
[[piece]]
name = "Bib"
rectangle = [200, 300]
cut = [{ cloth = "self" }]
[[piece.grade]]
corner = ["bottom", "right"]
rule = "side"
[[piece.grade]]
corner = ["right", "top"]
rule = "side"
"""
IN_THE_SET = (
    HEAD
    + 'measure = { chest = ["-40 mm", 0, "50 mm"] }\n[[grade]]\nname = "side"\nx = "chest / 4"\n'
    + 'y = ["-2.5 mm", 0, "2.5 mm"]\n'
    + PIECE
)
FROM_A_TABLE = HEAD + 'table = { file = "growth.csv" }\n' + PIECE
TABLE = """name;what;step;S;M;L
chest;measurement;;-40;0;50
side;x;chest / 4;;;
side;y;;-2,5;0;2,5
"""


@pytest.fixture
def read(tmp_path):
    def reading(text, table=TABLE, size="L"):
        data = table if isinstance(table, bytes) else table.encode()
        (tmp_path / "growth.csv").write_bytes(data)
        (tmp_path / "set.toml").write_text(text)
        return job.read_set(tmp_path / "set.toml", size).pieces[0].outline

    return reading


@pytest.mark.parametrize(
    "table",
    [
        TABLE,
        TABLE.replace(",", ".").replace(";", ","),
        TABLE.replace(";", "\t").replace("\n", "\r\n"),
        codecs.BOM_UTF8 + ("sep=;\n# growth\n" + TABLE).encode(),
        TABLE.encode("utf-16"),
        TABLE.replace("-", "\N{MINUS SIGN}").replace("what", "What").replace("\n", ";;\n"),
        TABLE.replace("S;M;L", "L;M;S").replace("-40;0;50", "50;0;-40")
        .replace("-2,5;0;2,5", "2,5;0;-2,5"),
        TABLE.replace("-40;0;50", "880;920;970"),  # the measurement itself
        TABLE.replace("-40;0;50", "-4 cm;0;5 cm"),
    ],
    ids=["semicolons", "commas", "tabs", "a mark and a hint", "UTF-16", "signs", "another order",
         "whole measurements", "units"],
)  # fmt: skip
@pytest.mark.parametrize("size", ["S", "L"])
def test_a_table_means_what_the_set_file_would(read, table, size):
    assert np.array_equal(read(FROM_A_TABLE, table, size), read(IN_THE_SET, size=size))


def test_bare_numbers_have_the_unit_of_the_table(read):
    inches = TABLE.replace("-40;0;50", "-4;0;5").replace("-2,5;0;2,5", "-0,25;0;2,5 mm")
    text = FROM_A_TABLE.replace('"growth.csv"', '"growth.csv", unit = "cm"')
    assert np.array_equal(read(text, inches), read(IN_THE_SET))


def test_all_faults_are_told_with_their_lines(read):
    table = (
        TABLE + "chest;measurement;;1;2;3\nhip;girth;;1;2;3\nhem;x;;a,,b;;3\nhem;y;waist / 2;;;\n"
    )
    table += "short;x;;1\n"
    with pytest.raises(UserError) as refused:
        read(FROM_A_TABLE, table)
    told = str(refused.value)
    assert "6 things are wrong" in told
    for line, words in (
        (5, "'chest', measurement, is given twice"),
        (6, "'girth' is not a kind of row"),
        (7, "size S: 'a,,b' is not a length"),
        (7, "size M: no length is given"),
        (8, "there is no measurement 'waist'"),
        (9, "this line has 4 values, not 6"),
    ):
        assert any(f"line {line}: {words}" in each for each in told.splitlines()), (line, words)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("S;M;L", "S;M;XL", "there is no size 'XL'"),
        ("S;M;L", "S;M;M", "column 'M' appears twice"),
        (";S;M;L", ";S;M", "this line has 6 values, not 5"),
        ("name;what", "nam;what", "no column 'name'"),
        (";chest / 4;;;", ";chest / 4;1;2;3", "both a step and lengths"),
        (";chest / 4;;;", ";;;;", "this row has no growth"),
        (";chest / 4;;;", ";open('x');;;", "is not a growth"),
        ("chest;measurement;;-40", "chest;measurement;;-40.5", "with a comma in line 4"),
        (TABLE, "", "the file contains no rows"),
    ],
)
def test_a_wrong_table_is_named(read, old, new, says):
    assert old in TABLE
    with pytest.raises(UserError, match=r"growth\.csv") as refused:
        read(FROM_A_TABLE, TABLE.replace(old, new))
    assert says in str(refused.value)


def test_a_table_that_is_not_there(read, tmp_path):
    with pytest.raises(UserError, match="no growth table") as refused:
        read(FROM_A_TABLE.replace("growth.csv", "groth.csv"))
    assert "Did you mean 'growth.csv'?" in str(refused.value)


def test_sizes_that_differ_by_capitals_have_columns_of_their_own(tmp_path):
    text = HEAD.replace('["S", "M", "L"]', '["m", "M"]') + 'table = { file = "t.csv" }\n' + PIECE
    (tmp_path / "t.csv").write_text("name,what,m,M\nside,x,-7,0\n")
    (tmp_path / "set.toml").write_text(text)
    (rule,) = setfile.load(tmp_path / "set.toml").rules
    assert rule.x is not None
    assert rule.x.listed == (-7.0, 0.0)


def test_every_fault_of_the_growth_is_told_at_once(read):
    text = IN_THE_SET.replace('rule = "side"', 'rule = "sid"', 1).replace("chest / 4", "chst / 4")
    with pytest.raises(UserError, match="2 things are wrong") as refused:
        read(text)
    assert "Did you mean 'side'?" in str(refused.value)
    assert "no measurement 'chst'" in str(refused.value)


def test_a_growth_that_may_be_thousands_is_refused(read):
    table = TABLE.replace("-40;0;50", "880;970;1.060").replace("2,5", "2")
    with pytest.raises(UserError, match=r"(?s)line 2: '1.060' can mean 1060.*Write 1060 or 1.06"):
        read(FROM_A_TABLE, table)


def test_a_published_table_of_measurements_grades_a_set(tmp_path):
    """A hat band, from the heads of a published table, is as long in every size as they are.

    WHO Child Growth Standards, head circumference for age (WHO, 2007), girls at birth and at 3 to
    36 months: the medians M in cm, as the package pygrowup 0.8.2 (BSD) has them in its tables.
    """
    heads = {"0 m": 33.8787, "3 m": 39.5328, "6 m": 42.1995, "12 m": 44.8965, "24 m": 47.1822,
             "36 m": 48.5099}  # fmt: skip
    whole = HEAD.replace('"M"\nrange = ["S", "M", "L"]', f'"12 m"\nrange = {list(heads)}')
    whole += 'table = { file = "heads.csv", unit = "cm" }\n'
    whole += PIECE.replace("[200, 300]", "[448.965, 60]").replace('rule = "side"', 'x = "head"')
    (tmp_path / "set.toml").write_text(whole)
    rows = [["name", "what", *heads], ["head", "measurement", *map(str, heads.values())]]
    (tmp_path / "heads.csv").write_text("\n".join(",".join(row) for row in rows))
    sizes = job.open_set(tmp_path / "set.toml").in_sizes(list(heads))
    long = {size: float(np.ptp(one.pieces[0].outline[:, 0])) for size, one in sizes.items()}
    assert long == pytest.approx({size: 10.0 * head for size, head in heads.items()}, abs=1e-6)
