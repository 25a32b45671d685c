"""What a benchmark that has one size, or none, is asked for on its command line."""

from __future__ import annotations

import argparse


def asked(described: str, name: str, usual: int, smoke: int) -> int:
    """Return the size to measure, given as --NAME; with --smoke a small one.

    described: the benchmark's docstring, whose first sentence is the help. usual: if not given.
    """
    parser = argparse.ArgumentParser(description=described.strip().split("\n\n")[0])
    parser.add_argument(
        f"--{name}", dest="size", type=int, default=usual, help=f"{usual:,} if left out"
    )
    parser.add_argument("--smoke", action="store_true", help=f"{smoke:,}, done in seconds")
    told = parser.parse_args()
    return smoke if told.smoke else told.size
