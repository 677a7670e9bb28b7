"""The safety screening, as it leaves the program."""
