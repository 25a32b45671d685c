"""How much of every kind of file is read, for `plotout explain limits`."""

from __future__ import annotations

from plotout import plugins
from plotout.layout.registration import mark_file
from plotout.proof import readback
from plotout.rack import bundle
from plotout.sending import journal
from plotout.tables import source, spreadsheet
from plotout.tables.explain import Key, Topic


def limits() -> Topic:
    """Return how much of every kind of file is read: what is larger is refused at once."""
    toml = (
        f"{_size(source.MOST_BYTES)}; {source.MOST_ENTRIES} tables and values, "
        f"nested {source.MOST_NESTING} deep"
    )
    table = (
        f"{_size(spreadsheet.MOST_BYTES)}; {spreadsheet.MOST_ROWS} rows of "
        f"{spreadsheet.LONGEST_LINE} characters"
    )
    rows = [
        ("TOML", "Set files, stock files, profiles.", toml),
        ("CSV, TSV", "Tables: pricks, growth.", table),
        *(
            (", ".join(reader.suffixes), f"Drawings: {reader.name}.", reader.most())
            for reader in plugins.readers()
            if reader.most is not None
        ),
        ("-marks.csv", "Where marks were found.", _size(mark_file.MOST_BYTES)),
        ("-lay.json", "Lays.", _size(source.MOST_BYTES_OF_JSON)),
        ("machine files", "To be proved or sent.", _size(readback.MOST_BYTES)),
        (".journal", "Journals of jobs.", _size(journal.MOST_BYTES)),
        (
            "exported sets",
            "For 'rack bring'.",
            f"{_size(bundle.MOST_BYTES)} unpacked; {bundle.MOST_FILES} files",
        ),
    ]
    keys = tuple(Key(name, most, "", "", "", says) for name, says, most in rows)
    return Topic("limits", "", "How much of a file is read; what exceeds it is refused.", keys)


def _size(size: int) -> str:
    return f"{size >> 20} MiB" if size >= 1 << 20 else f"{size >> 10} KiB"
