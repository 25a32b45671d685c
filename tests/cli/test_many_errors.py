"""Very many errors are counted, not all told."""

import json

from plotout.cli.json_output import print_error
from plotout.errors import UserError, all_of


def test_most_errors_are_counted(capsys):
    error = all_of([UserError(f"fault {number}") for number in range(20_000)])
    assert len(str(error).splitlines()) <= 52
    assert str(error).endswith("and 19970 more")
    print_error(error, 2)
    told = json.loads(capsys.readouterr().out)
    assert (len(told["errors"]), told["more"]) == (1000, 19_000)
