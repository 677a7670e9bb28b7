"""A scanned preparation, as it leaves the program."""
