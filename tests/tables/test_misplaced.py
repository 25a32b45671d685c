"""Fields under a heading of another table, the usual slip in TOML (https://toml.io/en/v1.0.0#table:
every key below a heading is that table's).
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from plotout.errors import UserError, each_of
from plotout.pattern.setfile import load

HEAD = '[set]\nname = "Smock"\nstyle = "S-1"\nsize = "M"\n'
PIECE = HEAD + '[[piece]]\nname = "Gusset"\nrectangle = ["120 mm", "80 mm"]\n'


@pytest.mark.parametrize(
    ("text", "key", "belongs"),
    [
        (
            PIECE + '[[piece.drill]]\nat = [30, 30]\ncut = [{ cloth = "self", count = 2 }]\n',
            "cut",
            "'cut' belongs to the piece: write it directly below [[piece]]",
        ),
        (
            PIECE + '[piece.edge.top]\nallowance = "25 mm"\nfold = "left"\n',
            "fold",
            "'fold' belongs to the piece: write it directly below [[piece]]",
        ),
        (
            PIECE + '[[piece.notch]]\nedge = "top"\nat = 5\ngrain = { along = "left" }\n',
            "grain",
            "'grain' belongs to the piece: write it directly below [[piece]]",
        ),
        (
            HEAD.replace('size = "M"\n', "") + '[defaults]\nallowance = 10\nsize = "M"\n',
            "size",
            "'size' belongs below [set]",
        ),
    ],
)
def test_a_field_of_the_table_around_is_said_to_be_its(
    tmp_path: Path, text: str, key: str, belongs: str
) -> None:
    path = tmp_path / "set.toml"
    path.write_text(text, "utf-8")
    line = next(n for n, row in enumerate(text.splitlines(), 1) if row.startswith(f"{key} ="))
    assert tomllib.loads(text)  # it is TOML all the same
    with pytest.raises(UserError) as caught:
        load(path)
    found = [fault for fault in each_of(caught.value) if fault.place.line == line]
    assert len(found) == 1
    assert belongs in found[0].fix


def test_a_wrong_value_of_a_field_of_both_tables_stays_where_it_is(tmp_path: Path) -> None:
    path = tmp_path / "set.toml"
    path.write_text(PIECE + '[piece.edge.top]\nallowance = "some cm"\n', "utf-8")
    with pytest.raises(UserError) as caught:
        load(path)
    assert "belongs" not in caught.value.fix


def test_a_field_that_is_already_there_is_not_said_to_belong_there(tmp_path: Path) -> None:
    path = tmp_path / "set.toml"
    text = PIECE + 'grain = { along = "left" }\n'
    path.write_text(text + '[[piece.drill]]\nat = [30, 30]\ngrain = { along = "top" }\n', "utf-8")
    with pytest.raises(UserError) as caught:
        load(path)
    assert "belongs" not in caught.value.fix
