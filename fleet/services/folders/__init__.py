"""Fleet folders and spreadsheets, read into the register and written back."""
