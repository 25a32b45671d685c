"""From Cards to Sheets: stock, laying, tiles, registration."""
