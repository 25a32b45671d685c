"""Paper: its sizes, tiles of a sheet on small pages, and frames of a roll."""
