"""Finds the line of every value in a JSON text, which `json` doesn't report."""

from __future__ import annotations

import json
import re

from plotout.tables.lines import Steps

_TOKEN = re.compile(r'"(?:\\.|[^"\\])*"|[{}\[\]:,]|[^\s{}\[\]:,"]+|\n')


def json_lines(text: str) -> dict[Steps, int]:
    """Return path to line (from 1) of every value, e.g. ("sheets", 0, "number").

    `text` is JSON that `json` has accepted.
    """
    found: dict[Steps, int] = {}
    around: list[list[str | int]] = []  # of each table or list: its kind, and where in it we are
    line, key = 1, ""
    for token in (match[0] for match in _TOKEN.finditer(text)):
        if token == "\n":
            line += 1
        elif token in "}]":
            around.pop()
        elif token == ",":
            _next(around)
        elif token == ":":
            around[-1][1] = json.loads(key)
        elif token[0] == '"' and around and around[-1] == ["{", ""]:
            key = token
        else:
            found[tuple(step for _, step in around)] = line
            if token in "{[":
                around.append([token, "" if token == "{" else 0])
    return found


def _next(around: list[list[str | int]]) -> None:
    kind, step = around[-1]
    around[-1][1] = "" if kind == "{" else int(step) + 1
