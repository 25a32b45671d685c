"""The models: every field is described, every example can be read; schemas and guides agree."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

import jsonschema
import pytest

from plotout import UserError, explained, plugins
from plotout.errors import UserErrors
from plotout.machine import profile
from plotout.pattern import setfile
from plotout.tables import Choice, Count, Length, ListOf, Many, Name, parse_toml, read, table
from plotout.tables.fields import Field, fields_of
from plotout.tables.kinds import SIGNED
from tables.written import SCHEMAS, guide_files, schema_files


def _models(model: type) -> list[type]:
    inner = [each.model for each in fields_of(model) if each.model is not None]
    return [model, *(deep for each in inner for deep in _models(each))]


def _all_fields() -> list[tuple[type, Field]]:
    tops = [model for model, _ in explained.FILES.values()]
    tops += [driver.options for driver in plugins.drivers() if driver.options is not None]
    every = dict.fromkeys(each for top in tops for each in _models(top))
    return [(model, each) for model in every for each in fields_of(model)]


@pytest.mark.parametrize("path", schema_files(), ids=lambda path: path.name)
def test_schemas_as_shipped_are_the_models_own(path: Path) -> None:
    assert path.read_text() == schema_files()[path]
    jsonschema.Draft202012Validator.check_schema(json.loads(path.read_text()))


@pytest.mark.parametrize("path", guide_files(), ids=lambda path: path.name)
def test_tables_of_the_guides_are_the_models_own(path: Path) -> None:
    assert path.read_text() == guide_files()[path], "run: python tests/tables/written.py"


@pytest.mark.parametrize(
    ("model", "field"),
    _all_fields(),
    ids=lambda each: each.key if isinstance(each, Field) else each.__name__,
)
def test_every_field_says_what_it_is_for_and_has_an_example_that_can_be_read(
    model: type, field: Field
) -> None:
    assert field.kind.says.endswith((".", "...")), f"{model.__name__}.{field.name}"
    if field.model is None and field.kind.sample:
        value = tomllib.loads(f"it = {field.kind.sample}")["it"]
        field.kind.read(value)
        jsonschema.Draft202012Validator(field.kind.schema()).validate(value)


@pytest.mark.parametrize("path", profile.shipped(), ids=lambda path: path.stem)
def test_shipped_profiles_keep_to_their_schema(path: Path) -> None:
    schema = json.loads((SCHEMAS / "machine.schema.json").read_text())
    jsonschema.Draft202012Validator(schema).validate(tomllib.loads(path.read_text()))


@table
@dataclass(frozen=True, slots=True)
class Button:
    """A table for these tests."""

    name: Annotated[str, Name("What it is called.")]
    across: Annotated[float, Length("Its diameter.", 1.0, 60.0)] = 15.0
    holes: Annotated[int, Count("How many holes.", 2, 4)] = 4
    of: Annotated[str, Choice("What it is made of.", ("horn", "shell"))] = "horn"
    at: Annotated[tuple[float, ...], ListOf("Where.", of=SIGNED)] = ()


@table
@dataclass(frozen=True, slots=True)
class Box:
    """A file for these tests."""

    button: Annotated[tuple[Button, ...], Many("The buttons.", least=1)]


def _told(text: str) -> list[UserError]:
    with pytest.raises(UserError) as caught:
        read(Box, parse_toml(text, Path("box.toml"), tables=("button",)))
    found: Any = caught.value
    return list(found.errors) if isinstance(found, UserErrors) else [found]


def test_all_that_is_wrong_is_told_at_once_in_the_order_of_its_lines() -> None:
    text = (
        '[[button]]\nname = "A"\nacross = "70 mm"\nholes = 5\nof = "Horn"\n'
        '[[button]]\nnane = "B"\nat = [1, "two", 3, "four"]\n[[button]]\n'
    )
    told = _told(text)
    assert [error.place.line for error in told] == [3, 4, 5, 7, 8, 8, 9]
    words = [
        "more than 60 mm",
        "2 to 4",
        "'Horn'",
        "'nane'",
        "'two'",
        "'four'",
        "is missing",
    ]
    assert all(word in error.problem for word, error in zip(words, told, strict=True))
    assert "Did you mean 'horn'" in told[2].fix
    assert "Did you mean 'name'" in told[3].fix
    assert all(error.fix for error in told)


@pytest.mark.parametrize(
    ("text", "line", "problem", "fix"),
    [
        ('[button]\nname = "A"\n[button]\nname = "B"\n', 3, "a second time", "[[button]]"),
        ("[[button]]\nname = \u201cA\u201d\n", 2, "curly", "straight"),
        ('[button.c\u00f4t\u00e9]\nname = "A"\n', 1, "'c\u00f4t\u00e9' is a name", "in quotes"),
        ('[[button]]\nname = "A"\ntaille\u0301 = 3\n', 3, "letters that need quotes", "in quotes"),
        ('[[button]]\nname = "A\\nB"\n', 2, "a line break", "on one line"),
        ("[[buttom]]\nname = 1\n", 1, "no field 'buttom'", "'button'"),
        ("x" + " = [" * 40 + "]" * 40, 1, "deep", ""),
        (".".join("a" * 5000) + " = 1", 1, "deep", ""),
        ('[[button]]\nname = "' + "\\u001b[31m" + '"\n', 2, "U+001B", "Remove it"),
        ('[[button]]\nname = "' + "x" * 5000 + '"\n', 2, "5000 letters", ""),
        ('[[button]]\nname = 1\nof = "' + "x" * 5000 + '"\n', 2, "1 is not text", "quotes"),
    ],
    ids=lambda each: str(each)[:20],
)  # fmt: skip
def test_errors_of_hand_and_spreadsheet(text: str, line: int, problem: str, fix: str) -> None:
    first = _told(text)[0]
    assert first.place.line == line
    assert problem in first.problem
    assert fix in first.fix
    assert max(map(len, str(first).splitlines())) < 250


def test_one_value_is_a_list_of_one() -> None:
    made = read(Box, parse_toml('[[button]]\nname = ["A"]\nat = 3\n', Path("box.toml")))
    assert made.button[0].at == (3.0,)
    assert made.button[0].name == "A"


def test_faults_between_tables_are_told_with_those_within_them(tmp_path: Path) -> None:
    """A wrong unit in one piece doesn't hide that another has no parent."""
    path = tmp_path / "set.toml"
    path.write_text(
        '[set]\nname = "a"\nstyle = "b"\n[[piece]]\nname = "Front"\nfrom = { file = "a.csv" }\n'
        'allowance = "3 ells"\n[[piece]]\nname = "Facing"\n'
        'derive = { from = "front", how = "fusing" }\n'
        '[[seam]]\nname = "s"\nfirst = { piece = "Front", edges = "a" }\n'
        'second = { piece = "Bcak", edges = "a" }\n'
    )
    with pytest.raises(UserErrors) as caught:
        setfile.load(path)
    assert [error.place.line for error in caught.value.errors] == [7, 10, 14]
    assert "Did you mean 'Front'" in caught.value.errors[1].fix
    assert "3 things are wrong" in str(caught.value)


def test_faults_of_a_profile_and_of_its_drivers_options_are_told_together(tmp_path: Path) -> None:
    text = profile.find("gantry-knife").read_text().replace('flow = "ok"', 'flow = "okay"')
    text = text.replace("baud = 115200", 'baud = "fast"').replace('units = "mm"', 'units = "feet"')
    path = tmp_path / "mine.toml"
    path.write_text(text)
    with pytest.raises(UserErrors) as caught:
        profile.load(path, (), plugins)
    problems = sorted(error.problem for error in caught.value.errors)
    assert problems == [
        "baud: 'fast' is not a whole number",
        "flow: 'okay' is not one of its words",
        "units: 'feet' is not one of its words",
    ]
