"""A small set as it is put on a rack, for tests and for the processes that they start."""

from plotout.rack.putting import Entry


def entry(style="BK-01", size="M", **more):
    told = {
        "style": style, "size": size, "name": "Beekeeper's smock", "date": "2026-04-11",
        "put_at": "2026-04-12 09:00:00", "set_file": "set.toml",
        "files": {"set.toml": b"[set]\n", "body.csv": b"x,y,run,kind\n"},
        "pieces": ("Body", "Sleeve"),
        "place": "hook 12", "notes": "veil mesh: the fine one",
    }  # fmt: skip
    return Entry(**{**told, **more})
