"""The set file: what it holds, and how each slip is told."""

from __future__ import annotations

import contextlib
import re
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout import units
from plotout.errors import UserError
from plotout.pattern import setfile
from plotout.pattern.spec import SetFile
from plotout.tables.lines import lines_of
from plotout.tables.schema import schema_of
from plotout.tables.source import Source, Table

SAMPLES = sorted(Path(__file__).parents[2].glob("samples/*/set.toml"))
HEAD = '[set]\nname = "Test"\nstyle = "T-1"\n'
PIECE = HEAD + '[[piece]]\nname = "Front"\nfrom = { file = "a.csv" }\n'


def load(tmp_path: Path, text: str) -> SetFile:
    path = tmp_path / "set.toml"
    path.write_text(text)
    return setfile.load(path)


def wrong(tmp_path: Path, text: str) -> UserError:
    with pytest.raises(UserError) as caught:
        load(tmp_path, text)
    return caught.value


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.parent.name)
def test_samples_load_and_keep_to_the_schema(path: Path) -> None:
    raw = tomllib.loads(path.read_text())
    jsonschema.Draft202012Validator(schema_of(SetFile, "A set file")).validate(raw)
    assert len(setfile.load(path).pieces) == len(raw["piece"])


def test_a_misspelt_table_is_told_even_where_it_breaks_what_follows(tmp_path: Path) -> None:
    """[[seem]] leaves the [[seam.notch]] after it alone, and the next [[seam]] without a place."""
    path = tmp_path / "set.toml"
    path.write_text(PIECE + "[[seem]]\n[[seam.notch]]\nat = 5\n[[seam]]\n")
    with pytest.raises(UserError, match=r"(?s)line 7: there is no table 'seem'.*'seam'"):
        setfile.load(path)


def test_there_is_a_sample() -> None:
    assert SAMPLES


WRONG = {
    "field": ('alowance = "1/2 in"\n', "no field 'alowance'", "'allowance'", 7),
    "unit": ('allowance = "12 ells"\n', "'ells' is not a unit", "mm", 7),
    "no length": ("allowance = nan\n", "nan", "", 7),
    "endless": ("allowance = inf\n", "inf", "", 7),
    "negative": ('allowance = "-3 mm"\n', "-3", "", 7),
    "angle": ("turn-angle = nan\n", "nan", "", 7),
    "empty edge": ('edges = ["neck", ""]\n', "empty", "", 7),
    "minus": ('edges = ["-neck"]\n', "'-neck'", "", 7),
    "count": (
        'cut = [\n  { cloth = "self" },\n  { cloth = "self", count = 9999999 },\n]\n',
        "9999999",
        "",
        9,
    ),
    "true count": ('cut = [{ cloth = "self", count = true }]\n', "whole number", "", 7),
    "kind": ('[[piece.notch]]\nedge = "neck"\nat = 3\nkind = "slitt"\n', "'slitt'", "'slit'", 10),
    "percent": ('[[piece.notch]]\nedge = "neck"\nat = "140 %"\n', "beyond", "", 9),
    "triple": ('[[piece.notch]]\nedge = "neck"\nat = 3\ncount = 4\n', "1 to 3", "", 10),
    "missing": ('[[piece.notch]]\nedge = "neck"\n', "'at' is missing", "", 7),
    "corner": ('[piece.edge.hem]\ncorner = "turnedback"\n', "'turnedback'", "'turned back'", 8),
    "both": (
        'derive = { from = "Front", how = "copy", smaller = 2 }\n',
        "needs one outline",
        "",
        4,
    ),
    "point": ("start = [1, 2, 3]\n", "point", "[x, y]", 7),
    "grain": ('grain = { along = "neck", to = [1, 2] }\n', "grain", "", 7),
    "no grain": ("grain = { from = [1, 2], to = [1, 2] }\n", "no length", "", 7),
    "true": ('[[piece.true]]\nsquare = ["a", "b"]\nequal = ["a", "b"]\n', "one kind", "", 7),
    "same twice": ('[[piece.true]]\nequal = ["a", "a"]\n', "twice", "", 8),
    "split": ("[[piece.split]]\nline = [[1, 1], [1, 1]]\n", "no length", "", 7),
    "two pieces": ('[[piece]]\nname = "Front"\nfrom = { file = "b.csv" }\n', "line 4", "", 7),
    "parent": (
        '[[piece]]\nname = "Facing"\nderive = { from = "Frant", how = "fusing" }\n',
        "'Frant'",
        "'Front'",
        9,
    ),
    "itself": (
        '[[piece]]\nname = "B"\nderive = { from = "B", how = "copy", smaller = 1 }\n',
        "itself",
        "",
        9,
    ),
    "seam piece": (
        '[[seam]]\nname = "s"\nfirst = { piece = "Front", edges = ["a"] }\n'
        'second = { piece = "Fromt", edges = ["b"] }\n',
        "'Fromt'",
        "'Front'",
        10,
    ),
    "lap by name": (
        '[[seam]]\nname = "s"\nfirst = { piece = "Front", edges = ["a"] }\n'
        'second = [{ piece = "Front", edges = ["b"] }, { piece = "Front", edges = ["b"] }]\n',
        "twice",
        "say how many with times = 2",
        10,
    ),
    "one edge": (
        '[[seam]]\nname = "s"\nfirst = { piece = "Front", edges = ["a"] }\n'
        'second = { piece = "Front", edges = ["-a"] }\n',
        "twice",
        "times = 2",
        10,
    ),
    "ease": (
        '[[seam]]\nname = "s"\nfirst = { piece = "Front", edges = ["a"] }\n'
        'second = { piece = "Front", edges = ["b"] }\nease = [3, 1]\n',
        "least ease",
        "",
        11,
    ),
    "lining": (
        '[[piece]]\nname = "L"\nderive = { from = "Front", how = "lining", width = 3 }\n',
        "'width'",
        "ease",
        9,
    ),
    "facing": (
        '[[piece]]\nname = "L"\nderive = { from = "Front", how = "facing", width = 3 }\n',
        "'along'",
        "",
        9,
    ),
    "no table": ("grain = 3\n", "table", "", 7),
    "no list": ('cut = "self"\n', "list", "", 7),
}


