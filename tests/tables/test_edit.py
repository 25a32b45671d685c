"""Edits of TOML: what was asked is changed, and nothing else."""

from __future__ import annotations

import tomllib

import pytest

from plotout import UserError
from plotout.machine import profile


def test_a_tools_fields_are_set_and_every_comment_stays() -> None:
    text = profile.find("gantry-knife").read_text()
    made = profile.with_settings(text, "knife", {"depth": "1.4 mm", "tabs": 3})
    knife = next(tool for tool in tomllib.loads(made)["tools"] if tool["name"] == "knife")
    assert (knife["depth"], knife["tabs"]) == ("1.4 mm", 3)
    lines = set(text.splitlines()) - set(made.splitlines())
    assert lines == {'depth = "1.2 mm"'}
    assert [row for row in text.splitlines() if "#" in row] == [
        row for row in made.splitlines() if "#" in row
    ]


def test_a_comment_behind_the_value_that_is_set_stays() -> None:
    text = '[[tools]]\nname = "pen"   # the blue one\nspeed = 3 # slow\n'
    made = profile.with_settings(text, "pen", {"speed": "5 mm/s"})
    assert made == '[[tools]]\nname = "pen"   # the blue one\nspeed = "5 mm/s" # slow\n'


def test_a_tool_that_is_not_there() -> None:
    with pytest.raises(UserError, match="no 'pem' among the tools") as caught:
        profile.with_settings('[[tools]]\nname = "pen"\n', "pem", {})
    assert "'pen'" in caught.value.fix


TOOLS = {
    "inline": 'tools = [{ name = "pen", speed = 3 }, { name = "knife", speed = 4 }] # both\n',
    "list": 'tools = [\n { name = "pen", speed = 3 }, # blue\n { name = "knife", speed = 4 },\n]\n',
    "tables": '[[tools]]\nname = "pen" # blue\nspeed = 3\n[[tools]]\nname = "knife"\nspeed = 4\n',
}


@pytest.mark.parametrize("form", TOOLS)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_tool_keeps_its_form_and_its_line_ends(form: str, end: str) -> None:
    text = ("# mine\n" + TOOLS[form] + "# the end\n").replace("\n", end)
    made = profile.with_settings(text, "knife", {"speed": "5 mm/s", "force": "90 gf"})
    knife = {"name": "knife", "speed": "5 mm/s", "force": "90 gf"}
    assert tomllib.loads(made)["tools"] == [{"name": "pen", "speed": 3}, knife]
    comments = [row.partition("#")[2] for row in text.split(end)]
    assert comments == [row.partition("#")[2] for row in made.split(end) if "force =" not in row or
                        form != "tables"]  # fmt: skip
    assert made.count("\n") == made.count(end)
