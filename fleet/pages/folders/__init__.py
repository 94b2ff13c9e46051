"""Fleet folders and spreadsheets sent in."""