def test_one_name_in_two_forms_of_unicode_is_one(tmp_path: Path) -> None:
    """UAX #15: a letter with its accent, and the letter and the accent after it, are equivalent."""
    path = tmp_path / "set.toml"
    rows = ['[set]\nname = "a"\nstyle = "b"\n']
    rows += [
        f'[[piece]]\nname = "{name}"\nrectangle = ["1 cm", "1 cm"]\n'
        for name in ("\u00c4rmel", "A\u0308rmel")
    ]
    path.write_text("".join(rows), encoding="utf-8")
    with pytest.raises(UserError, match="two are called") as told:
        setfile.load(path)
    assert told.value.place.line == 7


@pytest.mark.parametrize("case", WRONG.values(), ids=WRONG.keys())
def test_a_slip_is_told_with_its_line_and_the_right_name(
    tmp_path: Path, case: tuple[str, str, str, int]
) -> None:
    text, problem, fix, line = case
    error = wrong(tmp_path, PIECE + text)
    assert problem in error.problem
    assert fix in error.fix
    assert error.place.line == line
    assert error.place.file == tmp_path / "set.toml"


def test_syntax_errors_are_told_with_their_line(tmp_path: Path) -> None:
    assert wrong(tmp_path, HEAD + "\nwhat is this\n").place.line == 5
    assert wrong(tmp_path, HEAD + '[[piece]]\nname = "open').place.line == 5
    assert wrong(tmp_path, HEAD + "style = 3\n").place.line == 4


def test_a_missing_file_and_bytes_that_are_not_text(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="can't read"):
        setfile.load(tmp_path / "none.toml")
    with pytest.raises(UserError, match="can't read"):
        setfile.load(tmp_path)
    (tmp_path / "set.toml").write_bytes(b"[set]\nname = '\xff'\n")
    with pytest.raises(UserError, match=r"line 2.*UTF-8"):
        setfile.load(tmp_path / "set.toml")


def test_lengths_are_millimetres_whatever_their_unit(tmp_path: Path) -> None:
    made = load(tmp_path, PIECE + 'allowance = ["1/2 in", "1.5 cm"]\n[defaults]\nallowance = 8\n')
    assert made.pieces[0].allowance == (12.7, 15.0)
    assert made.defaults.allowance == 8.0


def test_a_notch_of_its_own_keeps_what_it_does_not_say(tmp_path: Path) -> None:
    made = load(tmp_path, PIECE + '[[piece.notch]]\nedge = "a"\nat = "40 %"\ndepth = "3 mm"\n')
    notch = made.pieces[0].notches[0]
    assert (notch.at.share, notch.style) == (0.4, {"depth": 3.0})


@given(st.integers(-10_000, 10_000), st.sampled_from(["mm", "cm", "in", '"', ""]))
def test_units_agree_with_exact_fractions(value: int, unit: str) -> None:
    # 1 in = 25.4 mm exactly: international yard and pound agreement, 1959
    exact = {"mm": 1, "cm": 10, "in": 25.4, '"': 25.4, "": 1}[unit] * value
    assert units.length(f"{value} {unit}") == pytest.approx(exact, abs=1e-9)


@given(st.integers(0, 50), st.integers(0, 200), st.integers(1, 64))
def test_inch_fractions_add_up(whole: int, over: int, under: int) -> None:
    assert units.length(f"{whole} {over}/{under} in") == pytest.approx(
        25.4 * (whole + over / under), abs=1e-9
    )


@given(st.text(max_size=30))
def test_any_text_is_a_length_or_a_user_error(text: str) -> None:
    with contextlib.suppress(UserError):
        assert abs(units.length(text)) < 1e9


