"""Reports the pages that a sheet is printed on."""

from __future__ import annotations

from typing import Any


def pages_in_words(pages: dict[str, Any]) -> str:
    """Say on how many pages a sheet is printed, and how they are joined. pages: of its report."""
    wide, tall = pages["paper_mm"]
    count = pages["printed"]
    printed = "1 page" if count == 1 else f"{count} pages"
    least = f", at least {pages['least_by_area']} by area" if "least_by_area" in pages else ""
    return f"a map and {printed} of {wide:g} x {tall:g} mm{least}. {pages['joining']}"
