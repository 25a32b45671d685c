"""Very many errors are counted, not all told."""

import json

from plotout.cli.json_output import print_error
from plotout.errors import Place, UserError, all_of


def test_most_errors_are_counted(capsys):
    error = all_of([UserError(f"fault {number}") for number in range(20_000)])
    assert len(str(error).splitlines()) <= 52
    assert str(error).endswith("and 19970 more")
    print_error(error, 2)
    told = json.loads(capsys.readouterr().out)
    assert (len(told["errors"]), told["more"]) == (1000, 19_000)


def test_errors_of_a_file_come_by_their_lines():
    places = [("b", 9), ("a", 3), ("b", None), ("b", 2), ("a", 1)]
    errors = [UserError(f"{at}", place=Place(file=at[0], line=at[1])) for at in places]
    assert [(e.place.file, e.place.line) for e in all_of(errors).errors] == [
        ("b", 2),
        ("a", 1),
        ("b", None),
        ("b", 9),
        ("a", 3),
    ]
