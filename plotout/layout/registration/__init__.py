"""Registration: marks on a sheet, where they were found, and the fit through them."""
