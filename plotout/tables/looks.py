"""What a file is by its first bytes, so that a wrong one is called by its name."""

from __future__ import annotations

# The signatures: PNG 3rd edition, 5.2; JPEG (ITU-T T.81), B.1; ISO 32000-1, 7.5.2; APPNOTE 6.3.10
# of ZIP, 4.3.7; RFC 1952 of gzip, 2.3.1; SQLite 3, "Database File Format", 1.3; TIFF 6.0, 2.
_SIGNATURES = (
    (b"\x89PNG\r\n\x1a\n", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"II*\0", "a TIFF picture"),
    (b"MM\0*", "a TIFF picture"),
    (b"%PDF-", "a PDF file"),
    (b"PK\x03\x04", "a ZIP archive, such as a spreadsheet's own file"),
    (b"\x1f\x8b", "a file compressed with gzip"),
    (b"SQLite format 3\0", "a rack"),
)
_WORDS = ((b"<!doctype html", "a web page"), (b"<html", "a web page"), (b"<svg", "an SVG drawing"))


def looks_like(data: bytes) -> str:
    """Return what a file is that should have been text of plotout's, or "" if that is not clear."""
    known = next((name for first, name in _SIGNATURES if data.startswith(first)), "")
    head = data[:1000].lower().removeprefix(b"\xef\xbb\xbf").lstrip()
    if not known and head.startswith(b"<"):
        known = next((name for word, name in _WORDS if word in head), "XML")
    return known


def is_damaged(data: bytes) -> bool:
    """Return whether it holds NUL bytes as no text does, also no UTF-16: two in a row."""
    return b"\0\0" in data
