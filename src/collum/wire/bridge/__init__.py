"""A bridge, as it leaves the program."""
