"""A PDF document's title, layers, bookmarks, page names and print preferences.

Source: ISO 32000-1: optional content (8.11), viewer preferences (12.2), outlines (12.3.3), page
labels (12.4.2), UserUnit (7.7.3.3), greatest page side of 14,400 units (annex C).
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    NameObject,
    NumberObject,
    TextStringObject,
)

LONGEST = 14400  # units


@dataclass(frozen=True, slots=True)
class Bookmark:
    """A place in the document. page: from 0."""

    title: str
    page: int
    below: tuple[Bookmark, ...] = ()


def complete(
    drawn: bytes,
    *,
    title: str,
    layers: Mapping[str, str],
    bookmarks: Sequence[Bookmark],
    names: Sequence[str],
    user_unit: int = 1,
) -> bytes:
    """Return the pages `drawn` as a document, without a date.

    layers: their titles by the keys in the pages' content. names: of the pages. user_unit: one of
    the pages' units in 1/72 in.
    """
    writer = PdfWriter()
    writer.pdf_header = "%PDF-1.7"
    for page in PdfReader(io.BytesIO(drawn)).pages:
        writer.add_page(page)
    writer.add_metadata({"/Title": title, "/Producer": "plotout"})
    _prefer(writer)
    _layer(writer, layers)
    for page in writer.pages:
        if user_unit > 1:
            page[NameObject("/UserUnit")] = NumberObject(user_unit)
    for index, name in enumerate(names):
        writer.set_page_label(index, index, prefix=name)
    for bookmark in bookmarks:
        item = writer.add_outline_item(title=bookmark.title, page_number=bookmark.page)
        for child in bookmark.below:
            writer.add_outline_item(title=child.title, page_number=child.page, parent=item)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _prefer(writer: PdfWriter) -> None:
    writer.root_object[NameObject("/ViewerPreferences")] = DictionaryObject(
        {
            NameObject("/PrintScaling"): NameObject("/None"),
            NameObject("/DisplayDocTitle"): BooleanObject(True),
        }
    )


def _layer(writer: PdfWriter, layers: Mapping[str, str]) -> None:
    groups = {
        key: writer._add_object(
            DictionaryObject(
                {
                    NameObject("/Type"): NameObject("/OCG"),
                    NameObject("/Name"): TextStringObject(title),
                }
            )
        )
        for key, title in layers.items()
    }
    every = ArrayObject(groups.values())
    shown = DictionaryObject({NameObject("/Order"): every, NameObject("/ON"): every})
    writer.root_object[NameObject("/OCProperties")] = DictionaryObject(
        {NameObject("/OCGs"): every, NameObject("/D"): shown}
    )
    known = DictionaryObject({NameObject(f"/{key}"): group for key, group in groups.items()})
    for page in writer.pages:
        resources = page["/Resources"].get_object()
        if isinstance(resources, DictionaryObject):
            resources[NameObject("/Properties")] = known