@settings(max_examples=60, deadline=None)
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(
                st.sampled_from(
                    [
                        "set",
                        "piece",
                        "name",
                        "from",
                        "file",
                        "edges",
                        "cut",
                        "seam",
                        "defaults",
                        "grain",
                        "x",
                    ]
                ),
                inner,
                max_size=4,
            )
        ),
        max_leaves=15,
    )
)
def test_no_value_breaks_the_loader(value: object) -> None:
    """Whatever tomllib could give, it is read or refused in words."""
    with contextlib.suppress(UserError):
        setfile.of(
            Source(Path("set.toml"), Table(value if isinstance(value, dict) else {"piece": value}))
        )


def _paths(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    pairs = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    return [path, *(deep for key, each in pairs for deep in _paths(each, (*path, key)))]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.parent.name)
def test_every_value_of_a_sample_has_its_line(path: Path) -> None:
    text = path.read_text()
    found, rows = lines_of(text), text.splitlines()
    for each in _paths(tomllib.loads(text))[1:]:
        assert each in found
        if isinstance(each[-1], str):
            assert re.search(re.escape(each[-1]), rows[found[each] - 1])


def test_lines_in_hard_places() -> None:
    text = (
        'a = """\nx = [1]\n"""\n"b.c".d = [[1, # no ]\n 2], [3]]\n[[t]]\n[t.u]\nk = { v = [\n'
        "{ w = 1.5 }, { w = '[' } ] }\n[[t]]\nz = 2026-04-11T01:02:03\n"
    )
    raw, found = tomllib.loads(text), lines_of(text)
    assert set(_paths(raw)[1:]) <= set(found)
    assert found["b.c", "d", 0, 1] == 5
    assert found["t", 0, "u", "k", "v", 1, "w"] == 9
    assert found["t", 1, "z"] == 11


FULL = Path(__file__).with_name("full.toml")


def _fields(at: dict[str, Any]) -> set[str]:
    """Every property name that a schema knows."""
    found = set(at.get("properties", {}))
    inner = [*at.get("properties", {}).values(), *at.get("anyOf", ())]
    inner += [at[key] for key in ("items", "additionalProperties") if isinstance(at.get(key), dict)]
    return found.union(*map(_fields, inner))


def test_schema_and_loader_know_the_same_fields() -> None:
    """One file uses every field of the schema; the loader and the schema both take it."""
    raw = tomllib.loads(FULL.read_text())
    jsonschema.Draft202012Validator(schema_of(SetFile, "A set file")).validate(raw)
    setfile.load(FULL)
    used = {key for path in _paths(raw) for key in path if isinstance(key, str)}
    assert _fields(schema_of(SetFile, "A set file")) - used == set()


@pytest.mark.parametrize(
    "path", [("set",), ("defaults",), ("piece", 0), ("piece", 0, "notch", 0), ("piece", 0, "grain"),
             ("piece", 0, "edge", "hem"), ("piece", 0, "true", 0), ("piece", 2, "derive"),
             ("seam", 0), ("seam", 0, "first"), ("seam", 0, "notch", 0)],
    ids=str,
)  # fmt: skip
def test_schema_and_loader_refuse_the_same_field(path: tuple[str | int, ...]) -> None:
    raw = tomllib.loads(FULL.read_text())
    table: Any = raw
    for key in path:
        table = table[key]
    table["hight"] = 3
    assert not jsonschema.Draft202012Validator(schema_of(SetFile, "A set file")).is_valid(raw)
    with pytest.raises(UserError, match="no field 'hight'"):
        setfile.of(Source(FULL, Table(raw)))


@pytest.mark.parametrize(
    "more",
    [
        '[[piece.notch]]\nedge = "neck"\nat = "20 mm"\n',
        '[[piece.divide]]\nedge = "neck"\nat = "20 mm"\ninto = ["a", "b"]\n',
        '[[piece.true]]\nstraight = "neck"\n',
        '[[piece.area]]\nname = "fusing"\nalong = "neck"\ndepth = "20 mm"\n',
        "[[piece.drill]]\nat = [1, 2]\n",
        '[[piece.line]]\nname = "pleat"\npoints = [[0, 0], [0, 9]]\n',
        '[[piece.point]]\nname = "bust"\nedge = "neck"\nat = "5 mm"\n',
        '[[piece.grade]]\ncorner = ["neck", "side"]\nx = "5 mm"\n',
        'edges = ["neck"]\n',
        'fold = "neck"\n',
        'front = "neck"\n',
        "turn-angle = 20\n",
    ],
)
def test_what_a_derived_piece_can_t_have_is_named_as_it_is_written(
    tmp_path: Path, more: str
) -> None:
    """The key in the message is the one in the file."""
    derived = '[[piece]]\nname = "Copy"\nderive = { from = "Front", how = "copy", smaller = 1 }\n'
    key = re.split(r"[\] =]", more.removeprefix("[[piece."))[0]
    problem = wrong(tmp_path, PIECE + derived + more).problem
    assert problem == f"'{key}' has no meaning for a derived piece"


def test_a_name_with_a_line_break_is_shown_on_one_line(tmp_path: Path) -> None:
    told = wrong(tmp_path, HEAD + '[[piece]]\nname = "Fro\\n nt"\nrectangle = [100, 200]\n')
    first, *_ = str(told).splitlines()
    assert first.endswith("line 5, piece 'Fro nt': name: a line break or a tab is in it")
