"""Registration: marks on a sheet, where they were found, and their fit."""
