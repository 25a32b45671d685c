"""A piece in an SVG file."""

import pytest
from svg_pieces import MM, NS


@pytest.fixture
def svg(tmp_path):
    def write(body, head=MM):
        path = tmp_path / "piece.svg"
        path.write_text(f"<svg {NS} {head}>{body}</svg>", encoding="utf-8")
        return path

    return write
