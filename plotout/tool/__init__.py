"""From ordered strokes to a Program: blade, kerf, tabs, feeds, time."""
